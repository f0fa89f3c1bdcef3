import { highPass, lowPass } from '../signal/butterworth.ts';
import type { Biquad } from '../signal/k-weighting.ts';
import { doubles } from '../signal/kernels.ts';
import { onBoth, type PairBench, PairFilter } from './pair-filter.ts';
import { mostFrames } from './part.ts';

/** The sum of both halves of a Linkwitz-Riley crossover of fourth order: an all-pass of second order. */
export function allPass(hertz: number, sampleRate: number): Biquad {
  const { a1, a2 } = lowPass(hertz, sampleRate);
  return { b0: a2, b1: a1, b2: 1, a1, a2 };
}

/**
 * Splits pairs into bands that add up to an all-pass: Linkwitz-Riley crossovers of fourth order (S. Linkwitz, 'Active
 * Crossover Networks for Noncoincident Drivers', JAES 24(1), 1976; from memory), two Butterworth filters in a row each.
 * The bands below a split go through the all-pass of every split above, so that all stay in phase: their sum has the
 * level of the input at every frequency.
 */
export class Crossover {
  readonly #bench: PairBench;
  readonly #filters: readonly PairFilter[];
  readonly #rooms: readonly number[];
  #views: Float64Array[] = [];

  /** @param hertz rising, each below half the sample rate */
  constructor(bench: PairBench, hertz: readonly number[], sampleRate: number) {
    this.#bench = bench;
    this.#filters = Array.from({ length: hertz.length + 1 }, (_, band) => {
      const above = hertz.slice(0, band).flatMap((at) => twice(highPass(at, sampleRate)));
      const below = hertz.slice(band, band + 1).flatMap((at) => twice(lowPass(at, sampleRate)));
      const aligned = hertz.slice(band + 1).map((at) => allPass(at, sampleRate));
      return new PairFilter(bench, [...above, ...below, ...aligned].map(onBoth));
    });
    this.#rooms = this.#filters.map(() => bench.allocatePairs());
  }

  /** Splits what the bench holds; each band's pairs, one after the other, good until the next call. */
  split(frames: number): readonly Float64Array[] {
    const { kernels } = this.#bench;
    if (this.#views[0]?.buffer !== kernels.memory.buffer)
      this.#views = this.#rooms.map((room) => doubles(kernels, room, 2 * mostFrames));
    const whole = this.#bench.pairs();
    this.#filters.forEach((filter, band) => {
      this.#views[band].set(frames === mostFrames ? whole : whole.subarray(0, 2 * frames));
      filter.process(this.#rooms[band], frames);
    });
    return this.#views;
  }

  reset(): void {
    for (const filter of this.#filters) filter.reset();
  }
}

function twice(filter: Biquad): Biquad[] {
  return [filter, filter];
}
