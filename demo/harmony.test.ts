import fc from 'fast-check';
import { expect, test } from 'vitest';
import { chordOf, guitarShape, pitchOf, scaleStep, voiceLed } from './harmony.ts';

const symbols = ['D', 'Bm7', 'D/F#', 'Gmaj9', 'A7sus4', 'Ebm', 'C#dim', 'Cadd9'];

test('chord symbols are read as their notes', () => {
  expect(chordOf('Bm7')).toEqual({ root: 11, bass: 11, classes: [11, 2, 6, 9] });
  expect(chordOf('D/F#')).toEqual({ root: 2, bass: 6, classes: [2, 6, 9] });
  expect(pitchOf('A4')).toBe(69);
  expect(pitchOf('Bb3')).toBe(58);
  expect(() => chordOf('Hm')).toThrow(RangeError);
});

test('a voicing holds only notes of its chord, and moves little from the one before', () => {
  fc.assert(
    fc.property(fc.constantFrom(...symbols), fc.constantFrom(...symbols), (a, b) => {
      const first = voiceLed(chordOf(a), null, 55, 4);
      const second = voiceLed(chordOf(b), first, 55, 4);
      expect(second).toHaveLength(4);
      for (const pitch of second) expect(chordOf(b).classes).toContain(pitch % 12);
      second.forEach((pitch, i) => {
        expect(Math.abs(pitch - first[i])).toBeLessThanOrEqual(9);
      });
    }),
  );
});

test('a guitar shape can be held by one hand and starts on the bass note', () => {
  // The open D: x x 0 2 3 2.
  expect(guitarShape(chordOf('D'))).toEqual([null, null, 50, 57, 62, 66]);
  for (const symbol of symbols) {
    const sounding = guitarShape(chordOf(symbol)).filter((pitch) => pitch !== null);
    expect(sounding.length).toBeGreaterThanOrEqual(3);
    expect(sounding[0] % 12).toBe(chordOf(symbol).bass);
  }
});

test('a third above in C major: C to E, B to D, a seventh down and back is home', () => {
  expect(scaleStep(60, 0, 2)).toBe(64);
  expect(scaleStep(71, 0, 2)).toBe(74);
  expect(scaleStep(60, 0, -2)).toBe(57);
});
