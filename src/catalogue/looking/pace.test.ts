import { expect, test } from 'vitest';
import { Pace } from './pace.ts';

test('the pace is that of the last minute, and unknown before two seconds', () => {
  const pace = new Pace();
  expect(pace.note(0, 0)).toBeNull();
  expect(pace.note(10, 1000)).toBeNull();
  expect(pace.note(20, 2000)).toBeCloseTo(600);
  // Ten a second for a minute, then one a second: after another minute the first is forgotten.
  for (let second = 3; second <= 60; second++) pace.note(10 * second, 1000 * second);
  let last: number | null = null;
  for (let second = 61; second <= 125; second++) last = pace.note(600 + second - 60, 1000 * second);
  expect(last).toBeCloseTo(60);
});
