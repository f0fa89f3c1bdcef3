import { DavidsonLikelihood, type Family } from './davidson-likelihood.ts';
import type { PairTally } from './pair-votes.ts';
import { factorise, solveFactored } from './small-matrix.ts';

export interface Maximum {
  readonly strengths: Float64Array;
  readonly order: number;
  /** ln of the tie parameter; -Infinity without ties. */
  readonly tie: number;
  /** With the half-votes, where there are any. */
  readonly logLikelihood: number;
  /** Information matrix there: directions, then order where free, then tie where there are ties. */
  readonly information: Float64Array;
  readonly size: number;
  /** false where the likelihood rises without end or is level in a direction: the values are where the search stopped. */
  readonly finite: boolean;
}

/** Parameters beyond this do not come from votes but run away (odds of e^15 to one). */
const farthest = 15;
const longestStep = 5;
const mostSteps = 60;
/** What the log-likelihood may still gain when the search ends. */
const goodEnough = 1e-11;

/**
 * Highest likelihood of the Davidson model in a family, by Newton's method with halved steps. The log-likelihood is
 * concave, so there is one maximum or none.
 *
 * @param steadying half-votes that hold the parameters together: so many for and against each entry in a comparison with
 *   one of strength 0, for and against the first of two equals, and for and against 'no difference'. 0 is plain
 *   maximum likelihood.
 */
export function maximise(tally: PairTally, family: Family, steadying = 0): Maximum {
  const likelihood = new DavidsonLikelihood(tally, family, steadying);
  const { size, gradient, information } = likelihood;
  let point: Float64Array = new Float64Array(size);
  let height = likelihood.at(point, true);
  let finite = size === 0;
  const factor = new Float64Array(size * size);
  const move = new Float64Array(size);
  for (let step = 0; step < mostSteps && !finite; step++) {
    factor.set(information);
    if (!factorise(factor, size)) break;
    move.set(gradient);
    solveFactored(factor, size, move);
    const gain = dot(gradient, move) / 2;
    if (gain < goodEnough) {
      finite = true;
      break;
    }
    const better = climb(likelihood, point, move, height);
    if (better === null) {
      // Nothing is left to gain but rounding.
      finite = gain < 1e-6;
      break;
    }
    point = better;
    height = likelihood.at(point, true);
    if (point.some((value) => Math.abs(value) > farthest)) break;
  }
  for (let a = 0; a < size; a++)
    for (let b = a + 1; b < size; b++) information[a * size + b] = information[b * size + a];
  const { strengths, order, tie } = likelihood.place(point);
  return { strengths: strengths.slice(), order, tie, logLikelihood: height, information, size, finite };
}

/** A point along the move that is higher; null where thirty halvings find none. */
function climb(
  likelihood: DavidsonLikelihood,
  from: Float64Array,
  move: Float64Array,
  height: number,
): Float64Array | null {
  const longest = move.reduce((most, value) => Math.max(most, Math.abs(value)), longestStep);
  const point = new Float64Array(from.length);
  for (let halving = 0, scale = longestStep / longest; halving < 30; halving++, scale /= 2) {
    for (let a = 0; a < point.length; a++) point[a] = from[a] + scale * move[a];
    if (likelihood.at(point, false) > height) return point;
  }
  return null;
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i] * b[i];
  return sum;
}
