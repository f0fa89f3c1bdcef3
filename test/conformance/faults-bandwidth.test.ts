import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { outside } from '../outside.ts';
import { between, cases, chance, countOf, faultsOf, music, seeds } from './faults-sound.ts';

const ffmpeg = outside('ffmpeg');
const sox = outside('sox');
const folder = mkdtempSync(join(tmpdir(), 'everyroom-bandwidth-'));
afterAll(() => rmSync(folder, { recursive: true }));

const rate = 44_100;
const seconds = 1.5;
const frames = seconds * rate;

/** Music under some room noise; dull from some frequency on by 6, 12, 24 or 48 dB an octave where `isDull`. */
function piece(seed: number, isDull: boolean): Float32Array {
  const next = chance(seed + 100);
  const samples = music(seed, seconds, rate).map((x) => 0.7 * x + 0.003 * (next() - 0.5));
  if (!isDull) return samples;
  const share = 1 - Math.exp((-2 * Math.PI * between(next, 3000, 16_000)) / rate);
  for (let pass = [1, 2, 4, 8][seed % 4]; pass > 0; pass--) {
    let state = 0;
    for (let n = 0; n < samples.length; n++) {
      state += share * (samples[n] - state);
      samples[n] = state;
    }
  }
  return samples;
}

/** All pieces in a row, through programs, and cut up again: coding one long file takes less time than coding 200. */
function through(
  pieces: readonly Float32Array[],
  toRate: number,
  run: (from: string, to: string) => void,
): Float32Array[] {
  const [from, to] = [join(folder, 'from.f32'), join(folder, 'to.f32')];
  writeFileSync(from, Buffer.concat(pieces.map((x) => Buffer.from(x.buffer, x.byteOffset, x.byteLength))));
  run(from, to);
  const bytes = readFileSync(to);
  const all = new Float32Array(bytes.buffer, bytes.byteOffset, Math.floor(bytes.length / 4));
  const length = (frames * toRate) / rate;
  return pieces.map((_, i) => all.slice(Math.round(i * length), Math.round((i + 1) * length)));
}

const rawAt = (hz: number) => ['-f', 'f32le', '-ar', `${hz}`, '-ac', '1'];

function coded(pieces: readonly Float32Array[], name: string, options: readonly string[]): Float32Array[] {
  return through(pieces, rate, (from, to) => {
    const file = join(folder, name);
    execFileSync('ffmpeg', ['-v', 'error', '-y', ...rawAt(rate), '-i', from, ...options, file]);
    // Decoded to 16 bits, as such files mostly come along.
    const wav = join(folder, 'decoded.wav');
    execFileSync('ffmpeg', ['-v', 'error', '-y', '-i', file, '-c:a', 'pcm_s16le', wav]);
    execFileSync('ffmpeg', ['-v', 'error', '-y', '-i', wav, ...rawAt(rate), to]);
  });
}

describe(`bandwidth, ${cases} seeded pieces`, () => {
  test('music as it is, and music made dull by filters of 6 to 48 dB an octave: false alarms in less than 1 %', () => {
    for (const isDull of [false, true])
      expect(countOf((seed) => faultsOf([piece(seed, isDull)], rate).bandwidth.tells !== null)).toBeLessThan(
        0.01 * cases,
      );
  });

  test.skipIf(!ffmpeg).for([
    // One channel at these rates is cut like two channels at twice the rate.
    ['MP3 (LAME)', 'x.mp3', ['-c:a', 'libmp3lame', '-b:a', '64k'], 0],
    ['AAC (ffmpeg)', 'x.m4a', ['-c:a', 'aac', '-b:a', '64k'], 0],
  ] as const)('%s at 128 kb/s for two channels', ([, name, options, bound]) => {
    const half = seeds.slice(0, cases / 2).map((seed) => piece(seed, false));
    const missed = coded(half, name, options).filter(
      (x) => faultsOf([x], rate).bandwidth.tells !== 'lossy',
    ).length;
    expect(missed).toBeLessThanOrEqual(bound);
  });

  test.skipIf(!sox).for([48_000, 88_200, 96_000])('44.1 kHz made into %i Hz by sox', (toRate) => {
    const some = seeds.slice(0, 70).map((seed) => piece(seed, false));
    const raw = (hz: number) => ['-t', 'raw', '-e', 'floating-point', '-b', '32', '-c', '1', '-r', `${hz}`];
    const made = through(some, toRate, (from, to) =>
      execFileSync('sox', [...raw(rate), from, ...raw(toRate), to, 'rate', '-v', `${toRate}`]),
    );
    const missed = made.filter((x) => {
      const { tells, sourceRateHz } = faultsOf([x], toRate).bandwidth;
      return tells !== 'upsampled' || sourceRateHz !== rate;
    }).length;
    expect(missed).toBe(0);
  });
});
