import { describe, expect, test } from 'vitest';
import { seeded } from '../../test/seeded-sound.ts';
import { type Pcm, slicePcm } from '../audio/pcm.ts';
import { LimitingCostMeter } from './limiting-cost.ts';

const sampleRate = 48000;
const frames = 4 * sampleRate;

/** Noise with eight hits a second that die away: something to rise and something between. */
function hits(): Pcm {
  const random = seeded(5);
  const channels = [0, 1].map(() =>
    Float32Array.from({ length: frames }, (_, i) => {
      const since = (i % 6000) / sampleRate;
      return (2 * random() - 1) * (0.01 + 0.5 * Math.exp(-30 * since));
    }),
  );
  return { sampleRate, channels };
}

function costOf(before: Pcm, after: Pcm, driveDb = 0) {
  const meter = new LimitingCostMeter(sampleRate, before.channels.length, driveDb);
  // Cut differently, the one late: what is laid beside each other must not depend on it.
  for (let at = 0; at < frames; at += 5000)
    meter.pushBefore(slicePcm(before, at, Math.min(frames, at + 5000)));
  for (let at = 0; at < frames; at += 777) meter.pushAfter(slicePcm(after, at, Math.min(frames, at + 777)));
  return meter.finish();
}

const changed = ({ channels }: Pcm, change: (x: number, i: number) => number): Pcm => ({
  sampleRate,
  channels: channels.map((samples) => samples.map(change)),
});

describe('what a limiter cost', () => {
  const sound = hits();

  test('nothing, when it only turned the sound down', () => {
    const cost = costOf(
      sound,
      changed(sound, (x) => x / 2),
    );
    expect(cost.onsets.count).toBe(32);
    expect(cost.onsets.changeDb).toBeCloseTo(0, 1);
    expect(cost.errorDb).toBeNull();
    expect(cost.distanceSone).toBeCloseTo(0, 4);
    expect(cost.crestAfterDb).toBeCloseTo(cost.crestBeforeDb as number, 6);
    // Half is 6.02 dB less, all of the time.
    expect(cost.reduction.deepestDb).toBeCloseTo(6.0206, 3);
    expect(cost.reduction.p95Db).toBeCloseTo(6.02, 2);
    expect(cost.reduction.workingDb).toBeCloseTo(6.0206, 3);
  });

  test('gain that was given before does not count as the limiter’s', () => {
    const louder = changed(sound, (x) => x * 10 ** (9 / 20));
    expect(costOf(sound, louder, 9).reduction.deepestDb).toBeLessThan(1e-4);
  });

  test('the share of the time it turned down, and how far, are those it was made with', () => {
    // 4 dB less in a quarter of every 100 ms, 2 dB less in another: away from the hits' silence nothing else.
    const loud = changed(sound, (_x, i) => 0.5 * Math.sin(0.3 * i));
    const gain = (i: number) => 10 ** (-[4, 2, 0, 0][Math.floor((i % 4800) / 1200)] / 20);
    const { reduction } = costOf(
      loud,
      changed(loud, (x, i) => x * gain(i)),
    );
    expect(reduction.deepestDb).toBeCloseTo(4, 4);
    expect(reduction.share.over01Db).toBeCloseTo(0.5, 2);
    expect(reduction.share.over1Db).toBeCloseTo(0.5, 2);
    expect(reduction.share.over3Db).toBeCloseTo(0.25, 2);
    expect(reduction.workingDb).toBeCloseTo(3, 1);
    expect(reduction.p95Db).toBeCloseTo(4, 1);
  });

  test('what was added is measured against the best scaled input', () => {
    const random = seeded(9);
    const noise = 0.001;
    const { errorDb } = costOf(
      sound,
      changed(sound, (x) => 0.7 * x + noise * (2 * random() - 1)),
    );
    let power = 0;
    for (const samples of sound.channels) for (const x of samples) power += (0.7 * x) ** 2;
    const expected = 10 * Math.log10(noise ** 2 / 3 / (power / (2 * frames) + noise ** 2 / 3));
    expect(errorDb).toBeCloseTo(expected, 1);
  });

  test('hits that are cut rise less, and lie farther off in the ear', () => {
    // The first 5 ms of every hit 8 dB down.
    const cut = (x: number, i: number) => (i % 6000 < 240 ? x * 10 ** (-8 / 20) : x);
    const { onsets, distanceSone, crestBeforeDb, crestAfterDb } = costOf(sound, changed(sound, cut));
    expect(onsets.changeDb).toBeLessThan(-2);
    expect(onsets.changeDb).toBeGreaterThan(-8);
    expect(distanceSone).toBeGreaterThan(0.05);
    expect(crestAfterDb).toBeLessThan(crestBeforeDb as number);
  });

  test('silence has no figures, and sounds of two lengths are refused', () => {
    const silence = changed(sound, () => 0);
    expect(costOf(silence, silence)).toMatchObject({
      crestBeforeDb: null,
      errorDb: null,
      distanceSone: null,
      onsets: { count: 0, changeDb: null },
      reduction: { deepestDb: 0, workingDb: 0 },
    });
    const meter = new LimitingCostMeter(sampleRate, 2, 0);
    meter.pushBefore(slicePcm(sound, 0, 9000));
    meter.pushAfter(slicePcm(sound, 0, 8000));
    expect(() => meter.finish()).toThrow(RangeError);
  });
});
