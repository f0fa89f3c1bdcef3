import { expect, test } from 'vitest';
import { loudnessOf } from '../../test/measure-parts.ts';
import { seeded, seededMix } from '../../test/seeded-sound.ts';
import { type Pcm, slicePcm } from '../audio/pcm.ts';
import { loudnessHistogram, spanLoudness } from './loudness-detail.ts';

const sampleRate = 16000;

/** 30 s of a mix whose level changes every 5 s. */
function changing(): Pcm {
  const pcm = seededMix(7, { sideDb: -10, seconds: 30, sampleRate });
  const gains = [0.02, 0.3, 1, 0.1, 0.7, 0.05];
  return {
    sampleRate,
    channels: pcm.channels.map((samples) =>
      samples.map((x, n) => x * gains[Math.floor(n / (5 * sampleRate))]),
    ),
  };
}

const pcm = changing();
const reading = loudnessOf(pcm);

test('the span from start to end has the loudness of the whole', () => {
  const all = spanLoudness(reading.trace, { startSeconds: 0, endSeconds: 30 });
  expect(all.integratedLufs).toBeCloseTo(reading.result.integratedLufs!, 4);
  expect(all.rangeLu).toBeCloseTo(reading.result.rangeLu!, 4);
  expect(all.maxShortTermLufs).toBeCloseTo(reading.result.maxShortTermLufs!, 4);
});

test('a span has the loudness of the file cut out there: 40 seeded spans, within 0.02 LU', () => {
  const random = seeded(4);
  for (let i = 0; i < 40; i++) {
    const start = Math.round(250 * random()) / 10;
    const end = Math.min(30, start + 1 + Math.round(100 * random()) / 10);
    const span = spanLoudness(reading.trace, { startSeconds: start, endSeconds: end });
    const cut = loudnessOf(
      slicePcm(pcm, Math.round(start * sampleRate), Math.round(end * sampleRate)),
    ).result;
    expect(span.span.startSeconds).toBeCloseTo(start, 6);
    expect(Math.abs(span.integratedLufs! - cut.integratedLufs!)).toBeLessThan(0.02);
    if (cut.rangeLu === null) expect(span.rangeLu).toBeNull();
    else expect(Math.abs(span.rangeLu! - cut.rangeLu)).toBeLessThan(0.05);
  }
});

test('spans too short, backwards or outside have no loudness', () => {
  for (const [startSeconds, endSeconds] of [
    [3, 3.3],
    [9, 4],
    [40, 50],
  ])
    expect(spanLoudness(reading.trace, { startSeconds, endSeconds }).integratedLufs).toBeNull();
  expect(spanLoudness(reading.trace, { startSeconds: 29, endSeconds: 99 }).span.endSeconds).toBeCloseTo(
    30,
    6,
  );
});

test('the histogram says for how long the sound is how loud', () => {
  const half: Pcm = {
    sampleRate,
    channels: [
      Float32Array.from(
        { length: 20 * sampleRate },
        (_, n) => (n < 10 * sampleRate ? 0.1 : 0.01) * Math.sin((2 * Math.PI * 997 * n) / sampleRate),
      ),
    ],
  };
  const { fromLufs, shares } = loudnessHistogram(loudnessOf(half).trace);
  // -23.01 and -43.01 LUFS, the anchor of BS.1770-5.
  expect(fromLufs).toBe(-44);
  expect(shares[0]).toBeCloseTo(0.49, 1);
  expect(shares[20]).toBeCloseTo(0.49, 1);
  expect(shares.reduce((sum, share) => sum + share, 0)).toBeCloseTo(1, 9);
  expect(loudnessHistogram({ stepPowers: [] })).toEqual({ fromLufs: null, shares: [] });
});
