import fc from 'fast-check';
import { expect, test } from 'vitest';
import { decodeSamples, encodeSamples } from './sample-coding.ts';

test.each([
  ['s16', 16],
  ['s24', 24],
] as const)('every %s integer survives reading and writing', (coding, bits) => {
  const top = 2 ** (bits - 1);
  fc.assert(
    fc.property(fc.array(fc.integer({ min: -top, max: top - 1 }), { minLength: 1 }), (levels) => {
      const samples = Float32Array.from(levels, (level) => level / top);
      const [read] = decodeSamples(encodeSamples([samples], coding, 0, samples.length), coding, 1, true);
      expect(Array.from(read, (sample) => sample * top)).toEqual(levels);
    }),
  );
});

test('floats are stored as they are, beyond full scale too', () => {
  const samples = Float32Array.of(0, -0, 1.5, -3.25, 1e-40, 0.1);
  expect(decodeSamples(encodeSamples([samples], 'f32', 0, 6), 'f32', 1, true)[0]).toEqual(samples);
});

test.each(['s16', 's24', 's32'] as const)('%s saturates beyond full scale, without wrapping', (coding) => {
  const samples = Float32Array.of(1, 1.7, -1, -1.7, Number.POSITIVE_INFINITY);
  const [read] = decodeSamples(encodeSamples([samples], coding, 0, 5), coding, 1, true);
  for (const i of [0, 1, 4]) expect(read[i]).toBeCloseTo(1, 4);
  for (const i of [2, 3]) expect(read[i]).toBe(-1);
});

test('rounding goes to the nearest level', () => {
  fc.assert(
    fc.property(fc.float({ min: Math.fround(-0.999), max: Math.fround(0.999), noNaN: true }), (sample) => {
      const [read] = decodeSamples(encodeSamples([Float32Array.of(sample)], 's16', 0, 1), 's16', 1, true);
      expect(Math.abs(read[0] - sample)).toBeLessThanOrEqual(0.5 / 32768);
    }),
  );
});

test('channels are interleaved frame by frame, and a part can be written alone', () => {
  const left = Float32Array.of(0.25, 0.5, -0.5);
  const right = Float32Array.of(-0.25, 0, 0.75);
  const whole = encodeSamples([left, right], 's16', 0, 3);
  expect(encodeSamples([left, right], 's16', 1, 3)).toEqual(whole.slice(4));
  expect(decodeSamples(whole, 's16', 2, true)).toEqual([left, right]);
});

test('both byte orders and the offset 8-bit form', () => {
  expect(decodeSamples(Uint8Array.of(0x40, 0x00), 's16', 1, false)[0][0]).toBe(0.5);
  expect(decodeSamples(Uint8Array.of(0xc0, 0x00, 0x01), 's24', 1, false)[0][0]).toBe(-0.5 + 1 / 8388608);
  expect(decodeSamples(Uint8Array.of(0x01, 0x00, 0xc0), 's24', 1, true)[0][0]).toBe(-0.5 + 1 / 8388608);
  expect(decodeSamples(Uint8Array.of(0, 128, 192), 'u8', 1, true)[0]).toEqual(Float32Array.of(-1, 0, 0.5));
  expect(decodeSamples(Uint8Array.of(0x80, 0, 0x40), 's8', 1, true)[0]).toEqual(Float32Array.of(-1, 0, 0.5));
});
