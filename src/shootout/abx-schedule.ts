import { SeededRandom } from '../signal/seeded-random.ts';

export interface AbxTrial {
  readonly section: number;
  /** Which of the two X is. */
  readonly x: 'a' | 'b';
}

/**
 * ABX trials, their number fixed beforehand: whoever stops when it looks good finds what is not there. X is drawn anew
 * each time with even chance, which is what the exact binomial test rests on (a balanced list could be counted out).
 */
export function abxSchedule(trials: number, sections: number, seed: string): AbxTrial[] {
  if (!Number.isInteger(trials) || trials < 1) throw new RangeError('ABX needs a whole number of trials');
  const random = new SeededRandom(`abx ${seed}`);
  return Array.from({ length: trials }, (_, i) => ({
    section: i % sections,
    x: random.bits() >= 2 ** 31 ? 'a' : 'b',
  }));
}
