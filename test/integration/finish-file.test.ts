import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdir, mkdtemp, readdir, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { readSound } from '../../src/audio/files/read-sound.ts';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import { frameCount, type Pcm } from '../../src/audio/pcm.ts';
import { type FinishGoals, finishFile } from '../../src/bench/finish-file.ts';
import { Pool } from '../../src/bench/pool.ts';
import { openResults, type Results } from '../../src/bench/store/results.ts';
import { addPart, type Chain, emptyChain } from '../../src/finish/chain.ts';
import type { PartKindId } from '../../src/finish/kinds.ts';
import { findFormat } from '../../src/survive/formats.ts';
import { levelsByFfmpeg } from '../ffmpeg-levels.ts';
import { heightOf } from '../finish-sound.ts';
import { outside } from '../outside.ts';
import { seededMix } from '../seeded-sound.ts';

let folder: string;
let pool: Pool;
let results: Results;
let song: string;
let runs = 0;

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'everyroom-finish-'));
  pool = new Pool({ size: 2, scratchPath: folder });
  results = await openResults(join(folder, 'home'));
  song = await written('song', seededMix(3, { sideDb: -8, seconds: 4, sampleRate: 44_100 }), 's24');
});
afterAll(async () => {
  await pool.close();
  await results.close();
  await rm(folder, { recursive: true });
});

async function written(name: string, pcm: Pcm, sampleFormat: 's24' | 'f32' = 'f32'): Promise<string> {
  const path = join(folder, `${name}.wav`);
  await writeWav(path, pcm, { sampleFormat });
  return path;
}

const output = (program: string, args: string[]) => execFileSync(program, args, { maxBuffer: 1e9 });

const chainOf = (...parts: readonly [PartKindId, object?][]): Chain =>
  parts.reduce<Chain>((chain, [kind, settings]) => addPart(chain, kind, settings), emptyChain);

async function finished(path: string, chain: Chain, goals: FinishGoals = {}, kept = true) {
  const scratchPath = join(folder, `run-${runs++}`);
  await mkdir(scratchPath);
  return finishFile(path, { chain, goals, scratchPath }, { pool, results: kept ? results : null });
}

const peakDb = ({ channels }: Pcm): number => 20 * Math.log10(Math.max(...channels.map((x) => heightOf(x))));

describe('what is written, read by others', () => {
  test('a loudness and a ceiling are reached, the length is kept to the sample, the word length is the dither’s', async () => {
    const chain = chainOf(
      ['sub-filter', { hertz: 25 }],
      ['limiter', { ceilingDbtp: -1 }],
      ['dither', { bits: '16' }],
    );
    const { report, path } = await finished(song, chain, { loudnessLufs: -10, ceilingDbtp: -1.5 });
    const { info, pcm } = await readSound(path);
    expect(info).toMatchObject({ sampleRate: 44_100, channels: 2, bitDepth: 16 });
    expect(frameCount(pcm)).toBe(4 * 44_100);
    expect(Math.abs((report.made.integratedLufs as number) + 10)).toBeLessThan(0.03);
    // At 16x with 96 taps, by the tests' own meter; 0.001 dB for the dither.
    expect(peakDb(pcm)).toBeLessThan(-1.5 + 0.021);
    expect(
      createHash('sha256')
        .update(await readFile(path))
        .digest('hex'),
    ).toBe(report.made.sha256);
    expect(report.chain.parts.map((part) => (part as { kind: string }).kind)).toEqual([
      'sub-filter',
      'limiter',
      'dither',
    ]);
    if (outside('ffmpeg')) {
      const { lufs, dbtp } = levelsByFfmpeg('-i', path);
      expect(Math.abs(lufs + 10)).toBeLessThan(0.11);
      expect(dbtp).toBeLessThanOrEqual(-1.4);
    }
    if (outside('sox')) {
      const about = (what: string) => String(output('sox', ['--i', what, path])).trim();
      expect([about('-s'), about('-b'), about('-r'), about('-c')]).toEqual(['176400', '16', '44100', '2']);
    }
  });

  test('a rate part gives another rate, floats stay floats, and nothing is added without need', async () => {
    const { report, path } = await finished(song, chainOf(['rate', { hertz: '48000' }]), { bits: '32f' });
    const { info, pcm } = await readSound(path);
    expect(info).toMatchObject({ sampleRate: 48_000, codec: 'PCM float' });
    expect(frameCount(pcm)).toBe(4 * 48_000);
    expect(report).toMatchObject({ cost: null, ceilingDbtp: null, steps: [], survive: null });
    expect(report.sentences).toHaveLength(1);
  });

  test('what was found before is rendered again to the same bytes', async () => {
    const chain = chainOf(['limiter', { gainDb: 4 }]);
    const first = await finished(song, chain, { loudnessLufs: -11 });
    const again = await finished(song, chain, { loudnessLufs: -11 });
    expect(again.report).toEqual(first.report);
    expect(again.path).not.toBe(first.path);
    expect(Buffer.compare(await readFile(again.path), await readFile(first.path))).toBe(0);
  });

  test('the ceiling found for formats holds for the bytes that were written, decoded by others too', async () => {
    const formats = ['mp3-192', 'aac-128'].map((id) => findFormat(id)!);
    const chain = chainOf(['limiter', { ceilingDbtp: -1 }], ['dither', { bits: '24' }]);
    const { report, path } = await finished(song, chain, {
      loudnessLufs: -9,
      survive: { formats, limitDbtp: 0 },
    });
    const survive = report.survive!;
    expect(survive.verified).toBe(true);
    expect(survive.formats.map(({ formatId }) => formatId)).toEqual(['mp3-192', 'aac-128']);
    for (const { truePeakDbtp } of survive.formats) expect(truePeakDbtp).toBeLessThanOrEqual(0.001);
    expect(report.ceilingDbtp).toBeLessThan(0);
    // No more than 0.15 dB above it a format does go over, unless there is nothing above.
    const over = survive.tried.filter(({ highestDbtp }) => highestDbtp! > 0.001);
    expect(Math.min(...over.map(({ ceilingDbtp }) => ceilingDbtp)) - report.ceilingDbtp!).toBeLessThan(
      0.1501,
    );
    expect(survive.encodes).toBeLessThanOrEqual(10);
    expect(Math.abs((report.made.integratedLufs as number) + 9)).toBeLessThan(0.03);
    // Each tenth costs something, and never more than a tenth.
    for (let i = 1; i < report.steps.length; i++) {
      const cost = report.steps[i].lostLu! - report.steps[i - 1].lostLu!;
      expect(cost).toBeGreaterThan(0);
      expect(cost).toBeLessThan(0.1);
    }
    if (!outside('lame') || !outside('mpg123')) return;
    const mp3 = join(folder, 'out.mp3');
    output('lame', ['--quiet', '-b', '192', path, mp3]);
    const bytes = output('mpg123', ['-q', '-e', 'f32', '-s', mp3]);
    const all = new Float32Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length));
    const channels = [0, 1].map((c) => all.filter((_x, i) => i % 2 === c));
    expect(peakDb({ sampleRate: 44_100, channels })).toBeLessThan(0.1);
  });
});

