import { describe, expect, test } from 'vitest';
import { instantiateKernels } from '../signal/kernels.ts';
import { SoundFeed } from './sound-feed.ts';
import { StepRows } from './step-rows.ts';
import { ToneMeter, toneFrameLength } from './tone.ts';
import { type BandTrace, ToneOverTime } from './tone-over-time.ts';

function trace(sampleRate: number, ...channels: Float32Array[]): BandTrace {
  const kernels = instantiateKernels();
  const feed = new SoundFeed(kernels, { sampleRate, channels: channels.length });
  const bands = new ToneOverTime(sampleRate, toneFrameLength(sampleRate));
  const tone = new ToneMeter(kernels, feed, sampleRate, [bands]);
  feed.push({ sampleRate, channels }, (frames) => tone.take(frames));
  feed.finish((frames) => tone.take(frames));
  tone.finish();
  return bands.finish();
}

const sine = (rate: number, seconds: number, hertz: (t: number) => number) =>
  Float32Array.from({ length: Math.round(rate * seconds) }, (_, n) =>
    Math.sin(2 * Math.PI * hertz(n / rate) * (n / rate)),
  );

describe('ToneOverTime', () => {
  test.each([8000, 44100, 48000, 96000])('a full-scale sine reads -3.01 dB in its band, at %i Hz', (rate) => {
    const { levelsDb, centresHz, stepSeconds, firstSeconds } = trace(
      rate,
      sine(rate, 3.3, () => 1000),
    );
    expect(firstSeconds).toBe(0);
    expect(stepSeconds).toBeGreaterThan(0.25);
    expect(stepSeconds).toBeLessThan(0.7);
    expect(levelsDb.length).toBeGreaterThanOrEqual(Math.floor(3.3 / stepSeconds));
    const at = centresHz.indexOf(1000);
    // The ends too: what lies outside the sound does not count. There the window is cut, and leaks a little.
    levelsDb.forEach((levels, i) => {
      const inside = i > 0 && (i + 1) * stepSeconds < 3.3;
      expect(Math.abs(levels[at] + 3.01)).toBeLessThan(inside ? 0.02 : 0.2);
    });
  });

  test('says when: a tone that moves after 2 s changes its band there', () => {
    const rate = 48000;
    const { levelsDb, centresHz, stepSeconds } = trace(
      rate,
      sine(rate, 4, (t) => (t < 2 ? 200 : 4000)),
    );
    const [low, high] = [centresHz.indexOf(200), centresHz.indexOf(4000)];
    levelsDb.forEach((levels, i) => {
      const seconds = i * stepSeconds;
      if (seconds < 2 - stepSeconds) expect(levels[low] - levels[high]).toBeGreaterThan(50);
      if (seconds > 2 + stepSeconds) expect(levels[high] - levels[low]).toBeGreaterThan(50);
    });
  });

  test('adds channels by power and reads silence as the floor', () => {
    const one = sine(48000, 1, () => 1000);
    const { levelsDb, centresHz } = trace(48000, one, one, new Float32Array(48000));
    expect(levelsDb[1][centresHz.indexOf(1000)]).toBeCloseTo(0, 1);
    for (const levels of trace(48000, new Float32Array(48000)).levelsDb)
      expect([...levels].every((level) => level === -150)).toBe(true);
  });

  test('one sample gives one step, nothing gives none', () => {
    expect(trace(48000, Float32Array.of(0.5)).levelsDb.length).toBeLessThanOrEqual(1);
    expect(trace(48000, new Float32Array(0)).levelsDb).toEqual([]);
  });
});

describe('StepRows', () => {
  test('joins neighbours when there are too many, and the means stay true', () => {
    for (const steps of [1, 7, 8, 9, 16, 17, 33, 100]) {
      const kept = new StepRows(8);
      for (let i = 0; i < steps; i++) kept.add(Float64Array.of(i, 1), 1);
      const { rows, stepsInRow } = kept.finish();
      expect(rows.length).toBe(Math.ceil(steps / stepsInRow));
      expect(rows.length).toBeLessThanOrEqual(8);
      expect(rows.length).toBeGreaterThan(steps > 8 ? 4 : 0);
      rows.forEach((row, r) => {
        const own = Array.from({ length: steps }, (_, i) => i).slice(r * stepsInRow, (r + 1) * stepsInRow);
        expect(row[0]).toBeCloseTo(own.reduce((a, b) => a + b, 0) / own.length, 9);
        expect(row[1]).toBe(1);
      });
    }
  });
});
