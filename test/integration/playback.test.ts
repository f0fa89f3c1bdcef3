import { readdir, rename, rm, stat, truncate, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { CodedError } from '../../src/audio/coded-error.ts';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import { frameCount, type Pcm } from '../../src/audio/pcm.ts';
import { audioFilePath, keepCopy } from '../../src/bench/audio-store.ts';
import { type Home, openHome } from '../../src/bench/home.ts';
import { Playback, type PlaybackSound } from '../../src/bench/playback.ts';
import { Pool } from '../../src/bench/pool.ts';
import { music, scratchFolder } from './server-support.ts';

const rate = 44_100;

describe('sound made ready for the desk', () => {
  let folder: Awaited<ReturnType<typeof scratchFolder>>;
  let home: Home;
  let pool: Pool;
  const pcm = music(4);

  beforeAll(async () => {
    folder = await scratchFolder();
    home = await openHome(join(folder.path, 'home'));
    pool = new Pool({ size: 1, scratchPath: home.incomingPath });
  });
  afterAll(async () => {
    await pool.close();
    await folder[Symbol.asyncDispose]();
  });
  beforeEach(() => new Playback(home, pool).clear());

  const kept = async (sound: Pcm, name = 'Song'): Promise<PlaybackSound> => {
    const path = join(folder.path, `${name}.wav`);
    await writeWav(path, sound, { sampleFormat: 'f32' });
    const { sha256 } = await keepCopy(home, path);
    return { sha256, name, rate, startSeconds: 0, driftPpm: 0, inverted: false, frames: frameCount(sound) };
  };
  const frames = (bytes: Uint8Array) => new Float32Array(bytes.buffer, bytes.byteOffset, bytes.length / 4);
  const expected = (from: number, count: number, channel: number) =>
    Array.from({ length: count }, (_, i) => pcm.channels[channel][from + i] ?? 0);

  test('every bit of it, at its own rate; zeros around it', async () => {
    const playback = new Playback(home, pool);
    const sound = await kept(pcm);
    const length = frameCount(pcm);
    const part = frames(await playback.read(sound, 1000, 64));
    expect([...part].filter((_, i) => i % 2 === 0)).toEqual(expected(1000, 64, 0));
    expect([...part].filter((_, i) => i % 2 === 1)).toEqual(expected(1000, 64, 1));
    const around = frames(await playback.read(sound, length - 2, 4));
    expect([...around]).toEqual([
      pcm.channels[0][length - 2],
      pcm.channels[1][length - 2],
      pcm.channels[0][length - 1],
      pcm.channels[1][length - 1],
      0,
      0,
      0,
      0,
    ]);
    expect([...frames(await playback.read(sound, -3, 3))]).toEqual([0, 0, 0, 0, 0, 0]);
    expect([...frames(await playback.read(sound, length + 10, 2))]).toEqual([0, 0, 0, 0]);
  });

  test('moved, turned over and mono', async () => {
    const playback = new Playback(home, pool);
    const mono = await kept({ ...pcm, channels: [pcm.channels[0]] }, 'Mono');
    const moved = { ...mono, startSeconds: 500 / rate, inverted: true };
    const part = frames(await playback.read(moved, 0, 32));
    expect([...part]).toEqual(expected(500, 32, 0).flatMap((x) => [-x, -x]));
  });

  test('many readers of one sound are one piece of work, and it lies there whole afterwards', async () => {
    const playback = new Playback(home, pool);
    const sound = await kept(pcm);
    const reads = await Promise.all(
      Array.from({ length: 8 }, (_, k) => playback.read(sound, k * 20_000, 16)),
    );
    for (const [k, bytes] of reads.entries()) expect(frames(bytes)[0]).toBe(pcm.channels[0][k * 20_000]);
    await expect
      .poll(async () => (await readdir(home.playbackPath)).map((name) => name.slice(-4)))
      .toEqual(['.f32']);
    expect(await playback.bytes()).toBe(frameCount(pcm) * 8);
  });

  test('a half file is never taken for a whole one', async () => {
    const sound = await kept(pcm);
    const before = new Playback(home, pool);
    await before.read(sound, 0, 16);
    await expect.poll(async () => (await readdir(home.playbackPath))[0]).toMatch(/\.f32$/);
    const path = join(home.playbackPath, (await readdir(home.playbackPath))[0]);
    // As after a power cut: the name is there, the end is not; and what a killed process was writing.
    await truncate(path, 4000);
    await writeFile(path.replace('.f32', '.part'), 'half');
    await writeFile(join(home.playbackPath, `${'0'.repeat(64)}-of-a-deleted-song.f32`), 'x');
    const after = new Playback(home, pool);
    await after.sweep(new Set([sound.sha256]));
    expect(await readdir(home.playbackPath)).toEqual([path.split('/').at(-1)]);
    expect(frames(await after.read(sound, 100_000, 1))[0]).toBe(pcm.channels[0][100_000]);
    await expect.poll(async () => (await stat(path).catch(() => null))?.size).toBe(frameCount(pcm) * 8);
  });

  test('what was not heard for longest makes room', async () => {
    const size = frameCount(pcm) * 8;
    const playback = new Playback(home, pool, 2.5 * size);
    const sounds = [];
    for (const [k, inverted] of [false, true].entries())
      for (const startSeconds of [0, 1]) sounds.push({ ...(await kept(pcm)), inverted, startSeconds, k });
    for (const { k: _k, ...sound } of sounds) {
      await playback.read(sound, 0, frameCount(pcm));
      await expect
        .poll(async () => (await readdir(home.playbackPath)).every((name) => name.endsWith('.f32')))
        .toBe(true);
      expect(await playback.bytes()).toBeLessThanOrEqual(2.5 * size);
    }
    await playback.clear();
    expect(await playback.bytes()).toBe(0);
  });

  test('a file that is gone is named, and found again when it is back', async () => {
    const playback = new Playback(home, pool);
    const sound = await kept(pcm, 'Lost one');
    const path = audioFilePath(home, sound.sha256);
    await rename(path, `${path}.away`);
    await expect(playback.read(sound, 0, 16)).rejects.toMatchObject({
      code: 'FILE_NOT_FOUND',
      message: 'The file of “Lost one” is no longer on the disk.',
    });
    await rename(`${path}.away`, path);
    expect(frames(await playback.read(sound, 0, 16))).toHaveLength(32);
  });

  test('a full disk: other sound makes room once; when there is none, it is said', async () => {
    const sound = await kept(pcm);
    const full = new CodedError(
      'DISK_FULL',
      'The sound for the desk could not be written: the disk is full.',
    );
    let runs = 0;
    const fullPool: Pick<Pool, 'run'> = {
      run: (task, input, run) => {
        runs++;
        return runs === 2 ? pool.run(task, input, run) : Promise.reject(full);
      },
    };
    await rm(home.playbackPath, { recursive: true });
    await openHome(home.path);
    const playback = new Playback(home, fullPool);
    await expect(playback.read(sound, 0, 16)).rejects.toBe(full);
    expect(runs).toBe(1);
    runs = 0;
    await writeFile(join(home.playbackPath, 'another.f32'), 'can be made anew');
    expect(frames(await playback.read(sound, 7, 1))[0]).toBe(pcm.channels[0][7]);
    expect(await readdir(home.playbackPath)).not.toContain('another.f32');
  });
});
