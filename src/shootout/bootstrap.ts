import type { SeededRandom } from '../signal/seeded-random.ts';
import { type PairVote, tallyVotes, votesByListener } from './pair-votes.ts';
import type { Interval } from './profile-interval.ts';
import { fitStrengths } from './strengths.ts';

export interface Resampled {
  /** For each entry the share of resamplings in which it is the strongest; they add to 1. */
  readonly chanceBest: readonly number[];
  /** For each entry the middle 95 % of its strengths. */
  readonly intervals: readonly Interval[];
}

/**
 * How the result would come out with other votes of the same listeners ('votes': each listener's votes are drawn again
 * from that listener's own), or with other listeners ('listeners': listeners are drawn again, with all their votes). Efron's
 * bootstrap (1979), seeded; fits are steadied by half-votes, which keeps every one of them finite.
 */
export function resample(
  votes: readonly PairVote[],
  entries: number,
  what: 'votes' | 'listeners',
  random: SeededRandom,
  times = 1000,
): Resampled {
  const groups = votesByListener(votes);
  const best = new Float64Array(entries);
  const strengths = Array.from({ length: entries }, () => new Float64Array(times));
  for (let draw = 0; draw < times; draw++) {
    const drawn = groups.flatMap((group) =>
      what === 'listeners'
        ? groups[random.below(groups.length)]
        : group.map(() => group[random.below(group.length)]),
    );
    const fit = fitStrengths(tallyVotes(drawn, entries), { steady: 'always' });
    const top = fit.strengths.reduce((most, value) => Math.max(most, value), Number.NEGATIVE_INFINITY);
    const leaders = [...fit.strengths.keys()].filter((i) => fit.strengths[i] > top - 1e-9);
    for (const leader of leaders) best[leader] += 1 / (leaders.length * times);
    fit.strengths.forEach((value, i) => {
      strengths[i][draw] = value;
    });
  }
  return {
    chanceBest: [...best],
    intervals: strengths.map((values) => {
      const sorted = values.sort();
      return { low: sorted[Math.floor(0.025 * (times - 1))], high: sorted[Math.ceil(0.975 * (times - 1))] };
    }),
  };
}
