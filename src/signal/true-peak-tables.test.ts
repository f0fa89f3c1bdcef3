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

  test('no phase may exceed what two known neighbours allow, for the samples that drive it hardest', () => {
    // The worst samples for the rest of a phase are its signs; any bound that held only on average fails here.
    const phases = truePeakPhases();
    const reach = truePeakTaps / 2;
    const at = (x: Float64Array, n: number, p: number) =>
      phases[p].reduce((sum, h, k) => sum + h * x[n - reach + 1 + k], 0);
    const { halfGain, halfRest, quarterGain, quarterRest } = truePeakBounds();
    const n = 40;
    for (let p = 1; p < 16; p++)
      for (const step of [4, 8]) {
        if (p % step === 0) continue;
        const left = p - (p % step);
        for (const [wa, wb] of [
          [0, 0],
          [0.5, 0.5],
          [0.76, 0.26],
          [0.26, 0.76],
          [1, 0],
          [0, 1],
        ]) {
          const x = new Float64Array(96);
          for (let k = 0; k <= truePeakTaps; k++) {
            const tap = (q: number) => (q < 16 ? (phases[q][k] ?? 0) : (phases[0][k - 1] ?? 0));
            x[n - reach + 1 + k] = Math.sign(tap(p) - wa * tap(left) - wb * tap(left + step)) || 1;
          }
          const known = Math.max(
            Math.abs(at(x, n, left)),
            Math.abs(left + step < 16 ? at(x, n, left + step) : x[n + 1]),
          );
          const [gain, rest] = step === 4 ? [quarterGain, quarterRest] : [halfGain, halfRest];
          expect(Math.abs(at(x, n, p))).toBeLessThanOrEqual(gain * known + rest);
        }
      }
  });
});
