import { expect, test } from 'vitest';
import { duration, thousands } from './amounts.ts';

test.each([
  [0, '0'],
  [2.25, '2.3'],
  [999, '999'],
  [1000, '1,000'],
  [1_234_567.8, '1,234,568'],
])('%d is written %s', (value, text) => {
  expect(thousands(value)).toBe(text);
});

test.each([
  [0.2, '1 s'],
  [99, '99 s'],
  [100, '2 min'],
  [5_999, '1 h 40 min'],
  [3 * 3600 + 50 * 60, '3 h 50 min'],
  [52 * 3600, '2 d 4 h'],
])('%d seconds are %s', (seconds, text) => {
  expect(duration(seconds)).toBe(text);
});
