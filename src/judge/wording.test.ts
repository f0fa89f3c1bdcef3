import fc from 'fast-check';
import { expect, test } from 'vitest';
import { clockTime, count, figure, inSentence, list, signed, size, withUnit } from './wording.ts';

test('figures have a true minus sign, one decimal and a space before the unit', () => {
  expect(withUnit(-1, 'dBTP')).toBe('−1.0 dBTP');
  expect(withUnit(3.17, 'dB')).toBe('3.2 dB');
  expect(signed(0.26, 'dB')).toBe('+0.3 dB');
  expect(signed(-0.26, 'dB')).toBe('−0.3 dB');
  expect(size(-2, 'dB')).toBe('2.0 dB');
});

test('no figure is ever a negative zero', () => {
  fc.assert(
    fc.property(fc.double({ min: -0.0499, max: 0.0499, noNaN: true }), (x) => {
      expect(figure(x)).toBe('0.0');
      expect(signed(x, 'dB')).toBe('0.0 dB');
    }),
  );
});

test('clock time carries tenths that round up into the next minute and hour', () => {
  expect(clockTime(0)).toBe('0:00.0');
  expect(clockTime(83.44)).toBe('1:23.4');
  expect(clockTime(59.96)).toBe('1:00.0');
  expect(clockTime(3599.97)).toBe('1:00:00.0');
});

test('counts, lists and titles read as sentences', () => {
  expect(count(1, 'thing')).toBe('one thing');
  expect(count(0, 'thing')).toBe('no things');
  expect(count(37, 'place')).toBe('37 places');
  expect(list(['a', 'b', 'c'])).toBe('a, b and c');
  expect(inSentence('Too much bass')).toBe('too much bass');
  expect(inSentence('A few flat tops')).toBe('a few flat tops');
  expect(inSentence('AAC 128 clips')).toBe('AAC 128 clips');
});
