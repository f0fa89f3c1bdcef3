import { describe, expect, test } from 'vitest';
import { amplitudeToDb } from './decibels.ts';
import { truePeakBounds, truePeakPhases, truePeakTaps } from './true-peak-tables.ts';

/** Response of one phase at `cycles` per sample, relative to the ideal delay of p/16: complex error's size. */
function errorOf(phase: Float64Array, p: number, cycles: number): number {
  let re = 0;
  let im = 0;
  phase.forEach((h, k) => {
    const distance = k - (truePeakTaps / 2 - 1) - p / 16;
    re += h * Math.cos(2 * Math.PI * cycles * distance);
    im += h * Math.sin(2 * Math.PI * cycles * distance);
  });
  return Math.hypot(re - 1, im);
}

describe('true-peak tables', () => {
  test('the filter errs by less than 0.01 dB up to 0.45 of the sample rate', () => {
    const phases = truePeakPhases();
    for (let cycles = 0; cycles <= 0.45; cycles += 0.005)
      phases.forEach((phase, p) => {
        expect(amplitudeToDb(1 + errorOf(phase, p, cycles))).toBeLessThan(0.01);
      });
  });

  test('the bounds are as tight as they were designed to be', () => {
    const bounds = truePeakBounds();
    expect(bounds.sampleGain).toBeLessThan(2.75);
    expect(bounds.halfGain + bounds.halfRest).toBeLessThan(1.38);
    expect(bounds.quarterGain + bounds.quarterRest).toBeLessThan(1.11);
  });

  test('no phase exceeds what two known neighbours allow: tones near half the rate that top out at it', () => {
    const phases = truePeakPhases();
    const reach = truePeakTaps / 2;
    const { halfGain, halfRest, quarterGain, quarterRest } = truePeakBounds();
    let closest = 0;
    for (let p = 1; p < 16; p++)
      for (const cycles of [0.3, 0.4, 0.45, 0.48, 0.5])
        for (const step of [4, 8]) {
          if (p % step === 0) continue;
          const tone = (n: number) => Math.cos(2 * Math.PI * cycles * (n - p / 16));
          const at = (point: number) =>
            Math.abs(
              point === 16 ? tone(1) : phases[point].reduce((sum, h, k) => sum + h * tone(k - reach + 1), 0),
            );
          const left = p - (p % step);
          const known = Math.max(at(left), at(left + step));
          const [gain, rest] = step === 4 ? [quarterGain, quarterRest] : [halfGain, halfRest];
          expect(at(p)).toBeLessThanOrEqual(gain * known + rest);
          closest = Math.max(closest, at(p) / known);
        }
    // These tones do stand well above their neighbours; without gain and rest they would be lost.
    expect(closest).toBeGreaterThan(1.2);
  });
});
