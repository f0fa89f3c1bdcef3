import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { abxSchedule } from '../../src/shootout/abx-schedule.ts';
import { lettersFor } from '../../src/shootout/letters.ts';
import { longestSessionSeconds, roundSeconds } from '../../src/shootout/listening-time.ts';
import { type PairRound, pairSchedule } from '../../src/shootout/pair-schedule.ts';
import { mostStimuli, ratingScreens } from '../../src/shootout/rating-screens.ts';
import { williamsDesign } from '../../src/shootout/williams.ts';

const tally = (keys: Iterable<string>) => {
  const counts = new Map<string, number>();
  for (const key of keys) counts.set(key, (counts.get(key) ?? 0) + 1);
  return counts;
};

describe('Williams designs', () => {
  test('are those published for 3, 4, 5 and 6', () => {
    const written = (n: number) => williamsDesign(n).map((row) => row.join(''));
    expect(written(4)).toEqual(['0132', '1203', '2310', '3021']);
    expect(written(6)).toEqual(['015243', '120354', '231405', '342510', '453021', '504132']);
    expect(written(3)).toEqual(['012', '120', '201', '210', '021', '102']);
    expect(written(5).slice(0, 5)).toEqual(['01423', '12034', '23140', '34201', '40312']);
  });

  test.each([2, 3, 4, 5, 6, 7, 8, 9, 12, 15, 26])(
    '%i conditions: every one in every place, and beside every other, equally often',
    (n) => {
      const rows = williamsDesign(n);
      const places = tally(rows.flatMap((row) => row.map((condition, place) => `${condition} ${place}`)));
      expect(places.size).toBe(n * n);
      expect(new Set(places.values())).toEqual(new Set([rows.length / n]));
      const neighbours = tally(rows.flatMap((row) => row.slice(1).map((next, i) => `${row[i]} ${next}`)));
      expect(neighbours.size).toBe(n * (n - 1));
      expect(new Set(neighbours.values())).toEqual(new Set([n % 2 === 0 ? 1 : 2]));
    },
  );
});

const spread = (counts: Iterable<number>) => {
  const values = [...counts];
  return Math.max(...values) - Math.min(...values);
};
const key = ({ first, second }: PairRound) => `${Math.min(first, second)} ${Math.max(first, second)}`;

