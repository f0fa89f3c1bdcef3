import type { SeededRandom } from '../signal/seeded-random.ts';
import { normalQuantile, studentQuantile } from './distributions.ts';
import { commonTasteTest, indifferenceTest } from './equality-tests.ts';
import { type PairTally, type PairVote, tallyVotes, votesByListener } from './pair-votes.ts';
import { bestLogLikelihood, differenceOf, Profile } from './profile-interval.ts';
import { simultaneousBound } from './simultaneous.ts';
import { differenceError, fitStrengths, listenerCovariance, type StrengthFit } from './strengths.ts';

/** What the votes are worth. */
export interface Verdict {
  /** The entry of greatest strength; null when two share it. */
  readonly leader: number | null;
  /**
   * 'none': the votes crown nobody. 'these-listeners': the leader is ahead of every other with these listeners; others may
   * judge otherwise. 'listeners-like-these': ahead also when listeners, not votes, are counted as drawn at random.
   */
  readonly crowned: 'none' | 'these-listeners' | 'listeners-like-these';
  /** Chance of votes so uneven if nobody could tell the entries apart. */
  readonly indifferenceP: number;
  /** Chance of listeners agreeing so much if each only followed a taste of their own; null with fewer than three listeners. */
  readonly commonTasteP: number | null;
  /** Entries that the leader is not clearly ahead of. */
  readonly notBeaten: readonly number[];
}

const level = 0.05;
/** For a single pair: likelihood ratios of some dozens of votes run a little high, so that 4 % on paper is 5 % (simulated). */
const pairLevel = 0.04;
/** With fewer listeners nothing is said of others (heuristic). */
const fewestListeners = 3;

/**
 * Whether anyone has won. Two bars, both of them against crowning by chance: the votes as a whole must be too uneven for
 * indifference (an exact permutation test at 5 %), and the leader must be ahead of every other entry, each by a likelihood
 * ratio. The second needs no stricter bound for more entries (an intersection-union test; Berger 1982, from memory):
 * to be wrong, one of the equals must be ahead of all its equals at once, which is likeliest (5 %) when there are just two.
 * So at most 5 % of shoot-outs between equals crown anyone, and of those whose best two are equals.
 */
export function verdictOf(
  votes: readonly PairVote[],
  entries: number,
  random: SeededRandom,
  shuffles?: number,
  fitted?: StrengthFit,
): Verdict {
  const tally = tallyVotes(votes, entries);
  const fit = fitted ?? fitStrengths(tally);
  const indifferenceP = votes.length > 0 ? indifferenceTest(votes, entries, random, shuffles) : 1;
  const leader = leaderOf(fit.strengths);
  const others = [...fit.strengths.keys()].filter((i) => i !== leader);
  const listeners = votesByListener(votes).length;
  const commonTasteP =
    listeners >= fewestListeners ? commonTasteTest(votes, entries, random, shuffles) : null;
  const nobody = { leader, crowned: 'none', indifferenceP, commonTasteP } as const;
  if (leader === null || indifferenceP > level) return { ...nobody, notBeaten: others };
  if (!isAheadOfAll(tally, fit, leader)) {
    // Being ahead of some, but not of all, is a claim about many pairs at once.
    const bound = simultaneousBound(fit.covariance, entries, random);
    const best = highest(tally, fit);
    return { ...nobody, notBeaten: others.filter((other) => !(lead(tally, leader, other, best) > bound)) };
  }
  const beyond =
    commonTasteP !== null && commonTasteP <= level && aheadByListeners(votes, fit, leader, listeners);
  return { ...nobody, crowned: beyond ? 'listeners-like-these' : 'these-listeners', notBeaten: [] };
}

/** Whether one is ahead of each other entry; the next best is looked at first. */
export function isAheadOfAll(tally: PairTally, fit: StrengthFit, leader: number): boolean {
  const bar = normalQuantile(1 - pairLevel / 2);
  const best = highest(tally, fit);
  return [...fit.strengths.keys()]
    .filter((other) => other !== leader)
    .sort((i, j) => fit.strengths[j] - fit.strengths[i])
    .every((other) => lead(tally, leader, other, best) > bar);
}

function highest(tally: PairTally, fit: StrengthFit): number {
  return fit.steadied ? bestLogLikelihood(tally) : fit.logLikelihood;
}

/** How far the leader is ahead of another: the root of the likelihood ratio, as it were in standard errors. */
function lead(tally: PairTally, leader: number, other: number, best: number): number {
  return Math.sqrt(new Profile(tally, differenceOf(tally.entries, leader, other), best).loss(0));
}

/** The entry of greatest strength; null when two share it. */
export function leaderOf(strengths: Float64Array): number | null {
  const sorted = [...strengths.keys()].sort((i, j) => strengths[j] - strengths[i]);
  return strengths[sorted[0]] - strengths[sorted[1]] > 1e-6 ? sorted[0] : null;
}

function aheadByListeners(
  votes: readonly PairVote[],
  fit: StrengthFit,
  leader: number,
  listeners: number,
): boolean {
  const { entries } = fit;
  const covariance = listenerCovariance(votes, fit);
  if (!covariance) return false;
  const bound = studentQuantile(1 - level / 2, listeners - 1);
  return [...fit.strengths.keys()].every((other) => {
    if (other === leader) return true;
    // Few listeners who happen to agree make the listeners' error look small; the votes' own error is the least there is.
    const error = Math.max(
      differenceError(covariance, entries, leader, other),
      differenceError(fit.covariance, entries, leader, other),
    );
    return fit.strengths[leader] - fit.strengths[other] > bound * error;
  });
}