describe('sounds that are hardly any', () => {
  const constant = (value: number | ((i: number) => number), frames: number, sampleRate = 44_100): Pcm => ({
    sampleRate,
    channels: [
      Float32Array.from({ length: frames }, (_, i) => (typeof value === 'number' ? value : value(i))),
    ],
  });
  const chain = chainOf(
    ['sub-filter', { hertz: 20 }],
    ['compressor', { ratio: 2, thresholdDbfs: -20 }],
    ['limiter', { gainDb: 6, ceilingDbtp: -1 }],
  );
  const unreachable = (path: string) =>
    finished(path, chain, { loudnessLufs: -14 }).then(
      () => 'reached',
      (error: { code: string; message: string }) => `${error.code} ${error.message}`,
    );

  test('silence, one sample and DC are finished; a loudness for them is refused with the reason', async () => {
    for (const [name, pcm] of [
      ['silence', constant(0, 44_100)],
      ['one sample', constant(0.5, 1)],
      ['DC', constant(0.9, 44_100)],
    ] as const) {
      const path = await written(name, pcm);
      const { report, path: out } = await finished(path, chain);
      expect(report.made.frames, name).toBe(pcm.channels[0].length);
      const { pcm: made } = await readSound(out);
      expect(peakDb(made), name).toBeLessThan(-0.97);
    }
    expect(await unreachable(join(folder, 'silence.wav'))).toBe(
      'FINISH_UNREACHABLE “silence.wav” has no loudness to be brought to −14.0 LUFS: it is silent, or shorter than 0.4 s.',
    );
    expect(await unreachable(join(folder, 'one sample.wav'))).toContain('shorter than 0.4 s');
  });

  test('a full-scale square comes out under the ceiling; a loudness beyond it says how near it came', async () => {
    const path = await written(
      'square',
      constant((i) => (i % 100 < 50 ? 1 : -1), 44_100),
    );
    const { path: out, report } = await finished(path, chain);
    expect(peakDb((await readSound(out)).pcm)).toBeLessThan(-0.97);
    expect(report.cost!.reduction.deepestDb).toBeGreaterThan(3);
    const refused = await finished(
      await written('mix', seededMix(3, { sideDb: -8, seconds: 2, sampleRate: 44_100 })),
      chain,
      {
        loudnessLufs: -3,
        ceilingDbtp: -6,
      },
    ).catch((error: Error) => error.message);
    expect(refused).toMatch(
      /cannot be brought to −3\.0 LUFS: under a ceiling of −6\.00 dBTP it comes to −\d/,
    );
  });

  test('22.05 and 192 kHz are finished, rates outside and NaN are refused by name', async () => {
    for (const sampleRate of [22_050, 192_000]) {
      const path = await written(
        `at ${sampleRate}`,
        constant((i) => 0.5 * Math.sin(0.05 * i), sampleRate, sampleRate),
      );
      expect((await finished(path, chain)).report.made).toMatchObject({ sampleRate, frames: sampleRate });
    }
    await expect(finished(await written('slow', constant(0.1, 8000, 8000)), chain)).rejects.toMatchObject({
      code: 'CHAIN_UNSUITABLE',
    });
    const nan = await finished(
      await written(
        'broken',
        constant((i) => (i === 999 ? Number.NaN : 0.1), 44_100),
      ),
      chain,
    ).catch((error: unknown) => error);
    expect(nan).toMatchObject({
      code: 'SOUND_NOT_NUMBERS',
      message: expect.stringContaining('“broken.wav”'),
    });
    const three = { sampleRate: 44_100, channels: [0, 1, 2].map(() => new Float32Array(4410)) };
    await expect(finished(await written('three', three), chain)).rejects.toMatchObject({
      code: 'CHAIN_UNSUITABLE',
    });
  });

  test('nothing is left in the scratch folders but what was finished', async () => {
    const folders = (await readdir(folder)).filter((name) => name.startsWith('run-'));
    for (const name of folders) {
      const left = await readdir(join(folder, name));
      expect(
        left.filter((each) => each !== 'finished.wav'),
        name,
      ).toEqual([]);
    }
  });
});
