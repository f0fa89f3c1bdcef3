import { describe, expect, test } from 'vitest';
import { sine, throughPart } from '../../test/finish-sound.ts';
import { seeded } from '../../test/seeded-sound.ts';
import { noiseGainDb, noiseShapeDb, noiseShapers, type ShaperName } from './noise-shapers.ts';

const frames = 200_000;

/** Mean and power of the whole error, in steps. */
function errorOf(input: Float32Array, settings: { bits: string; [name: string]: unknown }) {
  const [out] = throughPart('dither', settings, [input]);
  const steps = 2 ** (Number(settings.bits) - 1);
  let sum = 0;
  let power = 0;
  out.forEach((x, n) => {
    const error = (x - input[n]) * steps;
    sum += error;
    power += error * error;
  });
  const mean = sum / frames;
  return { mean, power: power / frames - mean * mean };
}

describe('triangular dither', () => {
  // Lipshitz, Wannamaker and Vanderkooy 1992: total error power LSB^2 / 4; dBFS in the sense of AES17 (a full-scale sine is 0).
  test.each([
    ['16', -93.32],
    ['20', -117.4],
    ['24', -141.48],
  ] as const)('at %s bits lies within 0.05 dB of theory', (bits, dbfs) => {
    const step = 2 ** (1 - Number(bits));
    // At 24 bits the input is on the grid of single precision itself: small enough that it is not.
    const input = sine(997, bits === '24' ? 0.001 : 0.3, frames);
    const { power } = errorOf(input, { bits });
    const level = 10 * Math.log10(power * step * step) + 3.0103;
    expect(Math.abs(level - dbfs)).toBeLessThan(0.05);
  });

  test('gives the values of the plain formula, whatever the blocks: two even numbers from mulberry32 a sample', () => {
    const random = seeded(12);
    const input = Float32Array.from({ length: 5001 }, () => 2.4 * random() - 1.2);
    for (const bits of ['16', '24'] as const) {
      const steps = 2 ** (Number(bits) - 1);
      // The part's own seed is mixed with the channel's number; from there on it is the tests' generator.
      const noise = seeded((1 ^ 0x9e3779b1) >>> 0);
      const expected = input.map((x) => {
        const rounded = Math.round(x * steps + (noise() + noise() - 1));
        return Math.max(-steps, Math.min(steps - 1, rounded)) / steps;
      });
      const [out] = throughPart('dither', { bits }, [input], { blocks: [1, 7, 512, 1024, 3] });
      // Adding 0 makes one of the two zeros.
      expect(out.map((x) => x + 0)).toEqual(expected.map((x) => x + 0));
    }
  });

  test('has an error whose mean and power do not know the sound', () => {
    for (const value of [0, 0.1, 0.25, 0.5, 0.73]) {
      const input = new Float32Array(frames).fill(value / 32768);
      const { mean, power } = errorOf(input, { bits: '16' });
      // Standard errors: sqrt(1/4 / n) = 0.0011 and sqrt((kurtosis - 1) / n) / 4.
      expect(Math.abs(mean)).toBeLessThan(0.005);
      expect(Math.abs(10 * Math.log10(power * 4))).toBeLessThan(0.05);
    }
  });

  test('without it the error follows the sound', () => {
    const half = new Float32Array(frames).fill(0.25 / 32768);
    expect(errorOf(half, { bits: '16', noise: 'none' }).mean).toBeCloseTo(-0.25, 6);
  });

  test('is the same for the same seed, another for another, and not the same left and right', () => {
    const silence = [new Float32Array(500), new Float32Array(500)];
    const [left, right] = throughPart('dither', { bits: '16' }, silence);
    expect(throughPart('dither', { bits: '16' }, silence)).toEqual([left, right]);
    expect(left).not.toEqual(right);
    expect(throughPart('dither', { bits: '16', seed: 2 }, silence)[0]).not.toEqual(left);
  });

  test.each(['16', '20', '24'])('gives whole steps of %s bits, within full scale', (bits) => {
    const random = seeded(3);
    const steps = 2 ** (Number(bits) - 1);
    const [out] = throughPart('dither', { bits }, [
      Float32Array.from({ length: 2000 }, () => 2.4 * random() - 1.2),
    ]);
    for (const x of out) {
      expect(Number.isInteger(x * steps)).toBe(true);
      expect(x * steps).toBeGreaterThanOrEqual(-steps);
      expect(x * steps).toBeLessThanOrEqual(steps - 1);
    }
  });
});

describe('noise shapers', () => {
  // Published or, for the textbook ones and the sums, computed: total gain and the shape at 0, 4 and 20 kHz of 44.1 kHz, dB.
  const published: Readonly<
    Record<Exclude<ShaperName, 'none'>, readonly [number, number | null, number, number]>
  > = {
    'first-order': [3.01, null, -5.0, 5.9],
    'second-order': [7.78, null, -10.0, 11.9],
    'improved-e-5': [12.19, -16.6, -27.2, 18.7],
    'improved-e-9': [23.1, -16.4, -25.2, 30.3],
    'modified-e-9': [7.56, -7.7, -19.4, 13.2],
    'f-weighted-3': [6.64, -12.0, -19.3, 11.2],
    'f-weighted-9': [18.4, -12.0, -23.3, 25.5],
  };
  test.each(Object.entries(published))(
    '%s has its published gain and shape',
    (name, [total, dc, at4k, at20k]) => {
      const { coefficients } = noiseShapers[name as ShaperName];
      expect(Math.abs(noiseGainDb(coefficients) - total)).toBeLessThan(0.05);
      if (dc !== null) expect(Math.abs(noiseShapeDb(coefficients, 0) - dc)).toBeLessThan(0.1);
      expect(Math.abs(noiseShapeDb(coefficients, 4000 / 44100) - at4k)).toBeLessThan(0.1);
      expect(Math.abs(noiseShapeDb(coefficients, 20000 / 44100) - at20k)).toBeLessThan(0.1);
    },
  );

  test.each(Object.keys(published))('%s obeys Gerzon and Craven: the mean of its log is 0', (name) => {
    const { coefficients } = noiseShapers[name as ShaperName];
    const points = 20000;
    let sum = 0;
    for (let k = 0; k < points; k++) sum += noiseShapeDb(coefficients, (k + 0.5) / points / 2);
    // The zero of the textbook ones lies on the circle: their integral converges slowly.
    expect(Math.abs(sum / points)).toBeLessThan(0.01);
  });

  test.each(Object.keys(published))('%s makes that noise', (name) => {
    const { coefficients } = noiseShapers[name as ShaperName];
    const { power } = errorOf(sine(997, 0.3, frames), { bits: '16', shaper: name });
    expect(Math.abs(10 * Math.log10(power * 4) - noiseGainDb(coefficients))).toBeLessThan(0.1);
  });
});
