import { highPass } from '../signal/butterworth.ts';
import type { Biquad } from '../signal/k-weighting.ts';
import { doubles, instantiateKernels, type Kernels } from '../signal/kernels.ts';
import { mostFrames } from './part.ts';
import type { ValuesOf } from './settings.ts';

/** What a compressor and each band of the multiband compressor have in common. */
export const dynamicsFields = {
  thresholdDbfs: { kind: 'number', label: 'threshold', unit: 'dBFS', lowest: -60, highest: 0, default: -20 },
  ratio: { kind: 'number', label: 'ratio', unit: ':1', lowest: 1, highest: 20, default: 1 },
  kneeDb: { kind: 'number', label: 'knee', unit: 'dB', lowest: 0, highest: 24, default: 6 },
  attackMs: { kind: 'number', label: 'attack', unit: 'ms', lowest: 0.1, highest: 250, default: 20 },
  releaseMs: { kind: 'number', label: 'release', unit: 'ms', lowest: 10, highest: 2500, default: 200 },
  releaseBy: {
    kind: 'choice',
    label: 'release by',
    choices: ['time', 'programme'] as const,
    default: 'time',
  },
  detector: { kind: 'choice', label: 'detector', choices: ['peak', 'rms'] as const, default: 'rms' },
  makeUpDb: { kind: 'number', label: 'make-up gain', unit: 'dB', lowest: -12, highest: 24, default: 0 },
  mixPercent: { kind: 'number', label: 'mix', unit: '%', lowest: 0, highest: 100, default: 100 },
} as const;

export type DynamicsSettings = ValuesOf<typeof dynamicsFields>;

/** Whether nothing is changed, whatever comes in. */
export function dynamicsAreNeutral({ ratio, makeUpDb, mixPercent }: DynamicsSettings): boolean {
  return (ratio === 1 && makeUpDb === 0) || mixPercent === 0;
}

/** Averaging time of the RMS detector. */
const rmsSeconds = 0.01;
/** Averaging time of the crest factor that the programme-dependent release follows. */
const crestSeconds = 0.2;

/**
 * The gain of a feed-forward compressor for a level that comes sample by sample: detector, static curve, then attack and
 * release in decibels (the smooth branching detector of Giannoulis, Massberg and Reiss, 2012, in the log domain; from
 * memory). Attack and release are time constants: after that time 63 % (1 - 1/e) of the way in dB is gone.
 *
 * Release by programme: the time follows the crest factor, short for peaks that stand alone, as set for steady sound
 * (the same authors, 'Parameter Automation in a Dynamic Range Compressor', JAES 61(10), 2013; from memory: release
 * time proportional to 1 / crest^2; here a sine, crest^2 = 2, has the time that is set).
 */
export class CompressorGain {
  /** Power of the samples that the level is taken from: to be filled before `process`. */
  readonly squares: Float64Array;
  /** Amplitude ratios, without make-up and mix, after `process`. */
  readonly gains: Float64Array;
  readonly #kernels: Kernels = instantiateKernels();
  readonly #rate: number;
  readonly #squares: number;
  readonly #gains: number;
  readonly #settings: Float64Array;
  readonly #state: Float64Array;

  constructor(settings: DynamicsSettings, sampleRate: number) {
    const kernels = this.#kernels;
    this.#rate = sampleRate;
    this.#squares = kernels.allocate(8 * mostFrames);
    this.#gains = kernels.allocate(8 * mostFrames);
    const numbers = kernels.allocate(8 * 12);
    // Views stay good: nothing more is allocated.
    this.squares = doubles(kernels, this.#squares, mostFrames);
    this.gains = doubles(kernels, this.#gains, mostFrames);
    this.#settings = doubles(kernels, numbers, 8);
    this.#state = doubles(kernels, numbers + 64, 4);
    this.set(settings);
  }

  set(settings: DynamicsSettings): void {
    const { thresholdDbfs, ratio, kneeDb, attackMs, releaseMs, releaseBy, detector } = settings;
    this.#settings.set([
      thresholdDbfs,
      1 / ratio - 1,
      kneeDb,
      10 ** ((thresholdDbfs - kneeDb / 2) / 10),
      detector === 'rms' ? shareOf(rmsSeconds, this.#rate) : 0,
      shareOf(attackMs / 1000, this.#rate),
      shareOf(releaseMs / 1000, this.#rate),
      releaseBy === 'programme' ? shareOf(crestSeconds, this.#rate) : 0,
    ]);
  }

  /** Change of level, dB, that the last sample got: for meters. */
  get changeDb(): number {
    return this.#state[1];
  }

  process(frames: number): void {
    const settings = this.#settings.byteOffset;
    this.#kernels.holdLevels(this.#squares, this.#gains, frames, settings, this.#state.byteOffset);
  }

  reset(): void {
    this.#state.fill(0);
  }
}

/** The share of the way left that is gone in a sample, for a time constant. */
function shareOf(seconds: number, sampleRate: number): number {
  return 1 - Math.exp(-1 / (seconds * sampleRate));
}

/** The side chain's own high-pass: 12 dB an octave, so that a bass drum does not duck the whole; 0 Hz is none. */
export class SideChain {
  readonly #filter: Biquad | null;
  readonly #state: Float64Array;

  constructor(hertz: number, channels: number, sampleRate: number) {
    this.#filter = hertz === 0 ? null : highPass(hertz, sampleRate);
    this.#state = new Float64Array(2 * channels);
  }

  /** Writes the higher of the channels' squares, sample by sample. */
  squares(channels: readonly Float32Array[], out: Float64Array): void {
    const frames = channels[0].length;
    channels.forEach((samples, c) => {
      if (!this.#filter) {
        for (let i = 0; i < frames; i++) {
          const square = samples[i] * samples[i];
          out[i] = c === 0 || square > out[i] ? square : out[i];
        }
        return;
      }
      const { b0, b1, b2, a1, a2 } = this.#filter;
      let s = this.#state[2 * c];
      let t = this.#state[2 * c + 1];
      for (let i = 0; i < frames; i++) {
        const x = samples[i] + 1e-30;
        const y = b0 * x + s;
        s = b1 * x + t - a1 * y;
        t = b2 * x - a2 * y;
        out[i] = c === 0 || y * y > out[i] ? y * y : out[i];
      }
      this.#state[2 * c] = s;
      this.#state[2 * c + 1] = t;
    });
  }

  reset(): void {
    this.#state.fill(0);
  }
}
