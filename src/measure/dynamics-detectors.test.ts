import { expect, test } from 'vitest';
import { bandLevelsOf, flatTopsOf, peakShapeOf } from '../../test/measure-parts.ts';
import { seeded, seededMix, warmNoise } from '../../test/seeded-sound.ts';
import type { Pcm } from '../audio/pcm.ts';

const cases = 200;
const sampleRate = 22050;

/** Applies a curve to every sample. */
const shaped = (pcm: Pcm, curve: (x: number) => number): Pcm => ({
  ...pcm,
  channels: pcm.channels.map((samples) => samples.map(curve)),
});

test(`flat tops in ${cases} seeded mixes: none in clean ones; all saturated and all clipped ones found`, () => {
  let alarms = 0;
  let missedSoft = 0;
  let missedHard = 0;
  for (let seed = 0; seed < cases; seed++) {
    const random = seeded(seed);
    const pcm = seededMix(seed, { sideDb: -14 + 10 * random(), seconds: 3, sampleRate });
    const turnedDown = 0.2 + 0.7 * random();
    const drive = 12 + 8 * random();
    const clipAt = 0.2 + 0.15 * random();
    if (flatTopsOf(pcm).flatTopCount > 0) alarms++;
    // More than ten a minute is what the rule looks for.
    const enough = (sound: Pcm) => flatTopsOf(sound).flatTopCount >= 1;
    if (!enough(shaped(pcm, (x) => turnedDown * Math.tanh(drive * x)))) missedSoft++;
    if (!enough(shaped(pcm, (x) => turnedDown * Math.max(-clipAt, Math.min(clipAt, x))))) missedHard++;
  }
  expect({ alarms, missedSoft, missedHard }).toEqual({ alarms: 0, missedSoft: 0, missedHard: 0 });
}, 60_000);

test('a driven sine is flat in every top, told with its times; a sine and a triangle in none', () => {
  const rate = 48000;
  const tone = (hz: number, curve: (x: number) => number): Pcm => ({
    sampleRate: rate,
    channels: [Float32Array.from({ length: rate }, (_, n) => curve(Math.sin((2 * Math.PI * hz * n) / rate)))],
  });
  for (const hz of [50, 100, 440]) {
    const driven = flatTopsOf(tone(hz, (x) => 0.3 * Math.tanh(4 * x)));
    expect(driven.flatTopCount).toBeGreaterThanOrEqual(2 * hz - 2);
    expect(driven.flatTopShare).toBeGreaterThan(0.98);
    for (const { startSeconds, endSeconds } of driven.flatTops)
      expect((((startSeconds + endSeconds) / 2) * hz * 2) % 1).toBeCloseTo(0.5, 1);
    expect(flatTopsOf(tone(hz, (x) => 0.9 * x)).flatTopCount).toBe(0);
    expect(flatTopsOf(tone(hz, (x) => 0.6 * Math.asin(x))).flatTopCount).toBe(0);
  }
});

/** Struck noises on a quiet bed, and how many there are. */
function strikes(seed: number): { readonly pcm: Pcm; readonly hits: number } {
  const random = seeded(seed);
  const frames = 3 * sampleRate;
  const bed = warmNoise(random, frames, sampleRate);
  const samples = Float32Array.from(bed, (x) => 0.01 * x);
  let hits = 0;
  for (
    let at = 0.2 * sampleRate;
    at < frames - 0.3 * sampleRate;
    at += (0.13 + 0.4 * random()) * sampleRate
  ) {
    const level = 0.1 + 0.3 * random();
    const decay = 0.02 + 0.1 * random();
    const bright = random();
    const noise = warmNoise(random, Math.round(5 * decay * sampleRate), sampleRate);
    const start = Math.round(at);
    for (let n = 0; n < noise.length && start + n < frames; n++) {
      const white = random() * 2 - 1;
      samples[start + n] +=
        level * Math.exp(-n / (decay * sampleRate)) * ((1 - bright) * noise[n] + bright * white);
    }
    hits++;
  }
  return { pcm: { sampleRate, channels: [samples] }, hits };
}

test(`onsets in ${cases} seeded rows of strikes are counted; steady noise and swells hold hardly any`, () => {
  let hits = 0;
  let missed = 0;
  let extra = 0;
  let steady = 0;
  for (let seed = 0; seed < cases; seed++) {
    const row = strikes(seed);
    // The bed sets in too.
    const there = row.hits + 1;
    const seen = bandLevelsOf(row.pcm).onsets.count;
    hits += there;
    missed += Math.max(0, there - seen);
    extra += Math.max(0, seen - there);
    const random = seeded(9000 + seed);
    const noise = warmNoise(random, sampleRate, sampleRate);
    const swell = seed % 2;
    const samples = Float32Array.from(
      noise,
      (x, n) => 0.1 * x * (swell ? 0.55 + 0.45 * Math.sin((3 * n) / sampleRate) : 1),
    );
    steady += bandLevelsOf({ sampleRate, channels: [samples] }).onsets.count - 1;
  }
  expect(hits).toBeGreaterThan(1500);
  // Counted: 12 missed and none too many of 1843; none in 200 s of steady noise and slow swells but its beginning.
  expect(missed / hits).toBeLessThan(0.02);
  expect(extra / hits).toBeLessThan(0.01);
  expect(steady).toBe(0);
}, 60_000);

test('peaks pile up under a limiter and thin out without one', () => {
  const pcm = seededMix(1, { sideDb: -10, seconds: 20, sampleRate });
  const free = peakShapeOf(pcm);
  expect(free.topShare).toBeLessThan(0.02);
  // The crudest limiter: every 10 ms brought to one peak at most.
  const block = Math.round(0.01 * sampleRate);
  const limited = pcm.channels.map((samples) => {
    const out = samples.slice();
    for (let at = 0; at < out.length; at += block) {
      const part = out.subarray(at, at + block);
      const peak = part.reduce((most, x) => Math.max(most, Math.abs(x)), 0);
      const gain = Math.min(4, 0.7 / Math.max(peak, 1e-9));
      for (let n = 0; n < part.length; n++) part[n] *= gain;
    }
    return out;
  });
  const crushed = peakShapeOf({ sampleRate, channels: limited });
  expect(crushed.topShare).toBeGreaterThan(0.3);
  expect(crushed.edgeDb).toBeGreaterThan(0);
});
