import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { RealFft } from './fft.ts';
import { kWeighting, stateForm } from './k-weighting.ts';
import { doubles, floats, instantiateKernels, levelCellFrames } from './kernels.ts';
import { oneSided, PairSpectrum } from './pair-spectrum.ts';

/** The plain twins of the kernels, as short as they can be written. */

const samples = (minLength: number, maxLength: number) =>
  fc
    .array(fc.double({ min: -2, max: 2, noNaN: true }), { minLength, maxLength })
    .map((values) => Float32Array.from(values));

function place(kernels: ReturnType<typeof instantiateKernels>, values: Float32Array): number {
  const pointer = kernels.allocate(values.byteLength + 16);
  floats(kernels, pointer, values.length).set(values);
  return pointer;
}

describe('kernels', () => {
  test('instances share no memory', () => {
    const a = instantiateKernels();
    const b = instantiateKernels();
    const pointer = a.allocate(64);
    expect(b.allocate(64)).toBe(pointer);
    floats(a, pointer, 1)[0] = 7;
    expect(floats(b, pointer, 1)[0]).toBe(0);
  });

  test('scanLevels finds lowest and highest of each cell and the sum of squares', () => {
    fc.assert(
      fc.property(samples(0, 300), (x) => {
        const kernels = instantiateKernels();
        const cells = Math.ceil(x.length / levelCellFrames);
        const pointer = place(kernels, x);
        const lows = kernels.allocate(64);
        const highs = kernels.allocate(64);
        const energy = kernels.scanLevels(pointer, x.length, lows, highs);
        expect(energy).toBeCloseTo(
          x.reduce((sum, value) => sum + value * value, 0),
          9,
        );
        for (let c = 0; c < cells; c++) {
          const cell = x.subarray(c * levelCellFrames, (c + 1) * levelCellFrames);
          expect(floats(kernels, lows, cells)[c]).toBe(Math.min(...cell));
          expect(floats(kernels, highs, cells)[c]).toBe(Math.max(...cell));
        }
      }),
    );
  });

  test.for([Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY])(
    'scanLevels gives no finite sum when one sample is %d, wherever it stands',
    (bad) => {
      for (const at of [0, 5, 63, 64, 129, 130]) {
        const kernels = instantiateKernels();
        const x = new Float32Array(131).fill(0.25);
        x[at] = bad;
        const room = kernels.allocate(64);
        expect(Number.isFinite(kernels.scanLevels(place(kernels, x), x.length, room, room))).toBe(false);
      }
    },
  );

  test('weighK filters two channels as the difference equations say, however the sound is cut', () => {
    fc.assert(
      fc.property(
        samples(1, 200),
        fc.nat(200),
        fc.constantFrom(8000, 44100, 48000, 192000),
        (x, cut, rate) => {
          const kernels = instantiateKernels();
          const other = x.map((value) => 0.5 - value);
          const { shelf, highPass } = kWeighting(rate);
          const filters = kernels.allocate(80);
          doubles(kernels, filters, 10).set([shelf, highPass].flatMap(stateForm));
          const state = kernels.allocate(64);
          const sums = kernels.allocate(16);
          const [first, second] = [place(kernels, x), place(kernels, other)];
          const at = Math.min(cut, x.length);
          kernels.weighK(first, second, at, filters, state, sums);
          kernels.weighK(first + 4 * at, second + 4 * at, x.length - at, filters, state, sums);
          [x, other].forEach((input, channel) => {
            let signal = Float64Array.from(input);
            for (const { b0, b1, b2, a1, a2 } of [shelf, highPass]) {
              const out = new Float64Array(signal.length);
              for (let n = 0; n < signal.length; n++)
                out[n] =
                  b0 * signal[n] +
                  b1 * (signal[n - 1] ?? 0) +
                  b2 * (signal[n - 2] ?? 0) -
                  a1 * (out[n - 1] ?? 0) -
                  a2 * (out[n - 2] ?? 0);
              signal = out;
            }
            const energy = signal.reduce((sum, value) => sum + value * value, 0);
            expect(doubles(kernels, sums, 2)[channel]).toBeCloseTo(energy, 8);
          });
        },
      ),
    );
  });
});

describe('PairSpectrum', () => {
  test('drains its power into a total, bin by bin, and is empty then', () => {
    const kernels = instantiateKernels();
    for (const window of ['sine', 'hann'] as const) {
      const spectrum = new PairSpectrum(kernels, 32, window);
      const total = kernels.allocate(17 * 8);
      const x = place(
        kernels,
        Float32Array.from({ length: 32 }, (_, n) => Math.sin(n * n)),
      );
      const expected = new Float64Array(17);
      for (const times of [1, 2]) {
        for (let i = 0; i < times; i++) spectrum.add(x, x);
        spectrum.raw().forEach((power, k) => {
          expected[k] += power;
        });
        spectrum.drainTo(total);
        expect(doubles(kernels, total, 17)).toEqual(expected);
        expect(spectrum.raw()).toEqual(new Float64Array(17));
      }
    }
  });

  test.for([16, 32, 64, 128, 1024, 2048])(
    'adds up the power of two windowed signals of %i samples',
    (size) => {
      fc.assert(
        fc.property(samples(size, size), samples(size, size), (a, b) => {
          const kernels = instantiateKernels();
          const spectrum = new PairSpectrum(kernels, size);
          spectrum.add(place(kernels, a), place(kernels, b));
          spectrum.add(place(kernels, b), place(kernels, b));
          const power = oneSided(spectrum.raw());
          const expected = new Float64Array(size / 2 + 1);
          const [re, im] = [new Float64Array(size / 2 + 1), new Float64Array(size / 2 + 1)];
          for (const signal of [a, b, b, b]) {
            const windowed = Float64Array.from(signal, (x, n) => x * Math.sin((Math.PI * (n + 0.5)) / size));
            new RealFft(size).forward(windowed, re, im);
            for (let k = 0; k <= size / 2; k++)
              expected[k] += ((re[k] ** 2 + im[k] ** 2) * (k % (size / 2) === 0 ? 1 : 2)) / size;
          }
          const scale = 1e-6 * expected.reduce((most, value) => Math.max(most, value), 1e-12);
          for (let k = 0; k <= size / 2; k++) expect(Math.abs(power[k] - expected[k])).toBeLessThan(scale);
        }),
        { numRuns: size > 500 ? 5 : 25 },
      );
    },
  );

  test('refuses sizes that are no power of two', () => {
    for (const size of [0, 8, 48, -16])
      expect(() => new PairSpectrum(instantiateKernels(), size)).toThrow(RangeError);
  });
});
