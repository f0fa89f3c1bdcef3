import fc from 'fast-check';
import { expect, test } from 'vitest';
import { isSoundName, kindByName, songKey } from './song-key.ts';

test.each([
  ['Dusk v1.wav', 'dusk'],
  ['Dusk_v2 2026-03-01.wav', 'dusk'],
  ['dusk FINAL final mix3.wav', 'dusk'],
  ['03 Dusk (master, take 2).flac', 'dusk'],
  ['DuskMaster.aif', 'dusk'],
  ['Dusk 24bit 48k 20260301.wav', 'dusk'],
  ['Dúsk – bounce 14h32.mp3', 'dusk'],
  ['Ferry Light (mix).wav', 'ferry light'],
  ['Salt in the Radio (master, take 4)', 'salt in radio'],
  ['1999.wav', '1999'],
  ['Final Mix 2.wav', 'final mix 2'],
  ['Dusk instrumental.wav', 'dusk instrumental'],
  ['夜 v3.wav', '夜'],
])('%s is of the song “%s”', (name, key) => {
  expect(songKey(name)).toBe(key);
});

test('never empty where the name says anything, and the same when asked again', () => {
  fc.assert(
    fc.property(fc.string({ unit: 'grapheme', minLength: 1, maxLength: 40 }), (name) => {
      const key = songKey(name);
      if (/[\p{L}\p{N}]/u.test(name.normalize('NFKD'))) expect(key).not.toBe('');
      expect(key).not.toMatch(/^ | $| {2}/);
    }),
    { seed: 3, numRuns: 300 },
  );
});

test('only sound files are looked at, hidden ones never', () => {
  expect(['a.wav', 'a.FLAC', 'a.m4a'].every(isSoundName)).toBe(true);
  expect(['a.txt', 'wav', '.a.wav', 'a.wav.part', 'a.reapeaks'].some(isSoundName)).toBe(false);
});

test.each([
  ['Dusk master.wav', 'master'],
  ['Dusk mixdown.wav', 'mix'],
  ['Dusk premaster.wav', 'mix'],
  ['Dusk.wav', null],
])('%s is a %s', (name, kind) => {
  expect(kindByName(name)).toBe(kind);
});
