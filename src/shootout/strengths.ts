import { DavidsonLikelihood, type Family } from './davidson-likelihood.ts';
import { chiSquaredAbove } from './distributions.ts';
import { type Maximum, maximise } from './maximise.ts';
import { type PairTally, type PairVote, tallyVotes, votesByListener } from './pair-votes.ts';
import { inverseOf } from './small-matrix.ts';

/** Half-votes for and half-votes against that steady a fit: half a vote each. */
export const halfVote = 0.5;

/** Strengths of the entries from pair votes. */
export interface StrengthFit {
  readonly entries: number;
  /** ln of the odds, mean 0: of two entries that differ by d the stronger is preferred e^d times as often, order aside. */
  readonly strengths: Float64Array;
  /** ln of the odds that the first of two equals is preferred to the second; 0 where it was not fitted. */
  readonly order: number;
  /** ln of Davidson's nu: two equals are told apart in 2 of 2 + nu votes. -Infinity when nobody ever said 'no difference'. */
  readonly tie: number;
  /** entries x entries: covariance of the strengths, from the information matrix. */
  readonly covariance: Float64Array;
  readonly orderError: number;
  readonly tieError: number | null;
  readonly logLikelihood: number;
  /**
   * true where plain maximum likelihood has no finite answer (someone always won, or the pairs hang together nowhere):
   * half-votes were added, see `maximise`, and the figures lean towards equality.
   */
  readonly steadied: boolean;
}

export interface FitOptions {
  /** Whether an order bias is fitted; default true. */
  readonly orderBias?: boolean;
  /** 'always' adds half-votes in any case, which never fails (for resampled votes). Default: only where there is no answer without. */
  readonly steady?: 'when needed' | 'always';
}

/**
 * The Bradley-Terry model (Bradley and Terry 1952) with ties after Davidson 1970 and an order bias after Davidson and Beaver
 * 1977, by maximum likelihood. Davidson's ties rather than Rao and Kupper's, because then a tie counts half a win to both
 * and the number of points is all that the strengths rest on: the order by strength is the order by points when
 * everyone met everyone equally often, which a listener can check by hand. Standard errors from the information matrix.
 */
export function fitStrengths(tally: PairTally, options: FitOptions = {}): StrengthFit {
  const family = wholeFamily(tally, options.orderBias ?? true);
  const plain = options.steady === 'always' ? null : maximise(tally, family);
  const steadied = !plain?.finite;
  const maximum = steadied ? maximise(tally, family, halfVote) : (plain as Maximum);
  const inverse =
    inverseOf(maximum.information, maximum.size) ?? new Float64Array(maximum.size ** 2).fill(Number.NaN);
  const { size } = maximum;
  const at = (index: number) => Math.sqrt(inverse[index * size + index]);
  const free = family.directions.length;
  return {
    entries: tally.entries,
    strengths: maximum.strengths,
    order: maximum.order,
    tie: maximum.tie,
    covariance: spread(family, inverse, size),
    orderError: family.order === null ? at(free) : 0,
    tieError: family.ties ? at(size - 1) : null,
    logLikelihood: maximum.logLikelihood,
    steadied,
  };
}

/** Standard error of strength i minus strength j. */
export function differenceError(covariance: Float64Array, entries: number, i: number, j: number): number {
  const at = (a: number, b: number) => covariance[a * entries + b];
  return Math.sqrt(Math.max(0, at(i, i) + at(j, j) - 2 * at(i, j)));
}

/** How often the stronger of two that differ by `difference` is preferred, of the votes that decide: 0..1. */
export function preferredShare(difference: number): number {
  return 1 / (1 + Math.exp(-difference));
}

/** All strengths of mean 0, order bias free or 0. */
export function wholeFamily(tally: PairTally, orderBias: boolean): Family {
  return {
    base: new Float64Array(tally.entries),
    directions: levelDirections(tally.entries, null),
    order: orderBias ? null : 0,
    ties: tally.counts.some((count, i) => i % 3 === 1 && count > 0),
  };
}

