import { mkdir, readdir, readFile, rename, rm, truncate, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import { deliver, planOnly } from '../../src/bench/delivery/deliver.ts';
import { Pool } from '../../src/bench/pool.ts';
import { lookingIn, recordOf, sumsOf, writeSongs } from '../delivery-support.ts';
import { music, scratchFolder } from './server-support.ts';

const pool = new Pool();
const workshop = { pool, results: null };
afterAll(() => pool.close());

const names = async (folder: string) =>
  (await readdir(folder, { recursive: true, withFileTypes: true }))
    .filter((entry) => entry.isFile())
    .map(({ parentPath, name }) => join(parentPath, name).slice(folder.length + 1))
    .filter((name) => name !== 'report.pdf')
    .sort();

describe('delivering a record', () => {
  test('stopped anywhere and begun again, it ends with the same bytes, and nothing half-written had its name', async () => {
    await using scratch = await scratchFolder();
    await writeSongs(scratch.path);
    const record = recordOf({
      profiles: ['streaming'],
      songs: recordOf().songs.map((song, i) => (i === 2 ? { ...song, fadeOutSeconds: 1 } : song)),
    });
    const options = lookingIn(scratch.path, record);
    const whole = join(scratch.path, 'whole');
    await deliver({ ...options, folder: whole }, workshop);
    const wanted = await sumsOf(whole);
    const folder = join(scratch.path, 'stopped');
    for (const share of [0.2, 0.6, 0.985]) {
      const stop = new AbortController();
      const before = await readdir(folder).catch(() => []);
      await expect(
        deliver(
          {
            ...options,
            folder,
            signal: stop.signal,
            onProgress: (_stage, fraction) => fraction >= share && stop.abort(),
          },
          workshop,
        ),
      ).rejects.toMatchObject({ code: 'JOB_CANCELLED' });
      // Files get their names one by one and whole; the checksums come last.
      expect(before).not.toContain('SHA256SUMS');
    }
    const done = await deliver({ ...options, folder }, workshop);
    expect(done.state).toBe('done');
    expect(await sumsOf(folder)).toEqual(wanted);
    expect(await names(folder)).toEqual(await names(whole));
    for (const [name] of Object.entries(wanted))
      expect((await readFile(join(folder, name))).equals(await readFile(join(whole, name))), name).toBe(true);
  }, 120_000);

  test('an earlier delivery, and whatever else lies in a folder, stays as it is', async () => {
    await using scratch = await scratchFolder();
    await writeSongs(scratch.path);
    const options = lookingIn(
      scratch.path,
      recordOf({ profiles: ['cd'], accepted: [{ check: 'disc-track@3', by: 'me' }] }),
    );
    const folder = join(scratch.path, 'out');
    await mkdir(folder);
    await writeFile(join(folder, 'letter.txt'), 'mine');
    await expect(deliver({ ...options, folder }, workshop)).rejects.toMatchObject({
      code: 'DELIVERY_REFUSED',
    });
    expect(await names(folder)).toEqual(['letter.txt']);
    await rm(join(folder, 'letter.txt'));
    await deliver({ ...options, folder }, workshop);
    const before = await sumsOf(folder);
    const { record } = options;
    await expect(
      deliver({ ...options, record: { ...record, title: 'Another' }, folder }, workshop),
    ).rejects.toMatchObject({
      code: 'DELIVERY_REFUSED',
      message: expect.stringContaining('earlier delivery'),
    });
    expect(await sumsOf(folder)).toEqual(before);
  });

  test('what is not met keeps every file from its name, until somebody takes it on', async () => {
    await using scratch = await scratchFolder();
    await writeSongs(scratch.path);
    const songs = recordOf().songs.map((song, i) => (i === 1 ? { ...song, isrc: '' } : song));
    const folder = join(scratch.path, 'out');
    const refused = await deliver({ ...lookingIn(scratch.path, recordOf({ songs })), folder }, workshop);
    expect(refused).toMatchObject({ state: 'refused', open: ['isrc@2'] });
    expect((await readdir(folder)).filter((name) => !name.startsWith('.'))).toEqual([]);
    const accepted = [{ check: 'isrc@2', by: 'Ottilie', why: 'comes with the contract' }];
    const done = await deliver(
      { ...lookingIn(scratch.path, recordOf({ songs, accepted })), folder },
      workshop,
    );
    expect(done).toMatchObject({ state: 'done', open: [], exceptions: [{ by: 'Ottilie' }] });
    expect(await readFile(join(folder, 'report.html'), 'utf8')).toContain(
      'Taken on by Ottilie: comes with the contract',
    );
    expect((await readdir(folder)).filter((name) => name.startsWith('.'))).toEqual([]);
  });

  test('too loud for a ceiling: the whole record is turned down, and its differences stay', async () => {
    await using scratch = await scratchFolder();
    await writeSongs(scratch.path);
    await writeWav(join(scratch.path, 'three.wav'), music(4.3, { gain: 1.4 }), { sampleFormat: 's24' });
    const record = recordOf({ profiles: ['vinyl'] });
    const planned = await planOnly(lookingIn(scratch.path, record), workshop);
    expect(planned.turnedDown).toHaveLength(1);
    const done = await deliver(
      { ...lookingIn(scratch.path, record), folder: join(scratch.path, 'out') },
      workshop,
    );
    const peak = done.files[0].found?.reading.truePeakDbtp ?? 0;
    expect(peak).toBeLessThanOrEqual(-0.95);
    expect(peak).toBeGreaterThan(-1.1);
  });

  test('bad luck is told in a sentence that names the song or the folder', async () => {
    await using scratch = await scratchFolder();
    await writeSongs(scratch.path);
    const options = lookingIn(scratch.path, recordOf());
    await rename(join(scratch.path, 'two.wav'), join(scratch.path, 'gone.wav'));
    await expect(planOnly(options, workshop)).rejects.toMatchObject({
      code: 'FILE_NOT_FOUND',
      message: '“Ferry Light, ebb”: “two.wav” does not exist. Check the name and the folder.',
    });
    await rename(join(scratch.path, 'gone.wav'), join(scratch.path, 'two.wav'));
    await truncate(join(scratch.path, 'two.wav'), 20);
    await expect(planOnly(options, workshop)).rejects.toMatchObject({ code: 'SOUND_TRUNCATED' });
    await writeSongs(scratch.path);
    const approved = { sha256: 'a'.repeat(64), by: 'Ilka', at: '2026-11-20T10:00:00.000Z' };
    const songs = recordOf().songs.map((song) => ({ ...song, approved }));
    const planned = await planOnly(lookingIn(scratch.path, recordOf({ songs })), workshop);
    expect(planned.findings.map(({ sentence }) => sentence)).toContain(
      '“Ferry Light” was changed since Ilka approved it on 2026-11-20. Have it approved again.',
    );
    await writeFile(join(scratch.path, 'cover.png'), Buffer.alloc(11 * 2 ** 20));
    const large = recordOf({ artwork: { file: 'cover.png' } });
    expect((await planOnly(lookingIn(scratch.path, large), workshop)).open).toEqual(['artwork']);
    const folder = join(scratch.path, 'one.wav', 'out');
    await expect(deliver({ ...options, folder }, workshop)).rejects.toMatchObject({ code: 'FILE_NOT_FOUND' });
  });
});
