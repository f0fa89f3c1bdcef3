import { binomialAtLeast, shareInterval } from './distributions.ts';

export interface AbxResult {
  readonly trials: number;
  readonly correct: number;
  /** Chance of so many right, or more, by guessing: exact binomial, one-sided. */
  readonly p: number;
  /** Least number right that counts as heard at 5 %; null where even all would not. */
  readonly needed: number | null;
  readonly heard: boolean;
  /** 95 % interval of the share right in the long run. */
  readonly share: { readonly low: number; readonly high: number };
}

/** Chance of guessing allowed (common practice; 12 of 16 is the classic criterion: Clark, JAES 30, 1982, from memory). */
const level = 0.05;

/** Result of all the trials that were fixed beforehand; of fewer it would say too much. */
export function abxResult(correct: number, trials: number): AbxResult {
  const needed = abxNeeded(trials);
  return {
    trials,
    correct,
    p: binomialAtLeast(correct, trials, 0.5),
    needed,
    heard: needed !== null && correct >= needed,
    share: shareInterval(correct, trials),
  };
}

/** Least number right of n that guessing reaches in no more than `chance` of tests; null where there is none. */
export function abxNeeded(trials: number, chance = level): number | null {
  for (let correct = 0; correct <= trials; correct++)
    if (binomialAtLeast(correct, trials, 0.5) <= chance) return correct;
  return null;
}

/** Chance that one who is right in a share of `truly` of trials passes the test. */
export function abxPower(trials: number, truly: number, chance = level): number {
  const needed = abxNeeded(trials, chance);
  return needed === null ? 0 : binomialAtLeast(needed, trials, truly);
}
