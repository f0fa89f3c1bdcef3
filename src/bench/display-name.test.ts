import fc from 'fast-check';
import { expect, test } from 'vitest';
import { displayName, titleOf } from './display-name.ts';

test('any text becomes one short line without a slash or a control character', () => {
  fc.assert(
    fc.property(fc.string({ unit: 'binary', maxLength: 400 }), (given) => {
      const name = displayName(given);
      expect(name).toMatch(/^[^/\\\p{Cc}\p{Cf}\p{Zl}\p{Zp}\p{Cs}]+$/u);
      expect([...name].length).toBeLessThanOrEqual(200);
      expect(name).toBe(name.trim());
      expect(displayName(name)).toBe(name);
    }),
  );
});

test('a title is the name without its ending', () => {
  expect(titleOf('My song.v2.wav')).toBe('My song.v2');
  expect(titleOf('.wav')).toBe('.wav');
  expect(titleOf('Song nr. five')).toBe('Song nr. five');
});
