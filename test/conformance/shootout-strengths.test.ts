import { describe, expect, test } from 'vitest';
import type { PairTally } from '../../src/shootout/pair-votes.ts';
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
