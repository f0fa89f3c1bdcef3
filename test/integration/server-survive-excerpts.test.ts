import { readdir, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { hashFile } from '../../src/audio/files/hash-file.ts';
import { frameCount } from '../../src/audio/pcm.ts';
import { keepCopy } from '../../src/bench/audio-store.ts';
import { Excerpts } from '../../src/bench/excerpts.ts';
import { openHome } from '../../src/bench/home.ts';
import { Pool } from '../../src/bench/pool.ts';
import { findFormat } from '../../src/survive/formats.ts';
import { music, scratchFolder, writeMusic } from './server-support.ts';

test('passages are kept up to a limit, made once, made again when they had to go, and swept with their song', async () => {
  await using folder = await scratchFolder();
  const home = await openHome(join(folder.path, 'home'));
  const song = await writeMusic(join(folder.path, 'song.wav'), music(5));
  await keepCopy(home, song);
  const sha256 = await hashFile(song);
  const pool = new Pool({ size: 1, scratchPath: home.incomingPath });
  try {
    // Four channels of a second of floats are 690 KiB: two such files have room.
    const excerpts = new Excerpts(home, pool, 1.5 * 2 ** 20);
    const at = (startSeconds: number) => ({
      sha256,
      format: findFormat('mp3-128')!,
      startSeconds,
      seconds: 1,
    });
    const kept = () => readdir(home.excerptsPath);
    const [one, same] = await Promise.all([excerpts.get(at(0)), excerpts.get(at(0))]);
    expect(one).toEqual(same);
    expect(await kept()).toHaveLength(1);
    const [first] = await kept();
    const made = (await stat(join(home.excerptsPath, first))).ino;
    await excerpts.get(at(1));
    // Heard again: now the other one has been silent for longest.
    await excerpts.get(at(0));
    expect((await stat(join(home.excerptsPath, first))).ino).toBe(made);
    await excerpts.get(at(2));
    expect(await kept()).toHaveLength(2);
    expect(await kept()).toContain(first);

    // The end of the song shortens a passage; behind it there is none.
    expect(frameCount((await excerpts.get(at(4.5))).original)).toBe(22_050);
    await expect(excerpts.get(at(5))).rejects.toMatchObject({ code: 'REQUEST_INVALID' });
    // What could not be made leaves nothing half made.
    expect((await kept()).every((name) => name.endsWith('.wav'))).toBe(true);

    await excerpts.sweep(new Set([sha256]));
    expect(await kept()).toHaveLength(2);
    await excerpts.sweep(new Set());
    expect(await kept()).toEqual([]);
  } finally {
    await pool.close();
  }
});
