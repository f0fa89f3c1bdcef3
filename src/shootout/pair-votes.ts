import { grouped } from './grouped.ts';

/** One answer to 'which would you rather keep listening to?'. */
export interface PairVote {
  /** 0 .. listeners - 1 */
  readonly listener: number;
  /** Entries by number, in the order in which they stood. */
  readonly first: number;
  readonly second: number;
  readonly answer: 'first' | 'tie' | 'second';
}

const places = { first: 0, tie: 1, second: 2 } as const;

/**
 * Votes counted by ordered pair: counts[3 * (first * entries + second) + (0 first, 1 no difference, 2 second)]. All that
 * the likelihood needs to know.
 */
export interface PairTally {
  readonly entries: number;
  readonly counts: Float64Array;
}

export function tallyVotes(votes: readonly PairVote[], entries: number): PairTally {
  const counts = new Float64Array(3 * entries * entries);
  for (const { first, second, answer } of votes) {
    if (first === second || !(first >= 0 && first < entries && second >= 0 && second < entries))
      throw new RangeError('a vote needs two different entries');
    counts[3 * (first * entries + second) + places[answer]]++;
  }
  return { entries, counts };
}

/** What the first of a pair gains by an answer, and the second loses: half a point, or nothing. */
export const gainOf = { first: 0.5, tie: 0, second: -0.5 } as const;

/** Votes by listener, in the order of the votes; listeners who have none are left out. */
export function votesByListener<Vote extends PairVote>(votes: readonly Vote[]): Vote[][] {
  return [...grouped(votes, ({ listener }) => listener).values()];
}
