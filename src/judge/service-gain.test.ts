import { expect, test } from 'vitest';
import { serviceGainDb } from './service-gain.ts';

test('a service turns down what is louder than its level, and nothing up', () => {
  // AES TD1008: music at -16 LUFS, by the streaming profile.
  expect(serviceGainDb(-9.5)).toBeCloseTo(-6.5, 12);
  expect(serviceGainDb(-16)).toBe(0);
  expect(serviceGainDb(-23)).toBe(0);
  expect(serviceGainDb(null)).toBe(0);
});
