import { describe, expect, test } from 'vitest';
import type { PairTally } from '../../src/shootout/pair-votes.ts';
import { againstMean, differenceOf, Profile } from '../../src/shootout/profile-interval.ts';
import { differenceError, fitStrengths, likelihoodRatioTest } from '../../src/shootout/strengths.ts';

/**
 * Baseball in the American League East, 1987: wins and losses of the home team (row) against the visitors (column).
 * A. Agresti, 'Categorical Data Analysis', 2nd ed. 2002, section 10.6, Table 10.10 (from memory; its fit is confirmed below).
 */
const baseball = [
  '- 4-3 4-2 4-3 6-1 4-2 6-0',
  '3-3 - 4-2 4-3 6-0 6-1 4-3',
  '2-5 4-3 - 2-4 4-3 4-2 6-0',
  '3-3 5-1 2-5 - 4-3 4-2 6-1',
  '5-1 2-5 3-3 4-2 - 5-2 6-0',
  '2-5 3-3 3-4 4-3 4-2 - 2-4',
  '2-5 1-5 1-6 2-4 1-6 3-4 -',
];
const teams = ['Milwaukee', 'Detroit', 'Toronto', 'New York', 'Boston', 'Cleveland', 'Baltimore'];

function baseballTally(): PairTally {
  const counts = new Float64Array(3 * 49);
  for (const [home, row] of baseball.entries())
    for (const [away, cell] of row.split(' ').entries()) {
      if (cell === '-') continue;
      const [won, lost] = cell.split('-').map(Number);
      counts[3 * (7 * home + away)] = won;
      counts[3 * (7 * home + away) + 2] = lost;
    }
  return { entries: 7, counts };
}

const rounded = (value: number, digits: number) => Number(value.toFixed(digits));

describe("Agresti's baseball table", () => {
  const tally = baseballTally();
  const againstLast = (orderBias: boolean) => {
    const fit = fitStrengths(tally, { orderBias });
    return {
      fit,
      strengths: [...fit.strengths].map((strength) => strength - fit.strengths[6]),
      errors: teams.map((_, i) => differenceError(fit.covariance, 7, i, 6)),
    };
  };

  test('without home advantage: the published strengths (Table 10.11), errors about 0.3', () => {
    const { fit, strengths, errors } = againstLast(false);
    expect(fit.steadied).toBe(false);
    expect(strengths.map((strength) => rounded(strength, 2))).toEqual([
      1.58, 1.44, 1.29, 1.25, 1.11, 0.68, 0,
    ]);
    expect(errors.map((error) => rounded(error, 3))).toEqual([0.343, 0.34, 0.337, 0.336, 0.334, 0.332, 0]);
  });

  test('with home advantage, which is the order bias: strengths, errors, worths, advantage 0.302', () => {
    const { fit, strengths, errors } = againstLast(true);
    expect(strengths.map((strength) => rounded(strength, 4))).toEqual([
      1.6196, 1.4754, 1.3271, 1.2813, 1.1438, 0.7047, 0,
    ]);
    expect(errors.map((error) => rounded(error, 3))).toEqual([0.347, 0.345, 0.34, 0.34, 0.338, 0.335, 0]);
    const sum = strengths.reduce((total, strength) => total + Math.exp(strength), 0);
    expect(strengths.map((strength) => rounded(Math.exp(strength) / sum, 3))).toEqual([
      0.22, 0.19, 0.164, 0.157, 0.137, 0.088, 0.044,
    ]);
    expect(rounded(fit.order, 3)).toBe(0.302);
    expect(rounded(fit.orderError, 4)).toBe(0.1309);
  });

  test('home advantage improves the fit by a likelihood ratio of 5.41', () => {
    const gain = againstLast(true).fit.logLikelihood - againstLast(false).fit.logLikelihood;
    expect(rounded(2 * gain, 2)).toBe(5.41);
    expect(likelihoodRatioTest(tally).p).toBeLessThan(1e-5);
  });
});

/** Votes from rows of 'first second wins-of-first wins-of-second no-difference'. */
function tallyOf(entries: number, rows: string): PairTally {
  const counts = new Float64Array(3 * entries * entries);
  for (const row of rows.trim().split('\n')) {
    const [first, second, won, lost, tied] = row.trim().split(/\s+/).map(Number);
    counts.set([won, tied, lost], 3 * ((first - 1) * entries + second - 1));
  }
  return { entries, counts };
}

