import { describe, expect, test } from 'vitest';
import { resample } from '../../src/shootout/bootstrap.ts';
import { pairSchedule } from '../../src/shootout/pair-schedule.ts';
import { tallyVotes } from '../../src/shootout/pair-votes.ts';
import { powerOf } from '../../src/shootout/power.ts';
import { bestLogLikelihood, differenceOf, Profile } from '../../src/shootout/profile-interval.ts';
import { simulateVotes, type Voters } from '../../src/shootout/simulated-voters.ts';
import { differenceError, fitStrengths, preferredShare } from '../../src/shootout/strengths.ts';
import { verdictOf } from '../../src/shootout/verdict.ts';
import { SeededRandom } from '../../src/signal/seeded-random.ts';

const scheduleOf = (entries: number, listeners: number, rounds: number) =>
  pairSchedule({ entries, listeners, sections: 2, excerptSeconds: 10, rounds, seed: 'sim' });

describe('simulated voters', () => {
  test('95 % intervals hold the truth in 93 to 97 % of 3000 shoot-outs', () => {
    const truth = [0.6, 0.2, -0.2, -0.6];
    const schedule = scheduleOf(4, 8, 14);
    const random = new SeededRandom('coverage');
    let [profile, wald, order, all] = [0, 0, 0, 0];
    for (let run = 0; run < 3000; run++) {
      const votes = simulateVotes({ strengths: truth, order: 0.2, tie: -0.7, ownTaste: 0 }, schedule, random);
      const tally = tallyVotes(votes, 4);
      const fit = fitStrengths(tally);
      const best = fit.steadied ? bestLogLikelihood(tally) : fit.logLikelihood;
      order += Number(Math.abs(fit.order - 0.2) < 1.96 * fit.orderError);
      for (const [i, j] of [
        [0, 1],
        [0, 3],
      ]) {
        const d = truth[i] - truth[j];
        all++;
        // The truth lies in the likelihood's interval when it loses no more than 1.96 squared.
        profile += Number(new Profile(tally, differenceOf(4, i, j), best).loss(d) <= 3.8415);
        const error = differenceError(fit.covariance, 4, i, j);
        wald += Number(Math.abs(fit.strengths[i] - fit.strengths[j] - d) < 1.96 * error);
      }
    }
    for (const share of [profile / all, wald / all, order / 3000]) {
      expect(share).toBeGreaterThan(0.93);
      expect(share).toBeLessThan(0.97);
    }
  });

  const crowned = (
    [entries, listeners, rounds]: readonly [number, number, number],
    runs: number,
    voters: Partial<Voters>,
  ) => {
    const schedule = scheduleOf(entries, listeners, rounds);
    const random = new SeededRandom(`crown ${entries} ${listeners}`);
    const all = { strengths: new Array(entries).fill(0), order: 0.3, tie: -0.7, ownTaste: 0, ...voters };
    let [here, beyond, right] = [0, 0, 0];
    for (let run = 0; run < runs; run++) {
      const verdict = verdictOf(simulateVotes(all, schedule, random), entries, random, 199);
      here += Number(verdict.crowned !== 'none');
      right += Number(verdict.crowned !== 'none' && verdict.leader === 0);
      beyond += Number(verdict.crowned === 'listeners-like-these');
    }
    return { here: here / runs, beyond: beyond / runs, right: right / runs };
  };

  const sizes = [
    [2, 1, 16],
    [2, 6, 8],
    [3, 4, 12],
    [4, 5, 14],
    [6, 8, 20],
  ] as const;

  test.each(sizes)('%i equals, %i listeners, %i rounds: at most 5 % crown anyone', (...size) => {
    const { here, beyond } = crowned(size, size[0] > 4 ? 500 : 1500, {});
    expect(here).toBeLessThanOrEqual(0.05);
    expect(beyond).toBeLessThanOrEqual(0.05);
  });

  test.each(sizes.slice(2, 4))(
    '%i entries, the best two equal: one of them is crowned in 5 % of shoot-outs at most, as far as 1000 can tell',
    (...size) => {
      const strengths = [0, 0, ...new Array(size[0] - 2).fill(-2.5)];
      // Standard deviation of a share of 5 % in 1000: 0.69 %.
      expect(crowned(size, 1000, { strengths }).here).toBeLessThan(0.05 + 2 * 0.0069);
    },
  );

  test.each(sizes)(
    '%i entries, %i listeners, %i rounds: tastes without a common favourite never make one for others',
    (...size) => {
      expect(crowned(size, 300, { ownTaste: 1 }).beyond).toBeLessThanOrEqual(0.05);
    },
  );

  test('who is far better is crowned, and for listeners in general', () => {
    const far = crowned([4, 8, 14], 200, { strengths: [2, 0, 0, 0] });
    expect(far.right).toBeGreaterThan(0.9);
    expect(far.beyond).toBeGreaterThan(0.6);
  });

  test.each([
    [4, 5, 14],
    [3, 8, 12],
    [2, 4, 12],
  ] as const)('power told beforehand: %i entries, %i listeners, %i rounds', (entries, listeners, rounds) => {
    const told = powerOf(scheduleOf(entries, listeners, rounds), entries, { tieShare: 0.2 });
    const strengths = [told.difference!, ...new Array(entries - 1).fill(0)];
    // A share of 0.2 'no difference' is nu = 0.5.
    const { right } = crowned([entries, listeners, rounds], 400, { strengths, tie: Math.log(0.5), order: 0 });
    expect(Math.abs(right - 0.8)).toBeLessThan(0.07);
    expect(told.preferredShare).toBeCloseTo(preferredShare(told.difference!), 12);
  });

  test('resampled votes and listeners', () => {
    const random = new SeededRandom('resampling');
    const truth = { strengths: [0.9, 0.1, -0.4, -0.6], order: 0, tie: -0.7, ownTaste: 0.5 };
    const votes = simulateVotes(truth, scheduleOf(4, 8, 14), random);
    const fit = fitStrengths(tallyVotes(votes, 4));
    for (const what of ['votes', 'listeners'] as const) {
      const { chanceBest, intervals } = resample(votes, 4, what, new SeededRandom('r'), 400);
      expect(chanceBest.reduce((sum, chance) => sum + chance, 0)).toBeCloseTo(1, 9);
      expect(chanceBest[0]).toBeGreaterThan(0.9);
      for (const [i, { low, high }] of intervals.entries()) {
        expect(low).toBeLessThan(fit.strengths[i]);
        expect(high).toBeGreaterThan(fit.strengths[i]);
      }
      // The votes' own interval is about the likelihood's.
      if (what === 'votes') {
        const width = intervals[1].high! - intervals[1].low!;
        const walds = 2 * 1.96 * Math.sqrt(fit.covariance[5]);
        expect(width / walds).toBeGreaterThan(0.75);
        expect(width / walds).toBeLessThan(1.25);
      }
      expect(resample(votes, 4, what, new SeededRandom('r'), 400).chanceBest).toEqual(chanceBest);
    }
  });
});
