import { describe, expect, test } from 'vitest';
import { RealFft } from '../../signal/fft.ts';
import { biquadGain } from '../../signal/k-weighting.ts';
import { aWeighting } from './a-weighting.ts';
import { fadeWeights } from './fade.ts';
import { PinkNoise } from './pink-noise.ts';

/** IEC 61672-1, the analogue curve from its poles (Annex E, from memory), dB at 1 kHz taken off. */
function aCurveDb(hertz: number): number {
  const [f1, f2, f3, f4] = [20.598997, 107.65265, 737.86223, 12_194.217];
  const at = (f: number) =>
    (f4 ** 2 * f ** 4) /
    ((f * f + f1 * f1) * Math.sqrt((f * f + f2 * f2) * (f * f + f3 * f3)) * (f * f + f4 * f4));
  return 20 * Math.log10(at(hertz) / at(1000));
}

describe('the A-weighting', () => {
  test.for([44_100, 48_000, 96_000, 192_000])('follows the analogue curve at %i Hz', (rate) => {
    const filters = aWeighting(rate);
    const dbAt = (hertz: number) =>
      20 * Math.log10(filters.reduce((gain, filter) => gain * biquadGain(filter, hertz, rate), 1));
    expect(dbAt(1000)).toBeCloseTo(0, 6);
    for (let hertz = 20; hertz < Math.min(20_000, 0.4 * rate); hertz *= 1.05)
      expect(Math.abs(dbAt(hertz) - aCurveDb(hertz)), `${hertz} Hz`).toBeLessThan(0.5);
  });

  test('the curve itself has the values of the standard’s table (from memory): 63 Hz, 250 Hz, 4 kHz', () => {
    for (const [hertz, db] of [
      [63.1, -26.2],
      [251.2, -8.6],
      [3981, 1.0],
    ])
      expect(aCurveDb(hertz)).toBeCloseTo(db, 1);
  });
});

describe('fades', () => {
  test('keep the power of sounds that are as alike as was said', () => {
    for (const likeness of [0, 0.3, 0.99, 1]) {
      const weights = fadeWeights(480, likeness);
      for (let i = 0; i < 480; i++) {
        const [a, b] = [weights.out[i], weights.in[i]];
        expect(a * a + b * b + 2 * likeness * a * b).toBeCloseTo(1, 5);
      }
    }
  });

  test('of sounds that cancel each other are plain', () => {
    expect(fadeWeights(64, -0.9)).toEqual(fadeWeights(64, 0));
  });
});

describe('pink noise', () => {
  test('falls by 3 dB an octave, at -20 dBFS, differently in both channels', () => {
    const rate = 48_000;
    const size = 8192;
    const noise = new PinkNoise(rate);
    const fft = new RealFft(size);
    const power = new Float64Array(size / 2 + 1);
    const [re, im] = [new Float64Array(power.length), new Float64Array(power.length)];
    let [square, cross] = [0, 0];
    const runs = 120;
    for (let k = 0; k < runs; k++) {
      const [left, right] = [new Float32Array(size), new Float32Array(size)];
      noise.add(left, right, size, 1, 0);
      for (let i = 0; i < size; i++) {
        square += left[i] ** 2;
        cross += left[i] * right[i];
      }
      fft.forward(
        Float64Array.from(left, (x, i) => x * Math.sin((Math.PI * (i + 0.5)) / size) ** 2),
        re,
        im,
      );
      for (let b = 0; b < power.length; b++) power[b] += re[b] ** 2 + im[b] ** 2;
    }
    expect(10 * Math.log10(square / (runs * size))).toBeCloseTo(-20, 0);
    expect(Math.abs(cross / square)).toBeLessThan(0.15);
    // Octaves of pink noise are equally loud; their bands hold twice as many bins each.
    const octaves: number[] = [];
    for (let low = 32; low * 2 <= size / 2 - 1; low *= 2)
      octaves.push(10 * Math.log10(power.slice(low, 2 * low).reduce((sum, x) => sum + x, 0)));
    const mean = octaves.reduce((sum, x) => sum + x, 0) / octaves.length;
    for (const octave of octaves) expect(Math.abs(octave - mean)).toBeLessThan(0.5);
  });
});
