import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { type CheckOptions, checkFile } from '../../src/bench/check-file.ts';
import { Pool } from '../../src/bench/pool.ts';
import { openResults, type Results } from '../../src/bench/store/results.ts';
import { findFormat } from '../../src/survive/formats.ts';
import { music, scratchFolder, writeMusic } from './server-support.ts';

describe('checking a file', () => {
  let folder: Awaited<ReturnType<typeof scratchFolder>>;
  let pool: Pool;
  let results: Results;
  let song: string;

  beforeAll(async () => {
    folder = await scratchFolder();
    pool = new Pool();
    results = await openResults(join(folder.path, 'home'));
    song = await writeMusic(join(folder.path, 'song.wav'));
  });

  afterAll(async () => {
    await pool.close();
    await results.close();
    await folder[Symbol.asyncDispose]();
  });

  const check = (path: string, options: CheckOptions, kept: Results | null = null) =>
    checkFile(path, options, { pool, results: kept });

  test('says the same the second time, without computing anything', async () => {
    const first = await check(song, { lossy: true }, results);
    expect(first.report.lossy.map(({ format }) => format)).toEqual([
      'AAC 128',
      'AAC 256',
      'MP3 128',
      'MP3 320',
      'Vorbis 160',
      'Opus 128',
    ]);
    expect(first.report.lossyFailed).toEqual([]);
    const idle = new Pool();
    await idle.close(); // a pool that can run nothing
    const again = await checkFile(song, { lossy: true }, { pool: idle, results });
    expect(again).toEqual(first);
  });

  test('gives figures that JSON can carry, whatever the sound', async () => {
    const silence = { sampleRate: 44_100, channels: [new Float32Array(44_100)] };
    for (const [name, pcm] of [
      ['silence.wav', silence],
      ['one.wav', music(1 / 44_100)],
      ['loud.wav', music(1)],
    ] as const) {
      const checked = await check(await writeMusic(join(folder.path, name), pcm), { lossy: false });
      expect(JSON.parse(JSON.stringify(checked))).toEqual(checked);
    }
  });

  test('reports progress that never goes back and ends at 1', async () => {
    const seen: [string, number][] = [];
    const formats = [findFormat('mp3-128')!];
    await check(song, {
      lossy: true,
      formats,
      onProgress: (stage, fraction) => seen.push([stage, fraction]),
    });
    const fractions = seen.map(([, fraction]) => fraction);
    expect(fractions).toEqual([...fractions].sort((a, b) => a - b));
    expect(fractions.at(-1)).toBe(1);
    // Hashed while it is measured, since nothing is kept.
    expect([...new Set(seen.map(([stage]) => stage))]).toEqual(['measuring', 'coding MP3 128']);
  });

  test('a format that cannot carry the sound is named and stops nothing', async () => {
    const surround = await writeMusic(join(folder.path, 'surround.wav'), music(1, { channels: 8 }));
    const { report } = await check(surround, { lossy: true });
    expect(report.loudness.integratedLufs).not.toBeNull();
    expect(report.lossy).toEqual([]);
    expect(report.lossyFailed).toHaveLength(6);
    for (const failure of report.lossyFailed) expect(failure.code).toBe('CODEC_UNSUITABLE');
  });

  test('cancelled while coding it stops, and the pool works on', async () => {
    const stop = new AbortController();
    const long = await writeMusic(join(folder.path, 'long.wav'), music(20));
    const onProgress = (stage: string) => {
      if (stage.startsWith('coding')) stop.abort();
    };
    await expect(check(long, { lossy: true, signal: stop.signal, onProgress })).rejects.toMatchObject({
      code: 'JOB_CANCELLED',
    });
    expect((await check(song, { lossy: false })).report.file.seconds).toBe(2);
  });

  test('errors name the file as the person knows it', async () => {
    const path = join(folder.path, 'f'.repeat(64));
    await writeFile(path, 'This is a letter, not a song.');
    const failed = check(path, { name: 'my song.wav', lossy: true });
    await expect(failed).rejects.toMatchObject({ name: 'CodedError', code: 'SOUND_NOT_RECOGNISED' });
    await expect(failed).rejects.toThrow(/my song\.wav/);
    await expect(failed).rejects.not.toThrow(/ffffff/);
  });
});
