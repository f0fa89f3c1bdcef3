import fc from 'fast-check';
import { expect, test } from 'vitest';
import { loudnessLufs } from '../mixing/loudness.ts';
import { gainOf, type Stereo, samplePeak } from '../mixing/stereo.ts';
import { randomFrom } from '../random.ts';
import { applyGain, limiterGain } from './limiter.ts';
import { peakBetween, truePeak } from './true-peak.ts';

const rate = 44100;

test('the desk meter: 997 Hz at 0 dBFS in one channel is -3.01 LUFS (ITU-R BS.1770-5, Annex 1)', () => {
  for (const r of [44100, 48000]) {
    const tone = Float32Array.from({ length: 2 * r }, (_, i) => Math.sin((2 * Math.PI * 997 * i) / r));
    expect(loudnessLufs([tone], r)).toBeCloseTo(-3.01, 1);
  }
});

test('a quarter-rate sine at 45 degrees peaks 3.01 dB above its samples', () => {
  const samples = Float32Array.from({ length: 4000 }, (_, i) => {
    const edge = Math.min(1, i / 500, (4000 - i) / 500);
    return 0.5 * edge * Math.sin((Math.PI / 2) * i + Math.PI / 4);
  });
  const read = 20 * Math.log10(truePeak({ left: samples, right: samples }) / 0.5);
  expect(read).toBeGreaterThan(-0.05);
  expect(read).toBeLessThan(0.05);
});

test('however hard it is driven, no sample leaves the limiter above the ceiling', () => {
  fc.assert(
    fc.property(fc.nat(), fc.double({ min: 0, max: 24, noNaN: true }), (seed, driveDb) => {
      const random = randomFrom(`limiter ${seed}`);
      const burst = () =>
        Float32Array.from({ length: 4000 }, () => (random() < 0.01 ? 1 : 0.1) * (2 * random() - 1));
      const sound: Stereo = { left: burst(), right: burst() };
      const drive = gainOf(driveDb);
      const limit = { ceiling: 0.8, lookAheadSeconds: 0.002, releaseSeconds: 0.03 };
      const out = applyGain(sound, drive, limiterGain(peakBetween(sound), drive, rate, limit));
      expect(samplePeak(out)).toBeLessThanOrEqual(0.8 * 1.0001);
    }),
    { numRuns: 20 },
  );
});

test('what is under the ceiling passes unchanged', () => {
  const tone = Float32Array.from({ length: 4000 }, (_, i) => 0.3 * Math.sin(i * 0.05));
  const sound = { left: tone, right: tone };
  const gain = limiterGain(peakBetween(sound), 1, rate, {
    ceiling: 0.9,
    lookAheadSeconds: 0.002,
    releaseSeconds: 0.05,
  });
  expect(Math.min(...gain)).toBeCloseTo(1, 5);
});
