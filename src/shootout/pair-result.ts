import { SeededRandom } from '../signal/seeded-random.ts';
import { resample } from './bootstrap.ts';
import { gainOf, type PairVote, tallyVotes, votesByListener } from './pair-votes.ts';
import { againstMean, bestLogLikelihood, differenceOf, Profile } from './profile-interval.ts';
import type { PairResult } from './shootout-shapes.ts';
import { differenceError, fitStrengths, likelihoodRatioTest, preferredShare } from './strengths.ts';
import { verdictOf } from './verdict.ts';

/** With fewer listeners nothing is said of others (heuristic; as in the verdict). */
const fewestListeners = 3;

/** Everything that pair votes say. At least one vote. `listenerIds[vote.listener]` is who gave it. */
export function pairResult(
  votes: readonly PairVote[],
  ids: readonly string[],
  listenerIds: readonly string[],
  seed: string,
): PairResult {
  const entries = ids.length;
  const tally = tallyVotes(votes, entries);
  const fit = fitStrengths(tally);
  const best = bestLogLikelihood(tally);
  const groups = votesByListener(votes);
  const byVotes = resample(votes, entries, 'votes', new SeededRandom(`votes ${seed}`));
  const byListeners =
    groups.length >= fewestListeners
      ? resample(votes, entries, 'listeners', new SeededRandom(`listeners ${seed}`))
      : null;
  const verdict = verdictOf(votes, entries, new SeededRandom(`verdict ${seed}`), undefined, fit);
  const ranked = [...ids.keys()].sort((i, j) => fit.strengths[j] - fit.strengths[i]);
  const points = pointsOf(votes, entries);
  const { statistic, df, p } = likelihoodRatioTest(tally);
  return {
    votes: votes.length,
    listenerIds: groups.map((group) => listenerIds[group[0].listener]),
    steadied: fit.steadied,
    strengths: ranked.map((i) => {
      const error = Math.sqrt(fit.covariance[i * entries + i]);
      return {
        entryId: ids[i],
        points: points[i],
        strength: fit.strengths[i],
        error,
        interval: new Profile(tally, againstMean(entries, i), best).interval(fit.strengths[i], 2 * error),
        votesInterval: byVotes.intervals[i],
        listenersInterval: byListeners?.intervals[i] ?? null,
        shareAgainstMean: preferredShare(fit.strengths[i]),
        chanceBest: within(byVotes.chanceBest[i]),
        chanceBestForOthers: byListeners ? within(byListeners.chanceBest[i]) : null,
      };
    }),
    order: { strength: fit.order, error: fit.orderError, share: preferredShare(fit.order) },
    tieShare: votes.filter(({ answer }) => answer === 'tie').length / votes.length,
    pairs: ranked.flatMap((i, rank) =>
      ranked.slice(rank + 1).map((j) => {
        const difference = fit.strengths[i] - fit.strengths[j];
        const error = differenceError(fit.covariance, entries, i, j);
        return {
          entryId: ids[i],
          otherId: ids[j],
          difference,
          interval: new Profile(tally, differenceOf(entries, i, j), best).interval(difference, 2 * error),
          share: preferredShare(difference),
        };
      }),
    ),
    equality: {
      statistic,
      df,
      p,
      indifferenceP: verdict.indifferenceP,
      commonTasteP: verdict.commonTasteP,
    },
    verdict: {
      crowned: verdict.crowned,
      leaderId: verdict.leader === null ? null : ids[verdict.leader],
      notBeatenIds: verdict.notBeaten.map((i) => ids[i]),
    },
  };
}

function pointsOf(votes: readonly PairVote[], entries: number): Float64Array {
  const points = new Float64Array(entries);
  for (const { first, second, answer } of votes) {
    points[first] += 0.5 + gainOf[answer];
    points[second] += 0.5 - gainOf[answer];
  }
  return points;
}

/** Sums of many parts end a rounding beyond 1. */
function within(chance: number): number {
  return Math.min(1, chance);
}
