import { expect, test } from 'vitest';
import { RateLimit } from './rate-limit.ts';

test('lets a burst through, then as much as the rate gives, each caller apart', () => {
  let now = 0;
  const limit = new RateLimit({ burst: 3, perSecond: 0.5 }, () => now);
  expect([1, 2, 3, 4].map(() => limit.wait('a'))).toEqual([0, 0, 0, 2]);
  expect(limit.wait('b')).toBe(0);
  now = 1;
  expect(limit.wait('a')).toBe(1);
  now = 2;
  expect(limit.wait('a')).toBe(0);
  expect(limit.wait('a')).toBe(2);
  // Long waiting gives no more than a burst.
  now = 1000;
  expect([1, 2, 3, 4].map(() => limit.wait('a'))).toEqual([0, 0, 0, 2]);
});

test('remembers a bounded number of callers', () => {
  const limit = new RateLimit({ burst: 1, perSecond: 0.001 }, () => 0);
  limit.wait('first');
  for (let i = 0; i < 10_000; i++) limit.wait(`other ${i}`);
  expect(limit.wait('first')).toBe(0);
  expect(limit.wait('other 9999')).toBeGreaterThan(0);
});
