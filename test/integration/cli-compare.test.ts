import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { changeReportSchema } from '../../src/judge/change-report.ts';
import { everyroom, root } from './cli-run.ts';
import { sine, songLikeNoise, writeWavFile } from './cli-sounds.ts';

const folder = mkdtempSync(join(tmpdir(), 'cli-compare-'));
const path = (name: string) => join(folder, name);
const [before, after, other] = [path('before.wav'), path('after.wav'), path('other.wav')];
const rate = 44_100;
const lateFrames = 441;

const compare = (...args: string[]) =>
  everyroom(['compare', ...args], { env: { EVERYROOM_HOME: path('home') } });

/** Hits at uneven times, each dying away: noise alone is the same everywhere and no song. */
function beaten(noise: Float32Array): Float32Array {
  let since = 0;
  let gap = 0;
  let state = 5;
  return noise.map((sample, i) => {
    if (i % 2 === 0 && since++ >= gap) {
      state = (state * 75 + 74) % 65_537;
      gap = Math.round(rate * (0.15 + (0.5 * state) / 65_537));
      since = 0;
    }
    return sample * Math.exp((-6 * since) / rate);
  });
}

beforeAll(() => {
  spawnSync(process.execPath, ['scripts/build.mjs', 'kernels', 'engine', 'program'], { cwd: root });
  const song = beaten(songLikeNoise(20, 0.8, rate));
  writeWavFile(before, song);
  // 6.02 dB down, upside down, 10 ms later.
  const moved = new Float32Array(song.length + 2 * lateFrames);
  for (let i = 0; i < song.length; i++) moved[i + 2 * lateFrames] = -song[i] / 2;
  writeWavFile(after, moved);
  writeWavFile(other, sine(440, 8, 0.5, 2, rate));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

test('level, start and polarity are found, and nothing else is said to have changed', async () => {
  const { stdout, code } = await compare('--json', before, after);
  const report = changeReportSchema.parse(JSON.parse(stdout));
  expect(code).toBe(0);
  expect(report.before.name).toBe('before.wav');
  expect(report.same?.gainDb).toBeCloseTo(-6.02, 1);
  expect(report.same?.alignment.offsetSamples).toBeCloseTo(lateFrames, 1);
  expect(report.same?.alignment.inverted).toEqual([true, true]);
  for (const db of report.same?.tone.changeDb ?? []) expect(Math.abs(db ?? 0)).toBeLessThan(0.1);
  expect(report.sentences.join(' ')).toBe(
    'It is 6.0 LU quieter; what follows is told at equal loudness. It starts 10.00 ms later. Its polarity is flipped.',
  );
});

test('the text says the same in sentences and gives every band', async () => {
  const { stdout, stderr } = await compare(before, after);
  expect(stdout).toMatch(/^after\.wav\ncompared with before\.wav\n\n· It is 6\.0 LU quieter/);
  expect(stdout).toMatch(/^ +1000 +[−+]?0\.\d$/m);
  expect(stdout).not.toMatch(/NaN|undefined|null|[ \t]$/m);
  for (const line of stdout.split('\n')) expect(line.length).toBeLessThanOrEqual(80);
  expect(stderr).toBe('comparing before.wav → after.wav\n');
});

test('what is not the same song ends with 1 and a sentence; what cannot be read with 2', async () => {
  const unlike = await compare(before, other);
  expect(unlike.code).toBe(1);
  expect(unlike.stdout).toContain('not two versions of one recording');
  const missing = await compare(before, path('nowhere.wav'));
  expect(missing.code).toBe(2);
  expect(missing.stdout).toBe('');
  expect(missing.stderr).toContain('FILE_NOT_FOUND');
});
