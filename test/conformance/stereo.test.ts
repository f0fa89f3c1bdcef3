import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import type { Pcm } from '../../src/audio/pcm.ts';
import { stereoOf } from '../measure-parts.ts';
import { outside } from '../outside.ts';
import { seeded, seededMix } from '../seeded-sound.ts';

const rates = [8000, 44100, 192000];
const seconds = 2;

const noise = (seed: number, frames: number, level = 0.1) => {
  const random = seeded(seed);
  return Float32Array.from(
    { length: frames },
    () => level * (random() + random() + random() + random() - 2) * 1.732,
  );
};

/** A tone in both channels, the right one turned by an angle. */
function turnedTone(rate: number, hz: number, degrees: number): Pcm {
  const tone = (turn: number) =>
    Float32Array.from(
      { length: rate * seconds },
      (_, n) => 0.3 * Math.sin((2 * Math.PI * hz * n) / rate + turn),
    );
  return { sampleRate: rate, channels: [tone(0), tone((Math.PI * degrees) / 180)] };
}

/** The band that holds a frequency. */
const bandAt = (pcm: Pcm, hz: number) =>
  stereoOf(pcm)!.bands.find(({ lowHz, highHz }) => lowHz <= hz && hz < highHz)!;

describe('values worked out by hand', () => {
  // Two equal tones turned by an angle a: correlation cos a, sum of power (1 + cos a)/2 of what it was.
  test.for([
    [0, 1, 0, -60],
    [60, 0.5, 1.2494, -4.7712],
    [90, 0, 3.0103, 0],
    [120, -0.5, 6.0206, 4.7712],
    [180, -1, 60, 60],
  ])(
    'turned by %d degrees: correlation %d, %d dB lost in mono, side %d dB over mid',
    ([degrees, r, loss, side]) => {
      for (const rate of rates)
        for (const hz of [70, 300, 1100]) {
          const pcm = turnedTone(rate, hz, degrees);
          const whole = stereoOf(pcm)!;
          const band = bandAt(pcm, hz);
          for (const figures of [whole, band]) {
            expect(figures.correlation).toBeCloseTo(r, 3);
            expect(figures.foldLossDb).toBeCloseTo(loss, 1);
            expect(figures.sideToMidDb).toBeCloseTo(side, 1);
            expect(figures.balanceDb).toBeCloseTo(0, 2);
          }
        }
    },
  );

  test('one source at two levels: correlation 1, balance the ratio, loss by (a + b)^2 / 2(a^2 + b^2)', () => {
    for (const rate of rates)
      for (const ratio of [0.9, 0.5, 0.1]) {
        const left = noise(rate, rate * seconds);
        const { correlation, balanceDb, foldLossDb, bands } = stereoOf({
          sampleRate: rate,
          channels: [left, left.map((x) => ratio * x)],
        })!;
        const loss = -10 * Math.log10((1 + ratio) ** 2 / (2 * (1 + ratio * ratio)));
        for (const figures of [{ correlation, balanceDb, foldLossDb }, ...bands]) {
          expect(figures.correlation).toBeCloseTo(1, 4);
          expect(figures.balanceDb).toBeCloseTo(20 * Math.log10(ratio), 2);
          expect(figures.foldLossDb).toBeCloseTo(loss, 2);
        }
      }
  });

  test('a share of common noise: correlation is that share of the power', () => {
    const rate = 48000;
    const [common, a, b] = [1, 2, 3].map((seed) => noise(seed, rate * 10));
    for (const share of [0, 0.25, 0.8]) {
      const mixed = (own: Float32Array) =>
        own.map((x, n) => Math.sqrt(share) * common[n] + Math.sqrt(1 - share) * x);
      const result = stereoOf({ sampleRate: rate, channels: [mixed(a), mixed(b)] })!;
      expect(Math.abs(result.correlation! - share)).toBeLessThan(0.01);
      // Bands hold fewer cycles: four standard deviations of 10 s of noise 100 Hz wide.
      for (const { correlation } of result.bands) expect(Math.abs(correlation! - share)).toBeLessThan(0.13);
      expect(result.foldLossDb).toBeCloseTo(-10 * Math.log10((1 + share) / 2), 1);
    }
  });

  test('bands are told apart: mono bass under a treble that is out of phase', () => {
    const rate = 48000;
    const bass = turnedTone(rate, 60, 0);
    const treble = turnedTone(rate, 9000, 180);
    const pcm = {
      sampleRate: rate,
      channels: bass.channels.map((x, c) => x.map((v, n) => v + 0.1 * treble.channels[c][n])),
    };
    expect(bandAt(pcm, 60).foldLossDb).toBeCloseTo(0, 2);
    expect(bandAt(pcm, 9000).foldLossDb).toBe(60);
    expect(bandAt(pcm, 9000).correlation).toBeCloseTo(-1, 3);
  });

  test('delays of parts of a sample are found, at every rate', () => {
    for (const rate of [22050, 48000, 96000])
      for (const delay of [0.25, 1.5, -7.75, 31.4]) {
        const frames = rate;
        const source = noise(rate, frames + 200);
        // Between the samples: 64 of them through a sinc under a raised cosine.
        const at = (late: number) =>
          Float32Array.from({ length: frames }, (_, n) => {
            const middle = n + 100 - late;
            let sum = 0;
            for (let k = Math.ceil(middle - 32); k < middle + 32; k++) {
              const x = Math.PI * (middle - k);
              sum += source[k] * (x === 0 ? 1 : Math.sin(x) / x) * 0.5 * (1 + Math.cos(x / 32));
            }
            return sum;
          });
        const { delaySamples } = stereoOf({ sampleRate: rate, channels: [at(0), at(delay)] })!;
        expect(Math.abs(delaySamples! - delay)).toBeLessThan(0.05);
      }
  }, 60_000);

  test('mono has no stereo; a silent side has a balance and no correlation; silence has neither', () => {
    const sound = noise(1, 48000);
    const nothing = new Float32Array(48000);
    expect(stereoOf({ sampleRate: 48000, channels: [sound] })).toBeNull();
    const half = stereoOf({ sampleRate: 48000, channels: [sound, nothing] })!;
    expect(half).toMatchObject({
      correlation: null,
      balanceDb: -60,
      silentChannels: [1],
      delaySamples: null,
    });
    expect(half.foldLossDb).toBeCloseTo(3.0103, 3);
    const silent = stereoOf({ sampleRate: 48000, channels: [nothing, nothing] })!;
    expect(silent).toMatchObject({
      correlation: null,
      balanceDb: null,
      silentChannels: [],
      invertedShare: null,
    });
    const six = [sound, sound, sound, nothing, sound, nothing];
    expect(stereoOf({ sampleRate: 48000, channels: six })).toMatchObject({
      identical: true,
      silentChannels: [3, 5],
    });
  });
});

