import { SeededRandom } from '../signal/seeded-random.ts';
import { gainOf, type PairVote } from './pair-votes.ts';

/** How far one listener contradicts himself: A over B, B over C, C over A. */
export interface TriadResult {
  /** Triads whose three pairs were all decided one way. */
  readonly decided: number;
  readonly circular: number;
  /**
   * Kendall and Babington Smith's coefficient of consistence, 1 without any circle and 0 with as many as there can be;
   * null unless every pair was decided.
   */
  readonly consistence: number | null;
  /** Chance of so few circles, or fewer, for one who tosses a coin each time; null unless every pair was decided. */
  readonly chance: number | null;
}

/**
 * Circular triads in one listener's votes. Repeated pairs count by their majority. M. G. Kendall and B. Babington Smith,
 * 'On the method of paired comparisons', Biometrika 31 (1940) 324-345.
 */
export function circularTriads(votes: readonly PairVote[], entries: number): TriadResult {
  const lead = new Float64Array(entries * entries);
  for (const { first, second, answer } of votes) {
    lead[first * entries + second] += gainOf[answer];
    lead[second * entries + first] -= gainOf[answer];
  }
  const beats = (i: number, j: number) => lead[i * entries + j] > 0;
  const isDecided = (i: number, j: number) => lead[i * entries + j] !== 0;
  let [decided, circular] = [0, 0];
  for (let i = 0; i < entries; i++)
    for (let j = i + 1; j < entries; j++)
      for (let k = j + 1; k < entries; k++) {
        if (!isDecided(i, j) || !isDecided(j, k) || !isDecided(i, k)) continue;
        decided++;
        if (beats(i, j) === beats(j, k) && beats(j, k) === beats(k, i)) circular++;
      }
  const all = (entries * (entries - 1) * (entries - 2)) / 6;
  if (all === 0 || decided < all) return { decided, circular, consistence: null, chance: null };
  return {
    decided,
    circular,
    consistence: 1 - circular / mostCircularTriads(entries),
    chance: chanceOfCircles(circular, entries),
  };
}

/** The most circular triads n entries can have: (n^3 - n) / 24 for odd n, (n^3 - 4n) / 24 for even n. */
export function mostCircularTriads(n: number): number {
  return (n ** 3 - (n % 2 === 1 ? n : 4 * n)) / 24;
}

/** All ways to decide all pairs are looked at up to so many entries; 2^21 ways for seven. */
const exactUpTo = 6;
const draws = 20_000;

/** Chance of `circles` or fewer by coin tossing: exact to six entries, beyond from 20,000 seeded draws. */
export function chanceOfCircles(circles: number, entries: number): number {
  const pairs: [number, number][] = [];
  for (let i = 0; i < entries; i++) for (let j = 0; j < i; j++) pairs.push([i, j]);
  const wins = new Int32Array(entries);
  const random = new SeededRandom(`circles ${entries}`);
  const exact = entries <= exactUpTo;
  const ways = exact ? 2 ** pairs.length : draws;
  const top = (entries * (entries - 1) * (2 * entries - 1)) / 12;
  let few = 0;
  for (let way = 0; way < ways; way++) {
    wins.fill(0);
    for (let p = 0; p < pairs.length; p++) {
      const tails = exact ? (way >> p) & 1 : random.bits() & 0x40000000;
      wins[pairs[p][tails ? 0 : 1]]++;
    }
    let squares = 0;
    for (const count of wins) squares += count * count;
    // d = n(n-1)(2n-1)/12 - half the sum of the squared wins.
    if (top - squares / 2 <= circles) few++;
  }
  return few / ways;
}
