import { expect, test } from 'vitest';
import { foldToStereo } from './fold-stereo.ts';

const pcm = (...levels: number[]) => ({
  sampleRate: 48_000,
  channels: levels.map((level) => Float32Array.of(level)),
});
const folded = (...levels: number[]) => foldToStereo(pcm(...levels)).channels.map(([x]) => x);

test('mono is doubled, stereo is left alone', () => {
  expect(folded(0.5)).toEqual([0.5, 0.5]);
  const stereo = pcm(0.5, -0.25);
  expect(foldToStereo(stereo)).toBe(stereo);
});

test('more channels are folded by ITU-R BS.775: centre and surrounds at 0.7071, no low-frequency effects', () => {
  const half = Math.fround(Math.SQRT1_2);
  expect(folded(1, 0, 0, 0, 0, 0)).toEqual([1, 0]);
  expect(folded(0, 0, 1, 0, 0, 0)).toEqual([half, half]);
  expect(folded(0, 0, 0, 1, 0, 0)).toEqual([0, 0]);
  expect(folded(0, 0, 0, 0, 1, 0)).toEqual([half, 0]);
  expect(folded(0, 0, 0, 0, 0, 1)).toEqual([0, half]);
  expect(folded(0.1, 0.2, 0, 0.5)).toEqual([expect.closeTo(0.1, 6), expect.closeTo(0.2 + 0.5 * half, 6)]);
  expect(folded(...Array.from({ length: 10 }, (_, i) => i / 10))).toEqual([0, expect.closeTo(0.1, 6)]);
});
