import { expect, test } from 'vitest';
import { codedRate } from './lossy-rate.ts';

test('a sound keeps its rate where the codec carries it, and else goes to the nearest of its family', () => {
  expect(codedRate('mp3', 44_100)).toBe(44_100);
  expect(codedRate('mp3', 88_200)).toBe(44_100);
  expect(codedRate('mp3', 192_000)).toBe(48_000);
  expect(codedRate('mp3', 22_050)).toBe(32_000);
  expect(codedRate('mp3', 50_000)).toBe(48_000);
  expect(codedRate('aac', 96_000)).toBe(48_000);
  expect(codedRate('aac', 88_200)).toBe(44_100);
  expect(codedRate('aac', 384_000)).toBe(48_000);
  expect(codedRate('aac', 47_250)).toBe(48_000);
  expect(codedRate('vorbis', 176_400)).toBe(44_100);
  expect(codedRate('vorbis', 192_000)).toBe(48_000);
  expect(codedRate('opus', 44_100)).toBe(48_000);
  expect(codedRate('opus', 96_000)).toBe(48_000);
});

test('a rate that no music is delivered in is refused', () => {
  expect(() => codedRate('opus', 7999)).toThrow(expect.objectContaining({ code: 'CODEC_UNSUITABLE' }));
});
