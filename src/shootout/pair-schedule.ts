import { SeededRandom } from '../signal/seeded-random.ts';
import { longestSessionSeconds, roundsThatFit } from './listening-time.ts';

export interface PairScheduleOptions {
  /** Number of entries, 2 or more. */
  readonly entries: number;
  readonly listeners: number;
  /** Number of sections that are listened to; rounds take them in turn. */
  readonly sections: number;
  /** Length of the longest section, s. */
  readonly excerptSeconds: number;
  readonly seed: string;
  /** Most rounds a listener; by default as many as fit 20 minutes, but no more than six of each pair. */
  readonly rounds?: number;
  readonly limitSeconds?: number;
}

/** One round: two entries, by their numbers, in the order in which they stand. */
export interface PairRound {
  readonly first: number;
  readonly second: number;
  readonly section: number;
  /** Index in the same listener's rounds of the round that this one repeats with the order turned; null for a new one. */
  readonly repeats: number | null;
}

/** Share of the rounds that ask again what was asked before (heuristic: one in six; at least two where eight fit). */
const repeatShare = 1 / 6;
/** More of one pair tire the listener more than they tell (heuristic). */
const mostOfAPair = 6;
/** A repeat comes at least this many rounds after what it repeats, where the session is long enough (heuristic). */
const repeatAfter = 4;

/**
 * Preference rounds for every listener. Over all listeners together, pairs differ by at most one in how often they are
 * asked before repeats, each pair is heard in both orders equally often (to within one), and no entry comes first
 * more often than its pairs allow. A listener who hears as many new rounds as there are pairs hears each of them once,
 * as circular triads need. The same seed makes the same schedule.
 */
export function pairSchedule(options: PairScheduleOptions): PairRound[][] {
  const { entries, listeners, sections, excerptSeconds, seed } = options;
  if (!(entries >= 2) || !(sections >= 1)) throw new RangeError('pairs need two entries and one section');
  const pairs = (entries * (entries - 1)) / 2;
  const fit = roundsThatFit(2, excerptSeconds, options.limitSeconds ?? longestSessionSeconds);
  const rounds = Math.min(options.rounds ?? mostOfAPair * pairs, fit);
  const repeats = repeatCount(rounds);
  const fresh = wholePasses(rounds - repeats, pairs);
  const random = new SeededRandom(`pairs ${seed}`);
  const names = random.shuffle(Array.from({ length: entries }, (_, i) => i));
  const stream = pairStream(entries, sections);
  return Array.from({ length: listeners }, () => {
    const own = Array.from({ length: fresh }, () => {
      const { first, second, section } = stream.next().value;
      return { first: names[first], second: names[second], section, repeats: null };
    });
    return withRepeats(spreadOut(own, random), rounds - fresh, random);
  });
}

function repeatCount(rounds: number): number {
  return rounds < 8 ? Math.floor(rounds / 5) : Math.max(2, Math.round(rounds * repeatShare));
}

/** Rounded down to whole passes over all pairs where at least one fits: what is left over serves as repeats. */
function wholePasses(fresh: number, pairs: number): number {
  const left = fresh % pairs;
  return fresh > pairs && left <= Math.max(1, fresh * repeatShare) ? fresh - left : fresh;
}

type Asked = Omit<PairRound, 'repeats'>;

/**
 * All pairs over and over, matched as in a round-robin tournament (circle method) so that each stretch spreads over the
 * entries; each pass turns the orders of the one before it.
 */
function* pairStream(entries: number, sections: number): Generator<Asked, never> {
  const seats = entries + (entries % 2);
  for (let pass = 0; ; pass++)
    for (let turn = 0; turn < seats - 1; turn++)
      for (let table = 0; table < seats / 2; table++) {
        const a = table === 0 ? seats - 1 : (turn + table) % (seats - 1);
        const b = (turn - table + seats - 1) % (seats - 1);
        if (a >= entries || b >= entries) continue;
        // The fixed seat plays first every other turn; others by the table's parity: first and second come out even.
        const aFirst = ((table === 0 ? turn : table) + pass) % 2 === 0;
        const [first, second] = aFirst ? [a, b] : [b, a];
        yield { first, second, section: (turn + table + pass) % sections };
      }
}

/** A seeded order in which neighbours share as few entries as a hundred tries find. */
function spreadOut<Round extends Asked>(rounds: readonly Round[], random: SeededRandom): Round[] {
  let best: Round[] = [];
  let fewest = Number.POSITIVE_INFINITY;
  for (let attempt = 0; attempt < 100 && fewest > 0; attempt++) {
    const left = random.shuffle([...rounds]);
    const order: Round[] = [];
    let clashes = 0;
    while (left.length > 0) {
      const last = order.at(-1);
      const at = last ? left.findIndex((round) => !shares(round, last)) : 0;
      if (at < 0) clashes++;
      order.push(...left.splice(Math.max(0, at), 1));
    }
    if (clashes < fewest) [best, fewest] = [order, clashes];
  }
  return best;
}

function shares(a: Asked, b: Asked): boolean {
  return a.first === b.first || a.first === b.second || a.second === b.first || a.second === b.second;
}

/** Puts `count` repeats, turned round, into the second part of the session, each well after what it repeats. */
function withRepeats(rounds: readonly PairRound[], count: number, random: SeededRandom): PairRound[] {
  const order: PairRound[] = [...rounds];
  const originals = random.shuffle(rounds.map((_, i) => i)).slice(0, Math.min(count, rounds.length));
  for (const original of originals) {
    const round = rounds[original];
    const from = Math.min(order.length, order.indexOf(round) + 1 + repeatAfter);
    const at = from + random.below(order.length - from + 1);
    order.splice(at, 0, {
      first: round.second,
      second: round.first,
      section: round.section,
      repeats: original,
    });
  }
  return order.map((round) =>
    round.repeats === null ? round : { ...round, repeats: order.indexOf(rounds[round.repeats]) },
  );
}
