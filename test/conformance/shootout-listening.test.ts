import { describe, expect, test } from 'vitest';
import { abxNeeded, abxPower, abxResult } from '../../src/shootout/abx.ts';
import { chanceOfCircles, circularTriads, mostCircularTriads } from '../../src/shootout/circular-triads.ts';
import { consistencyOf } from '../../src/shootout/consistency.ts';
import {
  binomialAtLeast,
  chiSquaredAbove,
  normalQuantile,
  shareInterval,
  studentQuantile,
} from '../../src/shootout/distributions.ts';
import { pairSchedule } from '../../src/shootout/pair-schedule.ts';
import type { PairVote } from '../../src/shootout/pair-votes.ts';
import { type Rating, ratingResult } from '../../src/shootout/rating.ts';
import { postScreen } from '../../src/shootout/rating-screening.ts';
import { ratingScreens, type Stimulus } from '../../src/shootout/rating-screens.ts';
import { SeededRandom } from '../../src/signal/seeded-random.ts';

test('distributions agree with the printed tables', () => {
  expect(normalQuantile(0.975)).toBeCloseTo(1.959964, 6);
  expect(studentQuantile(0.975, 1)).toBeCloseTo(12.7062, 4);
  expect(studentQuantile(0.975, 4)).toBeCloseTo(2.7764, 4);
  expect(studentQuantile(0.95, 30)).toBeCloseTo(1.6973, 4);
  expect(chiSquaredAbove(3.841459, 1)).toBeCloseTo(0.05, 6);
  expect(chiSquaredAbove(18.307, 10)).toBeCloseTo(0.05, 5);
  expect(chiSquaredAbove(5.41, 1)).toBeCloseTo(0.02, 3);
  // 8 of 10: Clopper and Pearson's 0.4439 to 0.9748.
  const { low, high } = shareInterval(8, 10);
  expect([low.toFixed(4), high.toFixed(4)]).toEqual(['0.4439', '0.9748']);
});

describe('ABX: exact binomial', () => {
  // Trials, least number right at 5, 1 and 0.1 %, and the exact chance of each (computed with SciPy).
  test.each([
    [5, 5, 0.03125, null, null],
    [8, 7, 0.03516, 8, null],
    [10, 9, 0.01074, 10, 10],
    [12, 10, 0.01929, 11, 12],
    [14, 11, 0.02869, 12, 13],
    [16, 12, 0.03841, 14, 15],
    [20, 15, 0.02069, 16, 18],
    [25, 18, 0.02164, 19, 21],
    [30, 20, 0.04937, 22, 24],
    [40, 26, 0.04035, 28, 31],
    [50, 32, 0.03245, 34, 37],
    [100, 59, 0.04431, 63, 66],
  ])('%i trials', (trials, at5, p, at1, at01) => {
    expect(abxNeeded(trials)).toBe(at5);
    expect(abxResult(at5, trials).p).toBeCloseTo(p, 5);
    expect(abxResult(at5, trials).heard).toBe(true);
    expect(abxResult(at5 - 1, trials).heard).toBe(false);
    expect(abxNeeded(trials, 0.01)).toBe(at1);
    if (at01 === null) expect(abxNeeded(trials, 0.001)).toBe(trials === 10 ? 10 : null);
    else expect(abxNeeded(trials, 0.001)).toBe(at01);
  });

  test('power: the chance of 12 of 16 for one who is right in 80 %', () => {
    expect(abxPower(16, 0.5)).toBeCloseTo(0.03841, 5);
    expect(abxPower(16, 0.8)).toBeCloseTo(binomialAtLeast(12, 16, 0.8), 12);
    expect(abxPower(16, 0.8)).toBeCloseTo(0.7982, 4);
    expect(abxPower(4, 0.99)).toBe(0);
  });
});

/** Votes of one listener: a 1 in row i, column j is 'i preferred to j'. */
function votesOf(rows: readonly string[]): PairVote[] {
  return rows.flatMap((row, i) =>
    [...row.replaceAll(' ', '')].flatMap((cell, j): PairVote[] =>
      cell === '1' ? [{ listener: 0, first: i, second: j, answer: 'first' }] : [],
    ),
  );
}

describe('circular triads', () => {
  test('a dog and six foods (Kendall and Babington Smith 1940, p. 326)', () => {
    // The table as printed in the examples of the open package eba. 5 circles of at most 8: consistence 0.375.
    const dog = votesOf(['011011', '000110', '010111', '100000', '000101', '010100']);
    const { circular, consistence, chance } = circularTriads(dog, 6);
    expect(circular).toBe(5);
    expect(consistence).toBeCloseTo(0.375, 12);
    // 5 or fewer: 16,688 of 32,768.
    expect(chance).toBeCloseTo(16_688 / 32_768, 12);
  });

  test('how often each number of circles occurs by chance (their table, from memory; the sums are 2^pairs)', () => {
    const tables = {
      3: [6, 2],
      4: [24, 16, 24],
      5: [120, 120, 240, 240, 280, 24],
      6: [720, 960, 2240, 2880, 6240, 3648, 8640, 4800, 2640],
    };
    for (const [n, table] of Object.entries(tables)) {
      const entries = Number(n);
      const all = 2 ** ((entries * (entries - 1)) / 2);
      let sum = 0;
      for (const [circles, ways] of table.entries()) {
        sum += ways;
        expect(chanceOfCircles(circles, entries) * all).toBeCloseTo(sum, 6);
      }
      expect(mostCircularTriads(entries)).toBe(table.length - 1);
    }
    // Seven: 5040 + 8400 + 21,840 + 33,600 + 75,600 of 2^21 have four or fewer; 20,000 draws.
    expect(Math.abs(chanceOfCircles(4, 7) - 144_480 / 2 ** 21)).toBeLessThan(0.006);
  });

  test('a clear order has none; ties leave the coefficient open', () => {
    const order = votesOf(['0111', '0011', '0001', '0000']);
    expect(circularTriads(order, 4)).toMatchObject({ decided: 4, circular: 0, consistence: 1 });
    const tied: PairVote[] = [...order.slice(1), { listener: 0, first: 0, second: 1, answer: 'tie' }];
    expect(circularTriads(tied, 4)).toMatchObject({
      decided: 2,
      circular: 0,
      consistence: null,
      chance: null,
    });
  });
});

