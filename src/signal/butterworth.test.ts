import { expect, test } from 'vitest';
import { highPass, lowPass } from './butterworth.ts';
import { biquadGain } from './k-weighting.ts';

const gainDb = (filter: Parameters<typeof biquadGain>[0], hz: number, rate: number) =>
  20 * Math.log10(biquadGain(filter, hz, rate));

test('half the power at the corner, nothing lost well inside, 12 dB an octave outside', () => {
  for (const rate of [8000, 44100, 192000])
    for (const hz of [20, 120, 2000]) {
      expect(gainDb(lowPass(hz, rate), hz, rate)).toBeCloseTo(-3.0103, 3);
      expect(gainDb(highPass(hz, rate), hz, rate)).toBeCloseTo(-3.0103, 3);
      expect(gainDb(lowPass(hz, rate), hz / 10, rate)).toBeCloseTo(0, 2);
      // The analogue filter, its frequency bent as the bilinear transform bends it.
      const bent = (f: number) => Math.tan((Math.PI * f) / rate);
      const expected = -10 * Math.log10(1 + (bent(hz) / bent(hz / 16)) ** 4);
      expect(gainDb(highPass(hz, rate), hz / 16, rate)).toBeCloseTo(expected, 3);
    }
});

test('a corner at or above half the rate is refused', () => {
  expect(() => lowPass(4000, 8000)).toThrow(RangeError);
  expect(() => highPass(0, 8000)).toThrow(RangeError);
});
