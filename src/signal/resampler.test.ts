import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { seeded } from '../../test/seeded-sound.ts';
import { Resampler, type ResamplerOptions } from './resampler.ts';
import { conversionFilter, filterAt, filterTable, weightsAt } from './resampler-filters.ts';

function convert(
  options: Omit<ResamplerOptions, 'channels'>,
  input: Float32Array,
  cuts = [input.length],
): Float32Array {
  const resampler = new Resampler({ ...options, channels: 1 });
  const parts: Float32Array[] = [];
  let at = 0;
  for (const cut of [...cuts, input.length]) {
    if (cut > at) parts.push(resampler.push([input.subarray(at, cut)])[0]);
    at = Math.max(at, cut);
  }
  parts.push(resampler.finish()[0]);
  return Float32Array.from(parts.flatMap((part) => [...part]));
}

const sine = (hertz: number, rate: number, frames: number) =>
  Float32Array.from({ length: frames }, (_, n) => 0.9 * Math.sin((2 * Math.PI * hertz * n) / rate + 0.3));

/** Level of what is not the sine that should have come out, against it, dB: noise, images, a wrong gain, a wrong moment. */
function errorDb(output: Float32Array, hertz: number, rate: number, start: number, step: number): number {
  const margin = Math.floor(output.length / 8);
  let [error, signal] = [0, 0];
  for (let n = margin; n < output.length - margin; n++) {
    const wanted = 0.9 * Math.sin((2 * Math.PI * hertz * (start + n * step)) / rate + 0.3);
    signal += wanted * wanted;
    error += (output[n] - wanted) ** 2;
  }
  return 10 * Math.log10(error / signal);
}

const pairs: readonly (readonly [number, number])[] = [
  [44_100, 48_000],
  [48_000, 44_100],
  [48_000, 96_000],
  [88_200, 48_000],
  [22_050, 48_000],
  [192_000, 44_100],
  [8000, 192_000],
  [44_099, 48_000],
];