const sox = outside('sox');
let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'everyroom-stereo-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** RMS levels that sox gives: overall or the channels one by one, dB. */
function soxRmsDb(path: string, ...effects: string[]): number[] {
  const { stderr } = spawnSync(sox ?? 'sox', [path, '-n', ...effects, 'stats'], { encoding: 'utf8' });
  const line = /^RMS lev dB +(.*)$/m.exec(stderr)?.[1] ?? '';
  return line.trim().split(/ +/).map(Number);
}

test.skipIf(!sox)(
  'balance and loss in mono agree with sox, whole and by band, within 0.1 dB',
  async () => {
    for (const [seed, rate, sideDb] of [
      [1, 44100, -12],
      [2, 48000, -6],
      [3, 96000, 0],
    ]) {
      const pcm = seededMix(seed, { sideDb, seconds: 8, sampleRate: rate });
      const path = join(folder, `${seed}.wav`);
      await writeWav(path, pcm, { sampleFormat: 'f32' });
      const result = stereoOf(pcm)!;
      const bands = result.bands.map((band) => ({
        ...band,
        effects: ['sinc', '-n', '32767', `${band.lowHz}-${Math.min(band.highHz, 0.499 * rate)}`],
      }));
      for (const { balanceDb, foldLossDb, effects, name } of [
        { ...result, effects: [], name: 'whole' },
        ...bands,
      ]) {
        const [overall, left, right] = soxRmsDb(path, ...effects);
        const [mono] = soxRmsDb(path, ...effects, 'remix', '1,2');
        expect(Math.abs(right - left - balanceDb!), `${name} balance`).toBeLessThan(0.1);
        expect(Math.abs(overall - mono - foldLossDb!), `${name} loss`).toBeLessThan(0.1);
      }
    }
  },
  60_000,
);
