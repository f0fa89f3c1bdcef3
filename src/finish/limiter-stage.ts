import { doubles, floats, type Kernels } from '../signal/kernels.ts';
import { heightTables, heightTaps } from './limiter-tables.ts';
import { mostFrames } from './part.ts';

/** How a stage holds down and lets go. */
export interface LimiterPace {
  /** Time the gain takes to come down, and the delay that lets it. */
  readonly lookAheadSeconds: number;
  readonly releaseSeconds: number;
  /** Time constants of the average of what has been needed, below which the fast release does not let go. */
  readonly slowFallSeconds: number;
  readonly slowRiseSeconds: number;
  /** Length of the filters that find the height between samples, at most 96. */
  readonly taps: number;
}

const reach = heightTaps / 2;
/** Intervals are judged sixteen at a time, so that many more may be read. */
const spare = 16;

/** Sound in, held down to the ceiling, out: one pass of kernels/limit.ts for one or two channels with one gain. */
export class LimiterStage {
  readonly latencySamples: number;
  readonly #kernels: Kernels;
  readonly #tables: number;
  readonly #inputs: readonly number[];
  readonly #heights: number;
  readonly #gains: number;
  readonly #settings: number;
  readonly #state: number;
  readonly #rings: number;
  readonly #size: number;
  readonly #lengths: readonly number[];
  readonly #sampleRate: number;
  #ceiling = 1;

  constructor(kernels: Kernels, channels: number, sampleRate: number, pace: LimiterPace) {
    this.#kernels = kernels;
    this.#sampleRate = sampleRate;
    const window = Math.max(6, Math.round(pace.lookAheadSeconds * sampleRate));
    // Three means whose lengths add up to the window and two.
    const first = Math.round((window + 2) / 3);
    const second = Math.round((window + 2 - first) / 2);
    this.#lengths = [first, second, window + 2 - first - second];
    this.latencySamples = window - 1 + reach;
    this.#size = 2 ** Math.ceil(Math.log2(window + 2));
    const tables = heightTables(pace.taps);
    this.#tables = kernels.allocate(tables.byteLength);
    floats(kernels, this.#tables, tables.length).set(tables);
    this.#inputs = Array.from({ length: channels }, () => kernels.allocate(4 * this.#inputFrames()));
    this.#heights = kernels.allocate(4 * (mostFrames + spare));
    this.#gains = kernels.allocate(4 * mostFrames);
    this.#settings = kernels.allocate(8 * 8);
    this.#state = kernels.allocate(8 * 12);
    this.#rings = kernels.allocate(8 * 5 * this.#size);
    doubles(kernels, this.#settings, 5).set([1, window, ...this.#lengths]);
    this.pace(pace);
    this.reset();
  }

  /** Past kept before the newest block: the delay, and the filter's reach before it. */
  get #past(): number {
    return this.latencySamples + reach + 16;
  }

  #inputFrames(): number {
    return this.#past + mostFrames + 64;
  }

  /** Changes how it lets go; the look-ahead stays. */
  pace({ releaseSeconds, slowFallSeconds, slowRiseSeconds }: LimiterPace): void {
    const share = (seconds: number) => 1 - Math.exp(-1 / (seconds * this.#sampleRate));
    doubles(this.#kernels, this.#settings, 8).set(
      [share(releaseSeconds), share(slowFallSeconds), share(slowRiseSeconds)],
      5,
    );
  }

  /** Highest |waveform| let through, amplitude. */
  set ceiling(value: number) {
    this.#ceiling = value;
    doubles(this.#kernels, this.#settings, 1)[0] = value;
  }

  /** Where the samples to come must be put, `mostFrames` of room. */
  input(channel: number): number {
    return this.#inputs[channel] + 4 * this.#past;
  }

  /** @param outputs where the samples go; may be another stage's inputs */
  process(frames: number, outputs: readonly number[]): void {
    const kernels = this.#kernels;
    floats(kernels, this.#heights, frames + spare).fill(0);
    for (const input of this.#inputs) {
      // The newest interval whose filters reach no further than the newest sample.
      const from = input + 4 * (this.#past - reach);
      kernels.raiseHeights(from, frames, Math.fround(this.#ceiling), this.#tables, this.#heights);
    }
    kernels.followHeights(
      this.#heights,
      frames,
      this.#settings,
      this.#state,
      this.#rings,
      this.#size,
      this.#gains,
    );
    this.#inputs.forEach((input, c) => {
      kernels.applyGains(input + 4 * (this.#past - this.latencySamples), this.#gains, frames, outputs[c]);
      const room = floats(kernels, input, this.#inputFrames());
      room.copyWithin(0, frames, frames + this.#past);
    });
  }

  /** Lowest gain of the last block, amplitude. */
  lowestGain(frames: number): number {
    return floats(this.#kernels, this.#gains, frames).reduce((lowest, gain) => Math.min(lowest, gain), 1);
  }

  reset(): void {
    const kernels = this.#kernels;
    for (const input of this.#inputs) floats(kernels, input, this.#inputFrames()).fill(0);
    const whole = 2 ** 30;
    const [first, second, third] = this.#lengths;
    // height before; fast, slow; three sums; three places; time, head, tail
    doubles(kernels, this.#state, 12).set([
      0,
      1,
      1,
      first * whole,
      second * whole,
      third * whole,
      0,
      0,
      0,
      0,
      0,
      0,
    ]);
    const rings = doubles(kernels, this.#rings, 5 * this.#size);
    rings.fill(0, 0, 2 * this.#size);
    rings.fill(whole, 2 * this.#size);
  }
}