test('repeats: the same, turned, and one who turns most of them is set aside', () => {
  const vote = (
    first: number,
    second: number,
    answer: PairVote['answer'],
    repeats: number | null = null,
  ) => ({
    listener: 3,
    first,
    second,
    answer,
    repeats,
  });
  const once = [vote(0, 1, 'first'), vote(1, 2, 'second'), vote(2, 0, 'tie'), vote(0, 3, 'first')];
  const steady = consistencyOf(
    [...once, vote(1, 0, 'second', 0), vote(2, 1, 'first', 1), vote(0, 2, 'tie', 2), vote(3, 0, 'tie', 3)],
    4,
  );
  expect(steady.repeats).toMatchObject({ asked: 4, same: 3, turned: 0 });
  expect(steady.setAside).toBeNull();
  const fickle = consistencyOf(
    [...once, vote(1, 0, 'first', 0), vote(2, 1, 'second', 1), vote(3, 0, 'first', 3)],
    4,
  );
  expect(fickle.repeats).toMatchObject({ asked: 3, same: 0, turned: 3, chance: 1 });
  expect(fickle.setAside).toBe('repeats');
});

describe('ratings', () => {
  const truth: Record<string, number> = {
    0: 78,
    1: 60,
    2: 58,
    reference: 97,
    'mid-anchor': 45,
    'low-anchor': 22,
  };

  function rate(
    listeners: number,
    seed: string,
    of: (stimulus: Stimulus, listener: number) => number,
  ): Rating[] {
    const random = new SeededRandom(seed);
    const base = { entries: 3, listeners, sections: 4, excerptSeconds: 8, seed } as const;
    return ratingScreens({ ...base, question: 'damage' }).flatMap((screens, listener) => {
      const habit = 6 * random.normal();
      return screens.flatMap(({ order }, screen) =>
        order.map((stimulus, place) => ({
          listener,
          screen,
          stimulus,
          place,
          score: Math.max(
            0,
            Math.min(
              100,
              of(stimulus, listener) + (stimulus === 'reference' ? 0 : habit) + 6 * random.normal(),
            ),
          ),
        })),
      );
    });
  }

  test('means, intervals and the one that is better', () => {
    const result = ratingResult(
      rate(8, 'a', (stimulus) => truth[stimulus]),
      new SeededRandom('p'),
    );
    expect(result.crowned).toBe(0);
    const means = Object.fromEntries(result.stimuli.map(({ stimulus, mean }) => [stimulus, mean]));
    for (const [stimulus, mean] of Object.entries(truth))
      expect(Math.abs(means[stimulus] - mean)).toBeLessThan(6);
    expect(result.stimuli.map(({ stimulus }) => stimulus)).toEqual([
      0,
      1,
      2,
      'reference',
      'mid-anchor',
      'low-anchor',
    ]);
    for (const effect of result.placeEffects) expect(Math.abs(effect)).toBeLessThan(4);
  });

  test('a place that is favoured shows', () => {
    const ratings = rate(8, 'b', () => 50).map((each) => ({
      ...each,
      score: each.score + (each.place === 0 ? 12 : 0),
    }));
    const { placeEffects } = ratingResult(ratings, new SeededRandom('p'), 99);
    expect(placeEffects[0]).toBeGreaterThan(7);
    expect(Math.max(...placeEffects.slice(1))).toBeLessThan(2);
  });

  test('equals are crowned in at most 5 %', () => {
    let crowned = 0;
    const runs = 400;
    for (let run = 0; run < runs; run++) {
      const ratings = rate(5, `equal ${run}`, (stimulus) =>
        typeof stimulus === 'number' ? 60 : truth[stimulus],
      );
      crowned += Number(ratingResult(ratings, new SeededRandom(run), 199).crowned !== null);
    }
    expect(crowned / runs).toBeLessThanOrEqual(0.05);
  });

  test('BS.1534-3 post-screening sets aside who misses the hidden reference on more than 15 % of screens', () => {
    const ratings = rate(3, 'c', (stimulus, listener) =>
      stimulus === 'reference' ? (listener === 1 ? 70 : 110) : truth[stimulus] - 20,
    );
    expect(postScreen(ratings).map(({ kept, referenceMissed }) => [kept, referenceMissed])).toEqual([
      [true, 0],
      [false, 4],
      [true, 0],
    ]);
    const seven: Rating[] = Array.from({ length: 7 }, (_, screen) => ({
      listener: 0,
      screen,
      stimulus: 'reference',
      place: 0,
      score: screen === 0 ? 89 : 95,
    }));
    // One of seven is 14.3 %, one of six 16.7 %.
    expect(postScreen(seven)[0].kept).toBe(true);
    expect(postScreen(seven.slice(0, 6))[0].kept).toBe(false);
  });
});

test('schedules are short enough to be answered', () => {
  expect(
    pairSchedule({ entries: 12, listeners: 1, sections: 1, excerptSeconds: 30, seed: 's' })[0].length,
  ).toBe(12);
});
