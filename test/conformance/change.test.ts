import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { readSound } from '../../src/audio/files/read-sound.ts';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import { changeBetween } from '../../src/compare/change.ts';
import type { SameSong } from '../../src/compare/change-result.ts';
import { thirdOctaves } from '../../src/measure/third-octaves.ts';
import { biquadGain } from '../../src/signal/k-weighting.ts';
import { outside } from '../outside.ts';
import { seeded } from '../seeded-sound.ts';
import { bell, mapChannels, play } from './change-sound.ts';

const sox = outside('sox');
const folder = mkdtempSync(join(tmpdir(), 'change-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const rate = 44_100;
const random = seeded(11);
/** Music-like sound over a bed of noise, so that there is something in every band. */
const original = mapChannels(play(10, { seconds: 8, rate }), (samples) => {
  let slow = 0;
  return samples.map((x) => {
    slow = 0.98 * slow + 0.02 * (2 * random() - 1);
    return 0.5 * x + slow + 0.01 * (2 * random() - 1);
  });
});

/** What sox makes of the original, compared with it. */
async function afterSox(
  name: string,
  output: readonly string[],
  effects: readonly string[],
): Promise<SameSong> {
  const [from, to] = [join(folder, 'original.wav'), join(folder, `${name}.wav`)];
  await writeWav(from, original, { sampleFormat: 'f32' });
  execFileSync(sox!, ['-D', from, '-b', '32', '-e', 'floating-point', ...output, to, ...effects]);
  const change = await changeBetween(original, (await readSound(to)).pcm);
  expect(change.reason).toBeNull();
  expect(change.similarity).toBeGreaterThan(0.95);
  return change.same!;
}

describe('change between two versions, the second made by sox', () => {
  test.skipIf(!sox)('speed 1.0001 and 0.99985: drift of -99.99 and +150.02 ppm', async () => {
    for (const speed of [1.0001, 0.99985]) {
      const { alignment, tone } = await afterSox('speed', [], ['speed', String(speed)]);
      expect(Math.abs(alignment.driftPpm - (1 / speed - 1) * 1e6)).toBeLessThan(0.2);
      expect(Math.abs(alignment.offsetSamples)).toBeLessThan(0.05);
      tone.changeDb.slice(2, 29).forEach((change) => {
        expect(Math.abs(change!)).toBeLessThan(0.1);
      });
    }
  });

  test.skipIf(!sox)('brought to 48 kHz: no drift, no offset, the same tone', async () => {
    const { alignment, tone, gainDb } = await afterSox('rate', ['-r', '48000'], []);
    expect(Math.abs(alignment.driftPpm)).toBeLessThan(0.2);
    expect(Math.abs(alignment.offsetSamples)).toBeLessThan(0.05);
    expect(Math.abs(gainDb)).toBeLessThan(0.02);
    tone.changeDb.slice(2, 29).forEach((change) => {
      expect(Math.abs(change!)).toBeLessThan(0.1);
    });
  });

  test.skipIf(!sox)('gain, padding, trimming, polarity and exchanged channels', async () => {
    const { alignment, length, gainDb } = await afterSox(
      'moved',
      [],
      ['remix', '2', '1', 'vol', '-0.5', 'trim', '0', '7.5', 'pad', '0.25', '0'],
    );
    expect(alignment).toMatchObject({ swapped: true, inverted: [true, true] });
    expect(alignment.offsetSamples).toBeCloseTo(0.25 * rate, 2);
    expect(length.headSeconds).toBeCloseTo(0.25, 6);
    expect(length.tailSeconds).toBeCloseTo(-0.5, 6);
    expect(gainDb).toBeCloseTo(20 * Math.log10(0.5), 2);
  });

  test.skipIf(!sox)('an equaliser: its curve within 0.3 dB a band', async () => {
    const { tone, gainDb } = await afterSox('equaliser', [], ['equalizer', '2000', '0.9q', '-5']);
    const filter = bell(2000, -5, 0.9, rate);
    thirdOctaves(rate).forEach(({ lowHz, highHz, nominalHz }, i) => {
      if (nominalHz < 40 || nominalHz > 16_000) return;
      const expected = 20 * Math.log10(biquadGain(filter, Math.sqrt(lowHz * highHz), rate));
      expect(Math.abs(tone.changeDb[i]! + gainDb - expected)).toBeLessThan(0.3);
    });
  });

  test.skipIf(!sox)('a limiter takes crest and peak-to-loudness away', async () => {
    const { dynamics, gainDb } = await afterSox('limited', [], ['gain', '-l', '14']);
    expect(gainDb).toBeGreaterThan(8);
    expect(dynamics.plrDb!).toBeLessThan(-1);
    expect(dynamics.crestDb!).toBeLessThan(-1);
  });
});
