import { normalQuantile } from './distributions.ts';
import { maximise } from './maximise.ts';
import type { PairTally } from './pair-votes.ts';
import { levelDirections, wholeFamily } from './strengths.ts';

/** An interval; an end is null where the votes set no bound there. */
export interface Interval {
  readonly low: number | null;
  readonly high: number | null;
}

/** Farther than this nothing is looked for (odds of e^12 to one). */
const farthest = 12;

/**
 * Likelihood of one contrast of the strengths (weights that add to 0: a difference of two, or one against the mean), all
 * else fitted anew at each of its values. Needs no finite estimate: where someone always won, one end is open.
 */
export class Profile {
  readonly #tally: PairTally;
  readonly #contrast: Float64Array;
  readonly #directions: readonly Float64Array[];
  readonly #square: number;
  readonly #ties: boolean;
  readonly #best: number;

  /** @param best log-likelihood of the whole model, which profiles of the same tally share */
  constructor(tally: PairTally, contrast: Float64Array, best = bestLogLikelihood(tally)) {
    this.#tally = tally;
    this.#contrast = contrast;
    this.#square = contrast.reduce((sum, weight) => sum + weight * weight, 0);
    this.#directions = levelDirections(tally.entries, contrast);
    this.#ties = wholeFamily(tally, true).ties;
    this.#best = best;
  }

  /** Twice what the log-likelihood loses when the contrast is held at `value`; chi-squared of one degree when it is that. */
  loss(value: number): number {
    const base = this.#contrast.map((weight) => (weight * value) / this.#square);
    const family = { base, directions: this.#directions, order: null, ties: this.#ties };
    return Math.max(0, 2 * (this.#best - maximise(this.#tally, family).logLikelihood));
  }

  /**
   * All values that lose no more than z squared, around an estimate: for z = 1.96 the 95 % interval of the likelihood.
   *
   * @param step a first guess of how far an end lies
   */
  interval(estimate: number, step: number, z = normalQuantile(0.975)): Interval {
    return { low: this.#end(estimate, -step, z * z), high: this.#end(estimate, step, z * z) };
  }

  #end(estimate: number, step: number, most: number): number | null {
    // A steadied estimate may itself lie outside on the other side; from wherever it is, walk until the loss is too much.
    let inside = estimate;
    let stride = Math.sign(step) * Math.min(4, Math.max(0.05, Math.abs(step)));
    let outside = inside + stride;
    let [lossInside, lossOutside] = [this.loss(inside), this.loss(outside)];
    while (lossOutside < most) {
      if (Math.abs(outside) > farthest) return null;
      [inside, lossInside] = [outside, lossOutside];
      stride *= 1.6;
      outside = inside + stride;
      lossOutside = this.loss(outside);
    }
    // The root of the loss is nearly straight: false position on it, kept within the bracket.
    const root = Math.sqrt(most);
    for (let i = 0; i < 40 && Math.abs(outside - inside) > 1e-4; i++) {
      const [a, b] = [Math.sqrt(lossInside) - root, Math.sqrt(lossOutside) - root];
      const share = i % 3 === 2 ? 0.5 : Math.min(0.95, Math.max(0.05, a / (a - b)));
      const middle = inside + share * (outside - inside);
      const loss = this.loss(middle);
      if (Math.abs(Math.sqrt(loss) - root) < 1e-5) return middle;
      if (loss < most) [inside, lossInside] = [middle, loss];
      else [outside, lossOutside] = [middle, loss];
    }
    return (inside + outside) / 2;
  }
}

/** The highest the log-likelihood gets, or comes close to, without half-votes. */
export function bestLogLikelihood(tally: PairTally): number {
  return maximise(tally, wholeFamily(tally, true)).logLikelihood;
}

/** Weights of strength i less strength j. */
export function differenceOf(entries: number, i: number, j: number): Float64Array {
  const contrast = new Float64Array(entries);
  contrast[i] = 1;
  contrast[j] = -1;
  return contrast;
}

/** Weights of strength i less the mean of all. */
export function againstMean(entries: number, i: number): Float64Array {
  const contrast = new Float64Array(entries).fill(-1 / entries);
  contrast[i] += 1;
  return contrast;
}