describe('Resampler', () => {
  test.for(pairs)('%i to %i Hz: what comes out is the sine that went in, to 140 dB', ([from, to]) => {
    for (const share of [0.01, 0.3, 0.9])
      for (const [start, drift] of [
        [0, 0],
        [-3.217, 43e-6],
      ]) {
        const hertz = (share * Math.min(from, to)) / 2;
        const input = sine(hertz, from, Math.round(from / 4));
        const output = convert({ from, to, start, drift }, input);
        expect(errorDb(output, hertz, from, start, (from / to) * (1 + drift))).toBeLessThan(-140);
      }
  });

  test('at equal rates a fraction of a sample moves the sine and nothing else, to 140 dB', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -50, max: 50, noNaN: true }),
        fc.constantFrom(0, 1e-6, -200e-6),
        fc.double({ min: 0.01, max: 0.9, noNaN: true }),
        (start, drift, share) => {
          const hertz = (share * 48_000) / 2;
          const output = convert({ from: 48_000, to: 48_000, start, drift }, sine(hertz, 48_000, 8000));
          expect(errorDb(output, hertz, 48_000, start, 1 + drift)).toBeLessThan(-140);
        },
      ),
      { numRuns: 20 },
    );
  });

  test('at equal rates and whole frames every bit is kept', () => {
    const random = seeded(1);
    const input = Float32Array.from({ length: 10_000 }, () => 2 * random() - 1);
    expect(convert({ from: 44_100, to: 44_100 }, input)).toEqual(input);
    expect(convert({ from: 44_100, to: 44_100, start: 777, frames: 9000 }, input)).toEqual(
      input.slice(777, 9777),
    );
    const moved = convert({ from: 44_100, to: 44_100, start: -5, frames: 11_000 }, input, [3, 4096]);
    expect(moved.subarray(0, 5)).toEqual(new Float32Array(5));
    expect(moved.subarray(5, 10_005)).toEqual(input);
    expect(moved.subarray(10_005)).toEqual(new Float32Array(995));
  });

  test('how the input is cut makes no difference, and the length is exact', () => {
    const random = seeded(2);
    const input = Float32Array.from({ length: 6000 }, () => 2 * random() - 1);
    fc.assert(
      fc.property(
        fc.constantFrom(...pairs.slice(0, 6)),
        fc.constantFrom({}, { start: 100.5 }, { start: -2000.25, drift: 1e-5 }, { start: 5000, frames: 321 }),
        fc.array(fc.integer({ min: 0, max: 6000 }), { maxLength: 6 }),
        ([from, to], options, cuts) => {
          const whole = convert({ from, to, ...options }, input);
          expect(
            convert(
              { from, to, ...options },
              input,
              cuts.sort((a, b) => a - b),
            ),
          ).toEqual(whole);
          if (!('start' in options)) expect(whole.length).toBe(Math.ceil((6000 * to) / from));
          if ('frames' in options) expect(whole.length).toBe(321);
        },
      ),
      { numRuns: 10 },
    );
  });

  test('where the input has no samples there is silence', () => {
    const ones = new Float32Array(1000).fill(1);
    const output = convert({ from: 44_100, to: 48_000, start: -1000, frames: 4000 }, ones);
    expect(Math.abs(output[500])).toBeLessThan(1e-7);
    expect(output[1600]).toBeCloseTo(1, 5);
    expect(Math.abs(output[3500])).toBeLessThan(1e-7);
  });

  test('channels do not touch each other', () => {
    const input = [0, 1, 2].map((c) => sine(1000 * (c + 1), 44_100, 6000));
    const resampler = new Resampler({ from: 44_100, to: 48_000, channels: 3 });
    const together = [resampler.push(input), resampler.finish()];
    for (const [c, samples] of input.entries())
      expect(Float32Array.of(...together[0][c], ...together[1][c])).toEqual(
        convert({ from: 44_100, to: 48_000 }, samples),
      );
  });

  test('refuses what is no conversion', () => {
    for (const options of [
      { from: 0, to: 48_000, channels: 1 },
      { from: 44_100.5, to: 48_000, channels: 1 },
      { from: 44_100, to: 48_000, channels: 0 },
      { from: 44_100, to: 48_000, channels: 1, start: Number.NaN },
    ])
      expect(() => new Resampler(options)).toThrow(RangeError);
  });
});

describe('the conversion filter, from its coefficients', () => {
  const gainDb = (from: number, to: number, hertz: number) => {
    const filter = conversionFilter(from, to);
    const row = filterAt(filter, 0.5);
    let [re, im] = [0, 0];
    for (const [k, tap] of row.entries()) {
      const angle = (2 * Math.PI * hertz * k) / from;
      re += tap * Math.cos(angle);
      im += tap * Math.sin(angle);
    }
    return 20 * Math.log10(Math.hypot(re, im));
  };

  test.for(pairs)(
    '%i to %i Hz: flat to 0.9 of half the lower rate, 150 dB down from half of it on',
    ([from, to]) => {
      const half = Math.min(from, to) / 2;
      for (let share = 0.01; share <= 0.9; share += 0.01)
        expect(Math.abs(gainDb(from, to, share * half))).toBeLessThan(0.001);
      // At twice the filter's own rate nothing is left to reject when the rate goes up: images lie above half the input's.
      if (to < from)
        for (let hertz = half; hertz < from / 2; hertz += half / 40)
          expect(gainDb(from, to, hertz)).toBeLessThan(-150);
    },
  );

  test('between rows of the table the filter is right to 180 dB', () => {
    const filter = conversionFilter(44_100, 48_000);
    const table = filterTable(filter);
    const weights = new Float64Array(4);
    let worst = 0;
    for (const fraction of [0.0019, 0.31, 0.4999, 0.77, 0.998]) {
      const row = weightsAt(fraction, weights, 0);
      const exact = filterAt(filter, fraction);
      for (let k = 0; k < filter.taps; k++) {
        let value = 0;
        for (let r = 0; r < 4; r++) value += weights[r] * table[(row + r) * filter.taps + k];
        worst = Math.max(worst, Math.abs(value - exact[k]));
      }
    }
    expect(20 * Math.log10(worst)).toBeLessThan(-180);
  });
});
