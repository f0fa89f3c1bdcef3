import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { bell, filtered, mapChannels, play } from '../../test/conformance/change-sound.ts';
import { seeded } from '../../test/seeded-sound.ts';
import type { Pcm } from '../audio/pcm.ts';
import { slicePcm } from '../audio/pcm.ts';
import { thirdOctaves } from '../measure/third-octaves.ts';
import { biquadGain } from '../signal/k-weighting.ts';
import { changeBetween } from './change.ts';
import { layOver } from './change-align.ts';
import type { SameSong } from './change-result.ts';

const rate = 16_000;
const seconds = 8;
const original = play(1, { seconds, rate });

async function same(a: Pcm, b: Pcm): Promise<SameSong> {
  const change = await changeBetween(a, b);
  expect(change.reason).toBeNull();
  return change.same!;
}

const louder = (pcm: Pcm, gain: number) => mapChannels(pcm, (samples) => samples.map((x) => x * gain));

describe('changeBetween', () => {
  test('a copy is the same in everything', async () => {
    const change = await changeBetween(original, original);
    expect(change.similarity).toBeGreaterThan(0.9999);
    const { alignment, length, gainDb, tone, sections, dynamics, width, unlike } = change.same!;
    expect(Math.abs(alignment.offsetSamples)).toBeLessThan(1e-6);
    expect(Math.abs(alignment.driftPpm)).toBeLessThan(1e-6);
    expect(alignment).toMatchObject({ inverted: [false, false], swapped: false });
    expect(length).toEqual({
      shared: { startSeconds: 0, endSeconds: seconds },
      headSeconds: expect.closeTo(0, 9),
      tailSeconds: expect.closeTo(0, 9),
      headSilent: true,
      tailSilent: true,
    });
    expect(gainDb).toBe(0);
    for (const change of tone.changeDb) expect(change === null || change === 0).toBe(true);
    expect(sections.map(({ levelDb }) => levelDb)).toEqual(sections.map(() => 0));
    expect(dynamics).toEqual({ crestDb: 0, plrDb: 0, rangeLu: 0, samplePeakDb: 0, truePeakDb: 0 });
    expect(width!.sideToMidDb).toBe(0);
    expect(unlike).toEqual([]);
  });

  test('delays to a hundredth of a sample, drift to 0.2 ppm, gain to 0.02 dB, polarity', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.double({ min: -3000, max: 3000, noNaN: true }),
        fc.oneof(fc.constant(0), fc.double({ min: -200, max: 200, noNaN: true })),
        fc.double({ min: -20, max: 12, noNaN: true }),
        fc.boolean(),
        async (delaySamples, driftPpm, gainDb, inverted) => {
          const gain = 10 ** (gainDb / 20) * (inverted ? -1 : 1);
          const late = louder(play(1, { seconds, rate, delaySamples, driftPpm }), gain);
          const found = await same(original, late);
          // The line is drawn through the middle of the song; its beginning is known almost as well.
          expect(Math.abs(found.alignment.offsetSamples - delaySamples)).toBeLessThan(0.01);
          expect(Math.abs(found.alignment.driftPpm - driftPpm)).toBeLessThan(0.2);
          expect(Math.abs(found.gainDb - gainDb)).toBeLessThan(0.02);
          expect(found.alignment.inverted).toEqual([inverted, inverted]);
          for (const change of found.tone.changeDb)
            if (change !== null) expect(Math.abs(change)).toBeLessThan(0.3);
        },
      ),
      { seed: 4, numRuns: 8, endOnFailure: true },
    );
  }, 120_000);

  test('one channel upside down, and left and right changed places', async () => {
    const one = await same(
      original,
      mapChannels(original, (samples, c) => (c === 1 ? samples.map((x) => -x) : samples)),
    );
    expect(one.alignment.inverted).toEqual([false, true]);
    expect(one.width!.sideToMidDb).toBeCloseTo(0, 3);
    const [left, right] = original.channels;
    const turned = await same(original, { sampleRate: rate, channels: [right, left] });
    expect(turned.alignment).toMatchObject({ swapped: true, inverted: [false, false] });
  });

  test('what was added and cut at the ends', async () => {
    const silence = new Float32Array(2 * rate);
    const padded = await same(
      original,
      mapChannels(original, (samples) => Float32Array.from([...silence, ...samples.subarray(0, 6 * rate)])),
    );
    expect(padded.length.headSeconds).toBeCloseTo(2, 5);
    expect(padded.length.headSilent).toBe(true);
    expect(padded.length.tailSeconds).toBeCloseTo(-2, 5);
    expect(padded.length.tailSilent).toBe(false);
    expect(padded.length.shared.endSeconds).toBeCloseTo(6, 3);
    const cut = await same(original, slicePcm(original, 3 * rate, seconds * rate));
    expect(cut.length.headSeconds).toBeCloseTo(-3, 5);
    expect(cut.length.headSilent).toBe(false);
    expect(cut.gainDb).toBeCloseTo(0, 2);
  });

  test('an equaliser within 0.3 dB a band, in noise that fills every band', async () => {
    const random = seeded(5);
    const bed = mapChannels(original, (samples) => {
      let slow = 0;
      return samples.map(() => {
        slow = 0.97 * slow + 0.1 * (2 * random() - 1);
        return slow + 0.02 * (2 * random() - 1);
      });
    });
    for (const [hertz, gainDb, q] of [
      [100, -6, 0.7],
      [1000, 4, 1],
      [4000, 3, 0.7],
    ]) {
      const filter = bell(hertz, gainDb, q, rate);
      const { tone, gainDb: loudness } = await same(
        bed,
        mapChannels(bed, (samples) => filtered(samples, filter)),
      );
      thirdOctaves(rate).forEach(({ lowHz, highHz, nominalHz }, i) => {
        if (nominalHz < 40 || highHz > rate / 2) return;
        const steps = 20;
        let power = 0;
        for (let s = 0; s < steps; s++)
          power += biquadGain(filter, lowHz * (highHz / lowHz) ** ((s + 0.5) / steps), rate) ** 2 / steps;
        expect(Math.abs(tone.changeDb[i]! + loudness - 10 * Math.log10(power))).toBeLessThan(0.3);
      });
    }
  });

  test('width: the side 6 dB up is read as 6 dB, and by band where only the highs were widened', async () => {
    const [left, right] = original.channels;
    const wider = (side: Float32Array): Pcm => ({
      sampleRate: rate,
      channels: [
        left.map((x, i) => (x + right[i]) / 2 + side[i]),
        left.map((x, i) => (x + right[i]) / 2 - side[i]),
      ],
    });
    const side = left.map((x, i) => (x - right[i]) / 2);
    const all = await same(original, wider(side.map((x) => 2 * x)));
    expect(all.width!.sideToMidDb).toBeCloseTo(6.02, 1);
    for (const change of all.width!.sideToMidByBandDb.slice(8, 24)) expect(change).toBeCloseTo(6.02, 1);
  });

  test('squeezing loud parts shows in dynamics and in the sections', async () => {
    const long = play(3, { seconds: 14, rate });
    const swelling = mapChannels(long, (samples) => samples.map((x, n) => x * (n < 7 * rate ? 0.2 : 1.2)));
    const squeezed = mapChannels(swelling, (samples) => samples.map((x) => Math.tanh(6 * x) / 6));
    const { dynamics, sections, gainDb } = await same(swelling, squeezed);
    expect(dynamics.crestDb!).toBeLessThan(-1);
    expect(dynamics.rangeLu!).toBeLessThan(-0.2);
    expect(gainDb).toBeLessThan(0);
    expect(sections.length).toBeGreaterThanOrEqual(2);
    expect(sections[0].levelDb).toBeGreaterThan(sections.at(-1)!.levelDb + 0.3);
  });

  test('mono against stereo, and 24 kHz against 16 kHz', async () => {
    const mono = await same(play(1, { seconds, rate, channels: 1 }), original);
    expect(mono.width).toBeNull();
    expect(Math.abs(mono.alignment.offsetSamples)).toBeLessThan(0.01);
    const faster = await same(original, play(1, { seconds, rate: 24_000, delaySamples: 30.3 }));
    expect(Math.abs(faster.alignment.offsetSamples - 30.3 / 1.5)).toBeLessThan(0.02);
    expect(Math.abs(faster.alignment.driftPpm)).toBeLessThan(0.2);
  });

  test('says where another take was cut in', async () => {
    const other = play(99, { seconds, rate });
    const edited = mapChannels(original, (samples, c) =>
      samples.map((x, n) => (n > 3.5 * rate && n < 5.5 * rate ? other.channels[c][n] : x)),
    );
    const { unlike, alignment } = await same(original, edited);
    expect(alignment.offsetSamples).toBeCloseTo(0, 1);
    expect(unlike.length).toBeGreaterThanOrEqual(1);
    for (const { startSeconds, endSeconds } of unlike) {
      expect(endSeconds).toBeGreaterThan(3.5);
      expect(startSeconds).toBeLessThan(5.5);
    }
  });

  test('silence, nothing, one sample and unrelated sounds are refused with a sentence', async () => {
    const silence: Pcm = { sampleRate: rate, channels: [new Float32Array(rate)] };
    for (const [a, b] of [
      [original, silence],
      [silence, original],
      [{ sampleRate: rate, channels: [new Float32Array(0)] }, original],
      [original, play(2, { seconds, rate })],
      [original, { sampleRate: rate, channels: [Float32Array.of(0.5)] }],
    ] satisfies [Pcm, Pcm][]) {
      const change = await changeBetween(a, b);
      expect(change.same).toBeNull();
      expect(change.reason).toMatch(/\.$/);
      expect(change.similarity).toBeLessThan(0.3);
    }
  });

  test('is cancelled', async () => {
    const stop = new AbortController();
    stop.abort(new Error('enough'));
    await expect(changeBetween(original, original, { signal: stop.signal })).rejects.toThrow('enough');
  });
});