describe('pair schedules', () => {
  const base = { sections: 3, excerptSeconds: 15, seed: 's' };

  test('pairs, orders, repeats and length hold for any size', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 2, max: 12 }),
        fc.integer({ min: 1, max: 9 }),
        fc.integer({ min: 5, max: 40 }),
        fc.integer(),
        (entries, listeners, excerptSeconds, seed) => {
          const schedule = pairSchedule({ entries, listeners, sections: 3, excerptSeconds, seed: `${seed}` });
          const fresh = schedule.flatMap((rounds) => rounds.filter(({ repeats }) => repeats === null));
          const pairs = tally(fresh.map(key));
          const all = (entries * (entries - 1)) / 2;
          expect(spread([...pairs.values(), ...(pairs.size < all ? [0] : [])])).toBeLessThanOrEqual(1);
          const ordered = tally(fresh.map(({ first, second }) => `${first} ${second}`));
          for (const { first, second } of fresh) {
            const there = ordered.get(`${first} ${second}`) ?? 0;
            const back = ordered.get(`${second} ${first}`) ?? 0;
            expect(Math.abs(there - back)).toBeLessThanOrEqual(1);
          }
          for (const rounds of schedule) {
            expect(rounds.length * roundSeconds(2, excerptSeconds)).toBeLessThanOrEqual(
              longestSessionSeconds,
            );
            for (const [i, round] of rounds.entries()) {
              expect(round.first).not.toBe(round.second);
              if (round.repeats === null) continue;
              const original = rounds[round.repeats];
              expect(round.repeats).toBeLessThan(i);
              expect(original).toMatchObject({
                first: round.second,
                second: round.first,
                section: round.section,
                repeats: null,
              });
            }
          }
        },
      ),
      { seed: 7, numRuns: 150 },
    );
  });

  test('four entries in 15 s excerpts: every pair four times each way over two listeners, and repeats', () => {
    const [one, two] = pairSchedule({ ...base, entries: 4, listeners: 2 });
    expect(one.length).toBe(24);
    const fresh = one.filter(({ repeats }) => repeats === null);
    expect([...tally(fresh.map(key)).values()]).toEqual([3, 3, 3, 3, 3, 3].map((n) => expect.closeTo(n, 0)));
    expect(one.length - fresh.length).toBeGreaterThanOrEqual(4);
    const both = [...one, ...two].filter(({ repeats }) => repeats === null);
    const firsts = tally(both.map(({ first }) => `${first}`));
    expect(spread(firsts.values())).toBeLessThanOrEqual(1);
  });

  test('a listener who hears all pairs once hears each once, first as often as second', () => {
    for (const entries of [3, 4, 5, 6, 7, 8]) {
      const pairs = (entries * (entries - 1)) / 2;
      const [rounds] = pairSchedule({
        ...base,
        entries,
        listeners: 1,
        excerptSeconds: 5,
        rounds: pairs + Math.max(2, Math.round(pairs / 5)),
      });
      const fresh = rounds.filter(({ repeats }) => repeats === null);
      expect(tally(fresh.slice(0, pairs).map(key)).size).toBe(pairs);
      const firsts = tally(fresh.map(({ first }) => `${first}`));
      for (let i = 0; i < entries; i++)
        expect(Math.abs((firsts.get(`${i}`) ?? 0) - (entries - 1) / 2)).toBeLessThanOrEqual(1);
    }
  });

  test('neighbouring rounds share no entry where that can be', () => {
    const [rounds] = pairSchedule({ ...base, entries: 6, listeners: 1 });
    const fresh = rounds.filter(({ repeats }) => repeats === null);
    const clashes = fresh.slice(1).filter((round, i) => {
      const last = fresh[i];
      return [round.first, round.second].some((entry) => entry === last.first || entry === last.second);
    });
    expect(clashes.length).toBeLessThanOrEqual(1);
  });

  test('the same seed makes the same schedule, another one another', () => {
    const make = (seed: string) => pairSchedule({ ...base, entries: 5, listeners: 3, seed });
    expect(make('x')).toEqual(make('x'));
    expect(make('x')).not.toEqual(make('y'));
  });
});

test('letters: a permutation each, no two listeners alike while orders are left', () => {
  const keys = lettersFor(4, 24, 'party').map((letters) => letters.join(''));
  expect(new Set(keys).size).toBe(24);
  for (const letters of keys) expect([...letters].sort().join('')).toBe('ABCD');
  expect(lettersFor(2, 5, 'party').length).toBe(5);
});

describe('rating screens', () => {
  const base = { entries: 5, listeners: 8, sections: 2, excerptSeconds: 10, seed: 'r' };

  test('damage has a hidden reference and both anchors, taste has none', () => {
    const damage = ratingScreens({ ...base, question: 'damage' });
    for (const { order } of damage.flat())
      expect([...order].sort()).toEqual([0, 1, 2, 3, 4, 'low-anchor', 'mid-anchor', 'reference']);
    const taste = ratingScreens({ ...base, question: 'taste' });
    for (const { order } of taste.flat()) expect([...order].sort()).toEqual([0, 1, 2, 3, 4]);
    expect(() => ratingScreens({ ...base, entries: mostStimuli - 2, question: 'damage' })).toThrow(
      RangeError,
    );
  });

  test('over eight screens of eight every sound stands in every place once', () => {
    const screens = ratingScreens({ ...base, listeners: 4, question: 'damage' }).flat();
    expect(screens.length).toBe(8);
    const places = tally(
      screens.flatMap(({ order }) => order.map((stimulus, place) => `${stimulus} ${place}`)),
    );
    expect([...places.values()].every((n) => n === 1) && places.size === 64).toBe(true);
  });
});

test('ABX: the number asked for, and both sounds about equally often over many', () => {
  expect(abxSchedule(16, 3, 'x').length).toBe(16);
  const many = abxSchedule(10_000, 1, 'long');
  const a = many.filter(({ x }) => x === 'a').length;
  // Within 3.3 standard deviations of a fair coin.
  expect(Math.abs(a - 5000)).toBeLessThan(165);
  const repeated = many.slice(1).filter(({ x }, i) => x === many[i].x).length;
  expect(Math.abs(repeated - 5000)).toBeLessThan(165);
});
