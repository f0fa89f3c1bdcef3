import fc from 'fast-check';
import { expect, test } from 'vitest';
import { highPass, lowPass } from './butterworth.ts';
import { RealFft } from './fft.ts';
import { stateForm } from './k-weighting.ts';
import { doubles, floats, instantiateKernels, integers, type Kernels } from './kernels.ts';
import { PairSpectrum } from './pair-spectrum.ts';

/** The plain twins of the kernels that split into bands and compare channels. */

const samples = (length: number) =>
  fc
    .array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: length, maxLength: length })
    .map((values) => Float32Array.from(values));

function place(kernels: Kernels, values: Float32Array): number {
  const pointer = kernels.allocate(values.byteLength + 64);
  floats(kernels, pointer, values.length).set(values);
  return pointer;
}

const squares = (values: Float32Array) => values.reduce((sum, x) => sum + x * x, 0);

test('addPairLevels adds squares of both channels, of their sum and of their difference', () => {
  fc.assert(
    fc.property(samples(150), samples(150), fc.nat(150), (x, y, frames) => {
      const kernels = instantiateKernels();
      const sums = kernels.allocate(32);
      doubles(kernels, sums, 4).fill(1);
      kernels.addPairLevels(place(kernels, x), place(kernels, y), frames, sums);
      const [a, b] = [x.subarray(0, frames), y.subarray(0, frames)];
      const expected = [a, b, a.map((v, i) => v + b[i]), a.map((v, i) => v - b[i])].map(
        (values) => 1 + squares(values),
      );
      doubles(kernels, sums, 4).forEach((sum, i) => {
        expect(sum).toBeCloseTo(expected[i], 4);
      });
    }),
  );
});

test('equal channels differ by exactly nothing, opposite ones add up to exactly nothing', () => {
  const kernels = instantiateKernels();
  const x = Float32Array.from({ length: 1000 }, (_, n) => Math.sin(n * n));
  const sums = kernels.allocate(32);
  kernels.addPairLevels(place(kernels, x), place(kernels, x), 1000, sums);
  expect(doubles(kernels, sums, 4)[3]).toBe(0);
  doubles(kernels, sums, 4).fill(0);
  kernels.addPairLevels(
    place(kernels, x),
    place(
      kernels,
      x.map((v) => -v),
    ),
    1000,
    sums,
  );
  expect(doubles(kernels, sums, 4)[2]).toBe(0);
});

test('addCrossPower gives the auto and cross power of two transforms, by band and by group', () => {
  const size = 64;
  fc.assert(
    fc.property(samples(size), samples(size), (x, y) => {
      const kernels = instantiateKernels();
      const spectrum = new PairSpectrum(kernels, size);
      const [first, second] = [place(kernels, x), place(kernels, y)];
      const groups = kernels.allocate((size / 8) * 16);
      const edges = kernels.allocate(16);
      const sums = kernels.allocate(64);
      integers(kernels, edges, 3).set([1, 3, 8]);
      spectrum.add(first, second);
      spectrum.cross(groups, edges, 2, sums);

      const window = (v: Float32Array) =>
        Float64Array.from(v, (value, i) => value * Math.sin((Math.PI * (i + 0.5)) / size));
      const fft = new RealFft(size);
      const [xRe, xIm, yRe, yIm] = [0, 0, 0, 0].map(() => new Float64Array(size / 2 + 1));
      fft.forward(window(x), xRe, xIm);
      fft.forward(window(y), yRe, yIm);
      const bins = (from: number, to: number) => {
        const sum = [0, 0, 0, 0];
        for (let k = 4 * from + 1; k <= 4 * to; k++) {
          sum[0] += 4 * (xRe[k] ** 2 + xIm[k] ** 2);
          sum[1] += 4 * (yRe[k] ** 2 + yIm[k] ** 2);
          sum[2] += 4 * (xRe[k] * yRe[k] + xIm[k] * yIm[k]);
          sum[3] += 4 * (xIm[k] * yRe[k] - xRe[k] * yIm[k]);
        }
        return sum;
      };
      const near = (got: ArrayLike<number>, expected: readonly number[]) => {
        expected.forEach((value, i) => {
          expect(got[i]).toBeCloseTo(value, 2);
        });
      };
      near(doubles(kernels, sums, 8).subarray(0, 4), bins(1, 3));
      near(doubles(kernels, sums, 8).subarray(4, 8), bins(3, 8));
      for (let g = 1; g < 8; g++) near(floats(kernels, groups + 16 * g, 4), bins(g, g + 1));
      near(floats(kernels, groups, 4), [0, 0, 0, 0]);
    }),
  );
});

test('splitBands filters two channels into two bands as the difference equations say, however the sound is cut', () => {
  const rate = 48000;
  const chains = [
    [highPass(500, rate), highPass(500, rate), lowPass(4000, rate), lowPass(4000, rate)],
    [highPass(4000, rate), highPass(4000, rate), lowPass(12000, rate), lowPass(12000, rate)],
  ];
  const run = (chain: (typeof chains)[number], x: Float32Array) =>
    chain.reduce<Float64Array>((input, { b0, b1, b2, a1, a2 }) => {
      let [x1, x2, y1, y2] = [0, 0, 0, 0];
      return input.map((value) => {
        const y = b0 * value + b1 * x1 + b2 * x2 - a1 * y1 - a2 * y2;
        [x1, x2, y1, y2] = [value, x1, y, y1];
        return y;
      });
    }, Float64Array.from(x));
  fc.assert(
    fc.property(samples(96), samples(96), fc.nat(5), (x, y, cut) => {
      const kernels = instantiateKernels();
      const [first, second] = [place(kernels, x), place(kernels, y)];
      const filters = kernels.allocate(160);
      const state = kernels.allocate(128);
      const cells = kernels.allocate(6 * 32);
      // One of each two that are alike.
      const [a, b] = chains.map((chain) => [chain[0], chain[2]].flatMap(stateForm));
      floats(kernels, filters, 40).set(a.flatMap((value, i) => [value, value, b[i], b[i]]));
      kernels.splitBands(first, second, 16 * cut, 16, filters, state, cells);
      kernels.splitBands(
        first + 64 * cut,
        second + 64 * cut,
        96 - 16 * cut,
        16,
        filters,
        state,
        cells + 32 * cut,
      );
      const outputs = [run(chains[0], x), run(chains[0], y), run(chains[1], x), run(chains[1], y)];
      for (let cell = 0; cell < 6; cell++)
        outputs.forEach((output, lane) => {
          const part = output.subarray(16 * cell, 16 * cell + 16);
          const got = floats(kernels, cells + 32 * cell, 8);
          expect(got[lane]).toBeCloseTo(
            part.reduce((sum, value) => sum + value * value, 0),
            3,
          );
          expect(got[4 + lane]).toBeCloseTo(
            part.reduce((most, value) => Math.max(most, Math.abs(value)), 0),
            4,
          );
        });
    }),
  );
});

test('decimate is a sum of products at every so-manieth sample', () => {
  fc.assert(
    fc.property(samples(80), samples(16), fc.integer({ min: 1, max: 8 }), (x, taps, factor) => {
      const kernels = instantiateKernels();
      const count = Math.floor((80 - 16) / factor) + 1;
      const out = kernels.allocate(400);
      kernels.decimate(place(kernels, x), place(kernels, taps), 16, factor, count, out);
      for (let n = 0; n < count; n++)
        expect(floats(kernels, out, count)[n]).toBeCloseTo(
          taps.reduce((sum, tap, k) => sum + tap * x[n * factor + k], 0),
          4,
        );
    }),
  );
});