describe('layOver', () => {
  test('100 seeded masters are recognised, 100 other songs are not', async () => {
    let [missed, mistaken] = [0, 0];
    let [least, most] = [1, 0];
    const playing = { seconds: 4, rate: 8000, channels: 1 as const };
    let before = play(100, playing);
    for (let seed = 1; seed <= 100; seed++) {
      const random = seeded(1000 + seed);
      const mix = play(seed, playing);
      const late = play(seed, { ...playing, delaySamples: 400 * random() });
      const drive = 1 + 8 * random();
      const filter = bell(100 * 2 ** (5 * random()), 12 * random() - 6, 0.7, playing.rate);
      const master = mapChannels(late, (samples) =>
        filtered(samples, filter).map((x) => Math.tanh(drive * x)),
      );
      const likeness = (await layOver(mix, master, {}))?.similarity ?? 0;
      const other = (await layOver(mix, before, {}))?.similarity ?? 0;
      before = mix;
      missed += Number(likeness < 0.35);
      mistaken += Number(other >= 0.35);
      [least, most] = [Math.min(least, likeness), Math.max(most, other)];
    }
    expect({ missed, mistaken }).toEqual({ missed: 0, mistaken: 0 });
    // Far apart: the limit between them may lie anywhere in the middle.
    expect(least).toBeGreaterThan(0.7);
    expect(most).toBeLessThan(0.15);
  }, 120_000);
});
