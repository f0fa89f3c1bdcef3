import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import type { Pcm } from '../../src/audio/pcm.ts';
import { measureSound } from '../../src/measure/measure-sound.ts';
import { bandLevelsOf } from '../measure-parts.ts';
import { outside } from '../outside.ts';
import { seededMix } from '../seeded-sound.ts';

const measure = (pcm: Pcm) =>
  measureSound([pcm], {
    sampleRate: pcm.sampleRate,
    channels: pcm.channels.length,
    frames: pcm.channels[0].length,
  });

const sine = (sampleRate: number, hz: number, seconds: number, level: (t: number) => number): Pcm => ({
  sampleRate,
  channels: [
    Float32Array.from(
      { length: seconds * sampleRate },
      (_, n) => level(n / sampleRate) * Math.sin((2 * Math.PI * hz * n) / sampleRate),
    ),
  ],
});

test('a sine has a crest of 3.01 dB in its band, at every rate', () => {
  for (const rate of [8000, 22050, 44100, 48000, 96000, 192000])
    for (const hz of [60, 250, 1000, 3000, 9000]) {
      if (hz > 0.3 * rate) continue;
      const { crests } = bandLevelsOf(sine(rate, hz, 3, (t) => 0.5 * Math.min(1, 10 * t)));
      const { crestDb } = crests.find(({ band }) => band.lowHz <= hz && hz < band.highHz)!;
      // Peaks are read at samples, a sixth of a cycle apart at worst; the tone fades in over 0.1 s.
      expect(Math.abs(crestDb! - 3.0103), `${hz} Hz at ${rate} Hz`).toBeLessThan(0.3);
    }
});

test('PSR of a sine: its peak over its loudness, 3.01 dB plus the K-weighting', async () => {
  const { dynamics, traces, loudness } = await measure(sine(48000, 997, 8, () => 0.5));
  // A full-scale sine at 997 Hz reads -3.01 LUFS: BS.1770-5.
  expect(dynamics.psrMedianDb).toBeCloseTo(3.01, 1);
  expect(dynamics.psrMinDb).toBeCloseTo(3.01, 1);
  expect(traces.dynamics.psrDb).toHaveLength(traces.loudness.shortTermLufs.length);
  expect(loudness.integratedLufs).toBeCloseTo(-9.03, 1);
});

test('RMS spread of two levels 12 dB apart is 12 dB; of one level 0', async () => {
  const two = await measure(sine(16000, 500, 40, (t) => (t < 20 ? 0.1 : 0.1 * 10 ** (12 / 20))));
  expect(two.dynamics.rmsSpreadDb).toBeCloseTo(12, 1);
  const one = await measure(sine(16000, 500, 10, () => 0.2));
  expect(one.dynamics.rmsSpreadDb).toBeCloseTo(0, 2);
});

test('too short and silent sounds have no dynamics, and no infinity', async () => {
  for (const pcm of [sine(48000, 100, 1, () => 0), sine(48000, 100, 0.1, () => 0.3)]) {
    const { dynamics, lowEnd } = await measure(pcm);
    expect(dynamics.psrMedianDb).toBeNull();
    expect(dynamics.rmsSpreadDb).toBeNull();
    expect(JSON.stringify({ dynamics, lowEnd })).not.toMatch(/NaN|Infinity/);
  }
});

const sox = outside('sox');
const ffmpeg = outside('ffmpeg');
let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'everyroom-dynamics-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

async function file(pcm: Pcm): Promise<string> {
  const path = join(folder, `${pcm.sampleRate}.wav`);
  await writeWav(path, pcm, { sampleFormat: 'f32' });
  return path;
}

/** One line of sox's stats: overall, left, right. */
function soxStats(path: string, label: string, ...effects: string[]): number[] {
  const { stderr } = spawnSync(sox ?? 'sox', [path, '-n', ...effects, 'stats'], { encoding: 'utf8' });
  return (new RegExp(`^${label} +(.*)$`, 'm').exec(stderr)?.[1] ?? '').trim().split(/ +/).map(Number);
}

test.skipIf(!sox)(
  'crest by band agrees with sox behind the same filters, within 0.5 dB',
  async () => {
    for (const [seed, rate] of [
      [4, 44100],
      [5, 48000],
      [6, 96000],
    ]) {
      const pcm = seededMix(seed, { sideDb: -8, seconds: 6, sampleRate: rate });
      const path = await file(pcm);
      const { crests } = bandLevelsOf(pcm);
      for (const { band, crestDb } of crests) {
        const twice = (kind: string, hz: number) =>
          hz < 0.45 * rate ? [kind, '-2', `${hz}`, '0.70711q', kind, '-2', `${hz}`, '0.70711q'] : [];
        const effects = [...twice('highpass', band.lowHz), ...twice('lowpass', band.highHz)];
        const peaks = soxStats(path, 'Pk lev dB', ...effects);
        const levels = soxStats(path, 'RMS lev dB', ...effects);
        const loudest = levels[1] >= levels[2] ? 1 : 2;
        expect(
          Math.abs(crestDb! - (peaks[loudest] - levels[loudest])),
          `${band.name} at ${rate} Hz`,
        ).toBeLessThan(0.5);
      }
    }
  },
  60_000,
);

test.skipIf(!ffmpeg)('crest of the whole agrees with ffmpeg astats, within 0.01 dB', async () => {
  const pcm = seededMix(8, { sideDb: -8, seconds: 5, sampleRate: 48000 });
  const path = await file(pcm);
  const { stderr } = spawnSync(
    ffmpeg ?? 'ffmpeg',
    ['-hide_banner', '-i', path, '-af', 'astats=measure_perchannel=all', '-f', 'null', '-'],
    { encoding: 'utf8' },
  );
  const read = (label: string) =>
    [...stderr.matchAll(new RegExp(`${label}: (-?[\\d.]+)`, 'g'))]
      .slice(0, 2)
      .map((match) => Number(match[1]));
  const levels = read('RMS level dB');
  const crest = read('Crest factor')[levels[0] >= levels[1] ? 0 : 1];
  const { peak } = await measure(pcm);
  expect(peak.crestDb).toBeCloseTo(20 * Math.log10(crest), 2);
});
