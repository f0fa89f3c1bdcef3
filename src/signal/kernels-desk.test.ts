import { describe, expect, test } from 'vitest';
import { seeded } from '../../test/seeded-sound.ts';
import { doubles, floats, instantiateKernels, integers, type Kernels } from './kernels.ts';

const random = seeded(12);
const noise = (length: number) => Float32Array.from({ length }, () => 2 * random() - 1);

function placed(kernels: Kernels, values: Float32Array): number {
  const pointer = kernels.allocate(4 * values.length);
  floats(kernels, pointer, values.length).set(values);
  return pointer;
}

/** Each inner loop of the desk against the same in plain TypeScript. */
describe('kernels of the desk', () => {
  const count = 61;

  test('addGained', () => {
    const [source, before] = [noise(2 * count), noise(2 * count)];
    const kernels = instantiateKernels();
    const [from, out] = [placed(kernels, source), placed(kernels, before)];
    kernels.addGained(from, count, 0.7, -0.003, out);
    const twin = before.map((x, i) => x + source[i] * Math.fround(0.7 - 0.003 * Math.floor(i / 2)));
    const heard = floats(kernels, out, 2 * count);
    for (let i = 0; i < 2 * count; i++) expect(heard[i]).toBeCloseTo(twin[i], 6);
  });

  test('addFaded', () => {
    const [source, before, weights] = [noise(2 * count), noise(2 * count), noise(count)];
    const kernels = instantiateKernels();
    const [from, out, w] = [placed(kernels, source), placed(kernels, before), placed(kernels, weights)];
    kernels.addFaded(from, w, count, out);
    const heard = floats(kernels, out, 2 * count);
    for (let i = 0; i < 2 * count; i++)
      expect(heard[i]).toBeCloseTo(before[i] + source[i] * weights[i >> 1], 6);
  });

  test('filterMirrored', () => {
    const half = 37;
    const [source, taps] = [noise(2 * (count + 2 * half + 8)), noise(half + 1)];
    const kernels = instantiateKernels();
    const [from, h] = [placed(kernels, source), placed(kernels, taps)];
    const out = kernels.allocate(8 * (count + 4));
    kernels.filterMirrored(from, h, half, count, out);
    const heard = floats(kernels, out, 2 * count);
    for (let n = 0; n < count; n++)
      for (const side of [0, 1]) {
        const at = (k: number) => source[2 * (n + half + k) + side];
        let sum = taps[0] * at(0);
        for (let k = 1; k <= half; k++) sum += taps[k] * (at(-k) + at(k));
        expect(heard[2 * n + side]).toBeCloseTo(sum, 4);
      }
  });

  test('turnFrames', () => {
    const [frames, matrix] = [noise(2 * count), noise(8).map((x, i) => (i < 4 ? x : x / 100))];
    const kernels = instantiateKernels();
    const [from, m] = [placed(kernels, frames), placed(kernels, matrix)];
    const [left, right] = [kernels.allocate(4 * count), kernels.allocate(4 * count)];
    kernels.turnFrames(from, count, m, left, right);
    for (let n = 0; n < count; n++) {
      const at = (k: number) => matrix[k] + n * matrix[4 + k];
      const [l, r] = [frames[2 * n], frames[2 * n + 1]];
      expect(floats(kernels, left, count)[n]).toBeCloseTo(at(0) * l + at(1) * r, 5);
      expect(floats(kernels, right, count)[n]).toBeCloseTo(at(2) * l + at(3) * r, 5);
    }
  });

  test('weighLevel goes on where it left off', () => {
    const channels = [noise(count), noise(count)];
    const filters = Float64Array.from({ length: 15 }, (_, i) => (i % 5 < 3 ? 0.5 : -0.2) + 0.01 * i);
    const kernels = instantiateKernels();
    const [left, right] = channels.map((samples) => placed(kernels, samples));
    const f = kernels.allocate(8 * 15);
    doubles(kernels, f, 15).set(filters);
    const state = kernels.allocate(96);
    const cut = 20;
    const sum =
      kernels.weighLevel(left, right, cut, f, state) +
      kernels.weighLevel(left + 4 * cut, right + 4 * cut, count - cut, f, state);
    let twin = 0;
    for (const samples of channels) {
      const s = new Float64Array(6);
      for (let x of samples) {
        for (let k = 0; k < 3; k++) {
          const [b0, b1, b2, a1, a2] = filters.subarray(5 * k, 5 * k + 5);
          const y = b0 * x + s[2 * k];
          s[2 * k] = b1 * x + s[2 * k + 1] - a1 * y;
          s[2 * k + 1] = b2 * x - a2 * y;
          x = y;
        }
        twin += x * x;
      }
    }
    expect(sum / twin).toBeCloseTo(1, 10);
  });

  test('convolveRows and convolveBetweenRows', () => {
    const [taps, rows] = [8, 6];
    const [first, second] = [noise(200), noise(200)].map((x) => Float64Array.from(x));
    const table = Float64Array.from(noise(taps * rows));
    const weights = Float64Array.from(noise(4 * count));
    const places = Int32Array.from({ length: 2 * count }, (_, i) => (i % 2 === 0 ? i : (i >> 1) % 3));
    const kernels = instantiateKernels();
    const pointers = [first, second, table, weights].map((values) => {
      const pointer = kernels.allocate(8 * values.length);
      doubles(kernels, pointer, values.length).set(values);
      return pointer;
    });
    const p = kernels.allocate(4 * places.length);
    integers(kernels, p, places.length).set(places);
    const [outA, outB] = [kernels.allocate(4 * count), kernels.allocate(4 * count)];
    const [a, b, t, w] = pointers;
    const sumAt = (samples: Float64Array, n: number, blend: readonly number[]) => {
      let sum = 0;
      for (let k = 0; k < taps; k++) {
        const tap = blend.reduce((h, weight, r) => h + weight * table[(places[2 * n + 1] + r) * taps + k], 0);
        sum += tap * samples[places[2 * n] + k];
      }
      return sum;
    };
    kernels.convolveRows(a, b, t, taps, p, count, outA, outB);
    for (let n = 0; n < count; n++) {
      expect(floats(kernels, outA, count)[n]).toBeCloseTo(sumAt(first, n, [1]), 6);
      expect(floats(kernels, outB, count)[n]).toBeCloseTo(sumAt(second, n, [1]), 6);
    }
    kernels.convolveBetweenRows(a, b, t, taps, p, w, count, outA, outB);
    for (let n = 0; n < count; n++) {
      const blend = [...weights.subarray(4 * n, 4 * n + 4)];
      expect(floats(kernels, outA, count)[n]).toBeCloseTo(sumAt(first, n, blend), 5);
      expect(floats(kernels, outB, count)[n]).toBeCloseTo(sumAt(second, n, blend), 5);
    }
  });
});
