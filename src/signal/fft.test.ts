import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { RealFft } from './fft.ts';

const signal = fc
  .integer({ min: 1, max: 9 })
  .chain((log2) =>
    fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: 2 ** log2, maxLength: 2 ** log2 }),
  )
  .map((values) => Float64Array.from(values));

function transform(x: Float64Array) {
  const re = new Float64Array(x.length / 2 + 1);
  const im = new Float64Array(x.length / 2 + 1);
  new RealFft(x.length).forward(x, re, im);
  return { re, im };
}

describe('RealFft', () => {
  test('agrees with the sum that defines it', () => {
    fc.assert(
      fc.property(signal, (x) => {
        const { re, im } = transform(x);
        for (let k = 0; k <= x.length / 2; k++) {
          let sumRe = 0;
          let sumIm = 0;
          for (let n = 0; n < x.length; n++) {
            const angle = (-2 * Math.PI * ((k * n) % x.length)) / x.length;
            sumRe += x[n] * Math.cos(angle);
            sumIm += x[n] * Math.sin(angle);
          }
          expect(re[k]).toBeCloseTo(sumRe, 10);
          expect(im[k]).toBeCloseTo(sumIm, 10);
        }
      }),
      { numRuns: 40 },
    );
  });

  test('inverse undoes forward', () => {
    fc.assert(
      fc.property(signal, (x) => {
        const { re, im } = transform(x);
        const back = new Float64Array(x.length);
        new RealFft(x.length).inverse(re, im, back);
        for (let n = 0; n < x.length; n++) expect(back[n]).toBeCloseTo(x[n], 12);
      }),
    );
  });

  test('refuses sizes that are no power of two', () => {
    for (const size of [0, 1, 3, 12, -8, 2.5]) expect(() => new RealFft(size)).toThrow(RangeError);
  });
});
