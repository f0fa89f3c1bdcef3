import { doubles, type Kernels } from '../signal/kernels.ts';
import type { PairPower } from './pair-power.ts';
import type { SoundFeed } from './sound-feed.ts';
import { StepRows } from './step-rows.ts';

/** Steps a second. */
const stepsPerSecond = 10;

export interface PairLevels {
  /** Mean unweighted power of each complete 100 ms, all channels added. */
  readonly stepPowers: readonly number[];
  /** The first two channels over the whole sound, mean powers; null for mono or no sound at all. */
  readonly pair: PairPower | null;
  /** The same over time, at most 4096 steps, `stepSeconds` apart. */
  readonly steps: readonly PairPower[];
  readonly stepSeconds: number;
}

/** Powers of all channels, and what the first two have in common, ten times a second. */
export class PairLevelMeter {
  readonly #kernels: Kernels;
  readonly #feed: SoundFeed;
  readonly #rate: number;
  /** Four f64 for each pair of channels, an odd last one paired with itself. */
  readonly #sums: readonly number[];
  readonly #rows = new StepRows();
  readonly #stepPowers: number[] = [];
  readonly #total = new Float64Array(4);
  #frames = 0;
  #stepStart = 0;
  #steps = 0;

  constructor(kernels: Kernels, feed: SoundFeed, sampleRate: number) {
    this.#kernels = kernels;
    this.#feed = feed;
    this.#rate = sampleRate;
    this.#sums = Array.from({ length: Math.ceil(feed.pointers.length / 2) }, () => kernels.allocate(32));
  }

  take(frames: number): void {
    const pointers = this.#feed.pointers;
    for (let at = 0; at < frames; ) {
      const end = this.#boundary(this.#steps + 1);
      const count = Math.min(frames - at, end - this.#frames);
      this.#sums.forEach((sums, pair) => {
        const first = pointers[2 * pair] + 4 * at;
        const second = (pointers[2 * pair + 1] ?? pointers[2 * pair]) + 4 * at;
        this.#kernels.addPairLevels(first, second, count, sums);
      });
      at += count;
      this.#frames += count;
      if (this.#frames === end) this.#endStep(true);
    }
  }

  finish(): PairLevels {
    if (this.#frames > this.#stepStart) this.#endStep(false);
    const { rows, stepsInRow } = this.#rows.finish();
    const stereo = this.#feed.pointers.length >= 2 && this.#frames > 0;
    return {
      stepPowers: this.#stepPowers,
      pair: stereo ? powers(this.#total, this.#frames) : null,
      steps: stereo ? rows.map((row) => powers(row, 1)) : [],
      stepSeconds: stepsInRow / stepsPerSecond,
    };
  }

  /** Frame at which a step begins; at least one frame each, for rates below any music. */
  #boundary(step: number): number {
    return Math.max(step, Math.round((step * this.#rate) / stepsPerSecond));
  }

  #endStep(complete: boolean): void {
    const frames = this.#frames - this.#stepStart;
    const channels = this.#feed.pointers.length;
    let energy = 0;
    this.#sums.forEach((sums, pair) => {
      const view = doubles(this.#kernels, sums, 4);
      energy += view[0] + (2 * pair + 1 < channels ? view[1] : 0);
      if (pair === 0) {
        for (let i = 0; i < 4; i++) this.#total[i] += view[i];
        this.#rows.add(view.slice(), frames);
      }
      view.fill(0);
    });
    if (complete) this.#stepPowers.push(energy / frames);
    this.#stepStart = this.#frames;
    this.#steps++;
  }
}

function powers(sums: Float64Array, frames: number): PairPower {
  // By index: taking an array apart by its iterator costs more than all of the arithmetic.
  return {
    left: sums[0] / frames,
    right: sums[1] / frames,
    sum: sums[2] / frames,
    difference: sums[3] / frames,
  };
}