/** Orthonormal directions that keep the sum of strengths, and what `held` weighs if given (weights that add to 0). */
export function levelDirections(entries: number, held: Float64Array | null): Float64Array[] {
  const basis: Float64Array[] = [new Float64Array(entries).fill(1 / Math.sqrt(entries))];
  const kept = held ? 2 : 1;
  const candidates = held ? [held] : [];
  for (let i = 0; i < entries; i++) {
    const unit = new Float64Array(entries);
    unit[i] = 1;
    candidates.push(unit);
  }
  for (const candidate of candidates) {
    const vector = candidate.slice();
    for (const axis of basis) {
      const along = axis.reduce((sum, value, i) => sum + value * vector[i], 0);
      for (let i = 0; i < entries; i++) vector[i] -= along * axis[i];
    }
    const length = Math.hypot(...vector);
    if (length > 1e-6) basis.push(vector.map((value) => value / length));
    if (basis.length === entries) break;
  }
  return basis.slice(kept);
}

/** Covariance of the strengths from that of the directions. */
function spread({ directions }: Family, inverse: Float64Array, size: number): Float64Array {
  const entries = directions[0].length;
  const covariance = new Float64Array(entries * entries);
  for (let m = 0; m < directions.length; m++)
    for (let n = 0; n < directions.length; n++) {
      const weight = inverse[m * size + n];
      for (let i = 0; i < entries; i++)
        for (let j = 0; j < entries; j++)
          covariance[i * entries + j] += weight * directions[m][i] * directions[n][j];
    }
  return covariance;
}

/**
 * Covariance of the strengths when listeners, not votes, are what was drawn at random: the sandwich of Huber and White over
 * listeners, widened by n / (n - 1) (Liang and Zeger 1986; from memory). null with fewer than two listeners.
 */
export function listenerCovariance(votes: readonly PairVote[], fit: StrengthFit): Float64Array | null {
  const groups = votesByListener(votes);
  if (groups.length < 2) return null;
  const whole = tallyVotes(votes, fit.entries);
  const family = wholeFamily(whole, true);
  const free = family.directions.length;
  const steadying = fit.steadied ? halfVote : 0;
  const likelihood = new DavidsonLikelihood(whole, family, steadying);
  const { size } = likelihood;
  const point = new Float64Array(size);
  for (let m = 0; m < free; m++)
    point[m] = family.directions[m].reduce((sum, value, i) => sum + value * fit.strengths[i], 0);
  point[free] = fit.order;
  if (family.ties) point[size - 1] = fit.tie;
  likelihood.at(point, true);
  const full = likelihood.information.slice();
  for (let a = 0; a < size; a++) for (let b = a + 1; b < size; b++) full[a * size + b] = full[b * size + a];
  const inverse = inverseOf(full, size);
  if (!inverse) return null;
  const middle = new Float64Array(size * size);
  const mean = likelihood.gradient.map((value) => value / groups.length);
  for (const group of groups) {
    const own = new DavidsonLikelihood(tallyVotes(group, fit.entries), family, 0);
    own.at(point, true);
    for (let a = 0; a < size; a++)
      for (let b = 0; b < size; b++)
        middle[a * size + b] += (own.gradient[a] - mean[a]) * (own.gradient[b] - mean[b]);
  }
  const widen = groups.length / (groups.length - 1);
  return spread(
    family,
    product(product(inverse, middle, size), inverse, size).map((value) => value * widen),
    size,
  );
}

function product(a: Float64Array, b: Float64Array, n: number): Float64Array {
  const result = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) for (let k = 0; k < n; k++) result[i * n + j] += a[i * n + k] * b[k * n + j];
  return result;
}

/** Likelihood-ratio test of 'all are equal', order bias and ties aside. */
export function likelihoodRatioTest(tally: PairTally): { statistic: number; df: number; p: number } {
  const whole = wholeFamily(tally, true);
  const free = maximise(tally, whole);
  const equal = maximise(tally, { ...whole, directions: [] });
  const statistic = Math.max(0, 2 * (free.logLikelihood - equal.logLikelihood));
  const df = tally.entries - 1;
  return { statistic, df, p: chiSquaredAbove(statistic, df) };
}
