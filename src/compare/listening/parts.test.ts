import { describe, expect, test } from 'vitest';
import { RealFft } from '../../signal/fft.ts';
import { fadeWeights } from './fade.ts';
import { PinkNoise } from './pink-noise.ts';

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
