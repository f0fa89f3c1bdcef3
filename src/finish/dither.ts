import { floats, instantiateKernels, type Kernels } from '../signal/kernels.ts';
import { noiseShapers, type ShaperName } from './noise-shapers.ts';
import { alwaysFollows, type Format, mostFrames, type Part, type PartKind } from './part.ts';
import type { ValuesOf } from './settings.ts';

const ditherFields = {
  bits: { kind: 'choice', label: 'word length', choices: ['off', '16', '20', '24'] as const, default: 'off' },
  noise: { kind: 'choice', label: 'noise', choices: ['triangular', 'none'] as const, default: 'triangular' },
  shaper: {
    kind: 'choice',
    label: 'noise shaper',
    choices: Object.keys(noiseShapers) as ShaperName[],
    default: 'none',
  },
  seed: {
    kind: 'number',
    label: 'seed',
    unit: '',
    lowest: 0,
    highest: 4294967295,
    default: 1,
    whole: true,
  },
} as const;

type Settings = ValuesOf<typeof ditherFields>;

/**
 * Rounds to a word length, with triangular dither of 2 LSB peak to peak (mean and power of the error then do not depend on
 * the sound: Lipshitz, Wannamaker and Vanderkooy, JAES 40(5), 1992; from memory), and shapes the error by error
 * feedback where asked. The noise is seeded: the same sound gives the same file. Values beyond full scale stay at the
 * nearest step inside. Belongs at the end of a chain.
 */
export const dither: PartKind<typeof ditherFields> = {
  id: 'dither',
  name: 'the dither',
  fields: ditherFields,
  isNeutral: ({ bits }) => bits === 'off',
  canFollow: alwaysFollows,
  prepare: (settings, format) => new Dither(settings, format),
};

class Dither implements Part<Settings> {
  readonly latencySamples = 0;
  /** Dither does not end with the sound; there is nothing to wait for. */
  readonly tailSamples = 0;
  readonly #channels: number;
  readonly #kernels: Kernels = instantiateKernels();
  /** Where the kernel rounds a row. */
  readonly #room: number;
  #settings: Settings;
  #rows: Row[];

  constructor(settings: Settings, { channels }: Format) {
    this.#settings = settings;
    this.#channels = channels;
    this.#room = this.#kernels.allocate(4 * mostFrames);
    this.#rows = this.#begin();
  }

  process(block: readonly Float32Array[]): void {
    const { bits, noise } = this.#settings;
    if (bits === 'off') return;
    const steps = 2 ** (Number(bits) - 1);
    block.forEach((samples, c) => {
      this.#rows[c].process(samples, steps, noise === 'triangular');
    });
  }

  set(settings: Settings): void {
    const again = settings.shaper !== this.#settings.shaper || settings.seed !== this.#settings.seed;
    this.#settings = settings;
    if (again) this.#rows = this.#begin();
  }

  reset(): void {
    this.#rows = this.#begin();
  }

  #begin(): Row[] {
    const { seed, shaper } = this.#settings;
    return Array.from(
      { length: this.#channels },
      (_, c) =>
        new Row(
          (seed ^ Math.imul(c + 1, 0x9e3779b1)) >>> 0,
          noiseShapers[shaper].coefficients,
          this.#kernels,
          this.#room,
        ),
    );
  }
}

/** One channel: its noise and its past errors. */
class Row {
  #state: number;
  readonly #kernels: Kernels;
  readonly #room: number;
  readonly #coefficients: Float64Array;
  /** Past errors, newest first, in steps. */
  readonly #errors: Float64Array;

  constructor(seed: number, coefficients: readonly number[], kernels: Kernels, room: number) {
    this.#state = seed;
    this.#kernels = kernels;
    this.#room = room;
    this.#coefficients = Float64Array.from(coefficients);
    this.#errors = new Float64Array(coefficients.length);
  }

  process(samples: Float32Array, steps: number, triangular: boolean): void {
    if (!triangular || this.#coefficients.length > 0) {
      this.#shape(samples, steps, triangular);
      return;
    }
    const row = floats(this.#kernels, this.#room, samples.length);
    row.set(samples);
    this.#state = this.#kernels.ditherRow(this.#room, samples.length, steps, this.#state);
    samples.set(row);
  }

  /** The same, in which the errors come back in a shape. */
  #shape(samples: Float32Array, steps: number, triangular: boolean): void {
    const errors = this.#errors;
    const coefficients = this.#coefficients;
    const order = coefficients.length;
    let state = this.#state;
    for (let i = 0; i < samples.length; i++) {
      let wanted = samples[i] * steps;
      for (let k = 0; k < order; k++) wanted -= coefficients[k] * errors[k];
      let rounded = wanted;
      if (triangular) {
        state = (state + 2 * golden) | 0;
        rounded += (mixed(state - golden) + mixed(state)) / 4294967296 - 1;
      }
      rounded = Math.round(rounded);
      for (let k = order - 1; k > 0; k--) errors[k] = errors[k - 1];
      if (order > 0) errors[0] = rounded - wanted;
      // Held inside only after the error is taken: clipping must not wind the feedback up.
      samples[i] = Math.max(-steps, Math.min(steps - 1, rounded)) / steps;
    }
    this.#state = state;
  }
}

const golden = 0x6d2b79f5;

/** Even in 0..2^32 - 1, one for each multiple of `golden`: mulberry32 (public domain). */
function mixed(state: number): number {
  let t = Math.imul(state ^ (state >>> 15), state | 1);
  t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
  return (t ^ (t >>> 14)) >>> 0;
}
