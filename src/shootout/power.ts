import { SeededRandom } from '../signal/seeded-random.ts';
import type { PairRound } from './pair-schedule.ts';
import { tallyVotes } from './pair-votes.ts';
import { simulateVotes } from './simulated-voters.ts';
import { fitStrengths, preferredShare } from './strengths.ts';
import { isAheadOfAll, leaderOf } from './verdict.ts';

export interface PowerOptions {
  /** Chance that the best is crowned; default 0.8 (common practice). */
  readonly power?: number;
  /** Share of 'no difference' between equals that is expected; default 0.2 (heuristic). */
  readonly tieShare?: number;
  /** Simulated shoot-outs for each difference that is tried; default 400: the chance is known to about 2 %. */
  readonly runs?: number;
}

export interface PowerResult {
  readonly votes: number;
  /** Strength by which the best must surpass all others, who are equal among themselves; null where none to 5 would do. */
  readonly difference: number | null;
  /** The same as the share of deciding votes that go to the best, 0.5..1. */
  readonly preferredShare: number | null;
  readonly power: number;
}

const largest = 5;
const stride = 0.5;
const fineness = 0.02;

/**
 * What a shoot-out can tell apart, before anyone votes: the difference at which the best is ahead of every other entry, as
 * the verdict asks, in 80 % of seeded, simulated shoot-outs with this schedule, by voters who have no order bias and one
 * taste. For these listeners; what holds for listeners in general needs more of them.
 */
export function powerOf(
  schedule: readonly (readonly PairRound[])[],
  entries: number,
  { power = 0.8, tieShare = 0.2, runs = 400 }: PowerOptions = {},
): PowerResult {
  const votes = schedule.reduce((sum, rounds) => sum + rounds.length, 0);
  const tie = Math.log((2 * tieShare) / (1 - tieShare));
  const suffices = (difference: number) => {
    // The same draws for every difference, so that the chance rises with it.
    const random = new SeededRandom('power');
    const strengths = Array.from({ length: entries }, (_, i) => (i === 0 ? difference : 0));
    let crowned = 0;
    for (let run = 0; run < runs && crowned < power * runs; run++) {
      // What is left can no longer make up for what was missed.
      if (crowned + runs - run < power * runs) return false;
      const tally = tallyVotes(
        simulateVotes({ strengths, order: 0, tie, ownTaste: 0 }, schedule, random),
        entries,
      );
      const fit = fitStrengths(tally);
      crowned += Number(leaderOf(fit.strengths) === 0 && isAheadOfAll(tally, fit, 0));
    }
    return crowned >= power * runs;
  };
  let high = stride;
  while (high <= largest && !(votes > 0 && suffices(high))) high += stride;
  if (high > largest) return { votes, difference: null, preferredShare: null, power };
  let low = high - stride;
  while (high - low > fineness) {
    const middle = (low + high) / 2;
    if (suffices(middle)) high = middle;
    else low = middle;
  }
  return { votes, difference: high, preferredShare: preferredShare(high), power };
}
