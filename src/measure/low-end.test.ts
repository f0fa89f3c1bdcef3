import { expect, test } from 'vitest';
import { lowEndOf } from '../../test/measure-parts.ts';

const sampleRate = 16000;

const bass = (seconds: number, at: (t: number) => { readonly hz: number; readonly level: number }) => {
  let phase = 0;
  return {
    sampleRate,
    channels: [
      Float32Array.from({ length: seconds * sampleRate }, (_, n) => {
        const { hz, level } = at(n / sampleRate);
        phase += (2 * Math.PI * hz) / sampleRate;
        return level * Math.sin(phase);
      }),
    ],
  };
};

test('a steady bass note is at its own frequency, unmoved, always there', () => {
  for (const hz of [41.2, 60, 98]) {
    const low = lowEndOf(bass(12, () => ({ hz, level: 0.3 })));
    expect(low.centreHz).toBeCloseTo(hz, 0);
    expect(low.centreSpreadOctaves).toBeLessThan(0.02);
    expect(low.levelSpreadDb).toBeLessThan(0.5);
    expect(low.presentShare).toBe(1);
  }
});

test('a bass that walks a fifth moves 0.585 octaves; one that pauses half the time is there half the time', () => {
  const walking = lowEndOf(bass(24, (t) => ({ hz: Math.floor(t / 3) % 2 ? 60 : 90, level: 0.3 })));
  expect(walking.centreSpreadOctaves).toBeCloseTo(Math.log2(1.5), 1);
  const pausing = lowEndOf(bass(24, (t) => ({ hz: 60, level: Math.floor(t / 6) % 2 ? 0 : 0.3 })));
  expect(pausing.presentShare).toBeGreaterThan(0.48);
  expect(pausing.presentShare).toBeLessThan(0.62);
});

test('nothing below 150 Hz: no figures', () => {
  const none = { centreHz: null, centreSpreadOctaves: null, levelSpreadDb: null, presentShare: null };
  expect(lowEndOf(bass(3, () => ({ hz: 1000, level: 0 })))).toEqual(none);
});
