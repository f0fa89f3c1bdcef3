import { circularTriads, type TriadResult } from './circular-triads.ts';
import { binomialAtLeast } from './distributions.ts';
import type { PairVote } from './pair-votes.ts';

/** A vote, and which earlier vote of the same listener (index in the same list) it asked again, turned round; null for a new one. */
export interface AskedVote extends PairVote {
  readonly repeats: number | null;
}

export interface RepeatResult {
  /** Pairs that were asked twice. */
  readonly asked: number;
  /** The same entry both times, or 'no difference' both times. */
  readonly same: number;
  /** One entry the first time, the other the second. */
  readonly turned: number;
  /** Chance of so many alike, or more, for one who gives the same answers as often, but blindly; null where nothing was asked twice. */
  readonly chance: number | null;
}

export interface Consistency {
  readonly listener: number;
  readonly votes: number;
  readonly triads: TriadResult;
  readonly repeats: RepeatResult;
  /** Why the listener is set aside in the result 'without the inconsistent'; null for all others. */
  readonly setAside: 'repeats' | 'triads' | null;
}

/** From so many repeats on they may set a listener aside (heuristic). */
const fewestRepeats = 3;
/** And from so many triads on circles may: five entries (heuristic; with four, one slip is a quarter of all). */
const fewestTriads = 10;

/**
 * One listener's consistency. Set aside (in a second result, never in the first) is who turned more than half of at least
 * three repeats, or who made at least as many circles as coin tossing would, a quarter of all triads, of at least ten.
 * No standard has a rule for preference pairs; this one is a heuristic, and blind to who is preferred.
 *
 * @param votes all of one listener
 */
export function consistencyOf(votes: readonly AskedVote[], entries: number): Consistency {
  const triads = circularTriads(votes, entries);
  const repeats = repeatsOf(votes);
  const setAside =
    repeats.asked >= fewestRepeats && repeats.turned > repeats.asked / 2
      ? 'repeats'
      : triads.decided >= fewestTriads && triads.circular >= triads.decided / 4
        ? 'triads'
        : null;
  return { listener: votes[0]?.listener ?? 0, votes: votes.length, triads, repeats, setAside };
}

function repeatsOf(votes: readonly AskedVote[]): RepeatResult {
  let [asked, same, turned] = [0, 0, 0];
  for (const vote of votes) {
    if (vote.repeats === null) continue;
    const original = votes[vote.repeats];
    if (!original) continue;
    asked++;
    const [before, after] = [preferred(original), preferred(vote)];
    if (before === after) same++;
    else if (before !== null && after !== null) turned++;
  }
  if (asked === 0) return { asked, same, turned, chance: null };
  const tied = votes.filter(({ answer }) => answer === 'tie').length / votes.length;
  // Blindly: both 'no difference', or both decided and by luck the same one.
  const alike = tied * tied + (1 - tied) ** 2 / 2;
  return { asked, same, turned, chance: binomialAtLeast(same, asked, alike) };
}

function preferred({ first, second, answer }: PairVote): number | null {
  return answer === 'tie' ? null : answer === 'first' ? first : second;
}