describe('ties', () => {
  test('four brands of Davidson’s pudding: the fit of a general optimiser', () => {
    // The first six rows of the data of R. R. Davidson 1970, Example 2, as printed in the documentation of the open
    // library PlackettLuce. Expected: SciPy's BFGS on the likelihood as Davidson writes it, errors from its second
    // differences (computed for this test).
    const tally = tallyOf(
      4,
      `1 2 19 22 16
       1 3 16 19 12
       2 3 19 19 10
       1 4 18 23 13
       2 4 23 19 9
       3 4 19 20 15`,
    );
    const fit = fitStrengths(tally, { orderBias: false });
    const against = [1, 2, 3].map((i) => rounded(fit.strengths[i] - fit.strengths[0], 4));
    expect(against).toEqual([0.2218, 0.1651, 0.1604]);
    const errors = [1, 2, 3].map((i) => rounded(differenceError(fit.covariance, 4, i, 0), 4));
    expect(errors).toEqual([0.2227, 0.23, 0.2234]);
    expect(rounded(fit.tie, 4)).toBe(-0.4509);
    expect(rounded(fit.tieError!, 4)).toBe(0.1326);
    expect(rounded(fit.logLikelihood, 3)).toBe(-334.832);
  });

  test('ties and order bias together, as Davidson and Beaver 1977 write them', () => {
    // Invented votes; expected values as above. Their tie parameter stands beside sqrt(pi_i pi_j) without the order.
    const tally = tallyOf(
      3,
      `1 2 9 3 4
       2 1 5 8 3
       1 3 11 2 1
       3 1 6 9 2
       2 3 8 5 4
       3 2 7 6 2`,
    );
    const fit = fitStrengths(tally);
    expect(rounded(fit.strengths[1] - fit.strengths[0], 4)).toBe(-0.7952);
    expect(rounded(fit.strengths[2] - fit.strengths[0], 4)).toBe(-0.9901);
    expect(rounded(differenceError(fit.covariance, 3, 1, 0), 3)).toBe(0.345);
    expect(rounded(fit.order, 4)).toBe(0.3968);
    expect(rounded(fit.orderError, 3)).toBe(0.243);
    expect(rounded(fit.tie, 3)).toBe(-0.825);
    expect(rounded(fit.tieError!, 3)).toBe(0.278);
    expect(rounded(fit.logLikelihood, 4)).toBe(-91.9612);
  });

  test('where everyone met everyone equally often, the order by strength is the order by points', () => {
    const tally = tallyOf(
      4,
      '1 2 3 2 5\n2 1 4 4 2\n1 3 2 6 2\n3 1 5 5 0\n2 3 1 3 6\n3 2 7 2 1\n1 4 4 4 2\n4 1 3 3 4\n2 4 2 7 1\n4 2 6 3 1\n3 4 8 1 1\n4 3 2 5 3',
    );
    const points = new Float64Array(4);
    for (let i = 0; i < 4; i++)
      for (let j = 0; j < 4; j++) {
        const [won, tied, lost] = tally.counts.subarray(3 * (4 * i + j));
        points[i] += won + tied / 2;
        points[j] += lost + tied / 2;
      }
    const by = (values: Float64Array) => [0, 1, 2, 3].sort((a, b) => values[a] - values[b]);
    expect(by(fitStrengths(tally, { orderBias: false }).strengths)).toEqual(by(points));
  });
});

describe('votes without a finite answer', () => {
  const swept = tallyOf(3, '1 2 6 0 0\n2 1 0 6 0\n1 3 6 0 0\n3 1 0 6 0\n2 3 3 3 0\n3 2 3 3 0');

  test('someone always won: steadied, said so, and the interval is open above', () => {
    const fit = fitStrengths(swept);
    expect(fit.steadied).toBe(true);
    expect(fit.strengths[0]).toBeGreaterThan(1);
    expect([...fit.strengths].every(Number.isFinite)).toBe(true);
    const profile = new Profile(swept, differenceOf(3, 0, 1));
    const { low, high } = profile.interval(fit.strengths[0] - fit.strengths[1], 1);
    expect(high).toBeNull();
    expect(low).toBeGreaterThan(0);
  });

  test('all votes are for the first: the order bias is steadied', () => {
    const fit = fitStrengths(tallyOf(2, '1 2 5 0 0\n2 1 5 0 0'));
    expect(fit.steadied).toBe(true);
    expect(fit.order).toBeGreaterThan(1);
    expect(fit.strengths[0]).toBeCloseTo(0, 9);
  });

  test('no votes, only ties, pairs that never met: finite and steadied', () => {
    for (const tally of [
      tallyOf(3, '1 2 0 0 0'),
      tallyOf(2, '1 2 0 0 5'),
      tallyOf(4, '1 2 3 2 0\n3 4 3 2 1'),
    ]) {
      const fit = fitStrengths(tally);
      expect(fit.steadied).toBe(true);
      expect([...fit.strengths, fit.order].every(Number.isFinite)).toBe(true);
    }
  });

  test('half-votes are weak: they move a fit of many votes by less than a tenth of its error', () => {
    const tally = baseballTally();
    const plain = fitStrengths(tally);
    const steadied = fitStrengths(tally, { steady: 'always' });
    for (let i = 0; i < 7; i++) {
      const error = Math.sqrt(plain.covariance[8 * i]);
      expect(Math.abs(plain.strengths[i] - steadied.strengths[i])).toBeLessThan(0.1 * error);
    }
  });
});

test('the interval of the likelihood ends where it has lost 1.92, on both sides', () => {
  const tally = baseballTally();
  const fit = fitStrengths(tally);
  const profile = new Profile(tally, againstMean(7, 0), fit.logLikelihood);
  const { low, high } = profile.interval(fit.strengths[0], 0.4);
  expect(profile.loss(fit.strengths[0])).toBeCloseTo(0, 6);
  expect(profile.loss(low!)).toBeCloseTo(3.8415, 3);
  expect(profile.loss(high!)).toBeCloseTo(3.8415, 3);
  expect(low!).toBeLessThan(fit.strengths[0]);
  // Wald's interval is close where there are many votes.
  const reach = 1.96 * Math.sqrt(fit.covariance[0]);
  expect(Math.abs(high! - fit.strengths[0] - reach)).toBeLessThan(0.02);
});
