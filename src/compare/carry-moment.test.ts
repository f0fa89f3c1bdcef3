import fc from 'fast-check';
import { expect, test } from 'vitest';
import { carryMoment } from './carry-moment.ts';
import type { SameSong } from './change-result.ts';

const same = (offsetSeconds: number, driftPpm = 0, unlike: SameSong['unlike'] = []) =>
  ({ same: { alignment: { offsetSeconds, driftPpm }, unlike } as unknown as SameSong }) as const;

test('a moment moves by start and drift', () => {
  expect(carryMoment(same(0.5, 100), 100, 300)).toEqual({ seconds: 100.51, doubt: null });
});

test('a moment that is not there says so and stays inside', () => {
  expect(carryMoment(same(-5), 3, 300)).toEqual({ seconds: 0, doubt: 'before' });
  expect(carryMoment(same(0), 310, 300)).toEqual({ seconds: 300, doubt: 'after' });
  expect(carryMoment(same(0, 0, [{ startSeconds: 9, endSeconds: 11 }]), 10, 300).doubt).toBe('unlike');
  expect(carryMoment({ same: null }, 310, 300)).toEqual({ seconds: 300, doubt: 'other-song' });
});

test('there and back is where it was, and order is kept', () => {
  const time = fc.double({ min: 20, max: 400, noNaN: true });
  fc.assert(
    fc.property(time, time, fc.double({ min: -10, max: 10, noNaN: true }), (a, b, offset) => {
      const there = carryMoment(same(offset), a, null).seconds;
      expect(carryMoment(same(-offset), there, null).seconds).toBeCloseTo(a, 9);
      const [x, y] = [a, b].map((seconds) => carryMoment(same(offset, 50), seconds, null).seconds);
      expect(Math.sign(x - y)).toBe(Math.sign(a - b));
    }),
    { seed: 1, numRuns: 50 },
  );
});
