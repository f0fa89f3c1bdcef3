import { mkdir, readdir, readFile, stat, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import Database from 'libsql';
import { describe, expect, test } from 'vitest';
import { audioFilePath, keepCopy, keepStream } from '../../src/bench/audio-store.ts';
import { Bench } from '../../src/bench/bench.ts';
import { openHome } from '../../src/bench/home.ts';
import { openStore } from '../../src/bench/store/database.ts';
import { migrations } from '../../src/bench/store/migrations.ts';
import { Results } from '../../src/bench/store/results.ts';
import { scratchFolder } from './server-support.ts';

const hashOfAbc = 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad'; // FIPS 180-4, example 'abc'

describe('the data folder', () => {
  test('belongs to its user alone, also when it was there before', async () => {
    await using folder = await scratchFolder();
    const path = join(folder.path, 'home');
    await mkdir(path, { mode: 0o755 });
    const home = await openHome(path);
    expect((await stat(home.path)).mode & 0o777).toBe(0o700);
    expect((await stat(home.audioPath)).mode & 0o777).toBe(0o700);
  });

  test('a file in its place gives one sentence', async () => {
    await using folder = await scratchFolder();
    const path = join(folder.path, 'home');
    await writeFile(path, '');
    await expect(openHome(path)).rejects.toMatchObject({ name: 'CodedError', code: 'STORAGE_FAILED' });
  });

  test('has one owner at a time, and a new one once the old has gone', async () => {
    await using folder = await scratchFolder();
    const first = await Bench.open({ homePath: folder.path });
    await expect(Bench.open({ homePath: folder.path })).rejects.toMatchObject({ code: 'STORAGE_IN_USE' });
    await first.close();
    const second = await Bench.open({ homePath: folder.path });
    await second.close();
  });
});

describe('the database', () => {
  test('is carried from an older schema to this one with all that is in it', async () => {
    await using folder = await scratchFolder();
    const path = join(folder.path, 'a.db');
    await openStore(path, migrations).destroy();
    const later = [...migrations, 'ALTER TABLE songs ADD COLUMN mood TEXT; UPDATE songs SET mood = title;'];
    const old = openStore(path);
    await old
      .insertInto('songs')
      .values({ id: 's', title: 'T', demo_id: null, changed_at: '', change_seq: 1, deleted_at: null })
      .execute();
    await old.destroy();
    const migrated = openStore(path, later);
    expect(await migrated.selectFrom('songs').selectAll().execute()).toMatchObject([
      { title: 'T', mood: 'T' },
    ]);
    await migrated.destroy();
  });

  test('a migration that fails leaves the old schema whole', async () => {
    await using folder = await scratchFolder();
    const path = join(folder.path, 'a.db');
    await openStore(path).destroy();
    expect(() => openStore(path, [...migrations, 'CREATE TABLE half (x TEXT); NONSENSE;'])).toThrow(
      /could not be opened/,
    );
    const database = new Database(path);
    expect(database.prepare("SELECT name FROM sqlite_master WHERE name = 'half'").all()).toEqual([]);
    database.close();
    await openStore(path).destroy();
  });

  test('of a newer Everyroom is left alone', async () => {
    await using folder = await scratchFolder();
    const path = join(folder.path, 'a.db');
    await openStore(path, [...migrations, 'CREATE TABLE tomorrow (x TEXT)']).destroy();
    expect(() => openStore(path)).toThrow(expect.objectContaining({ code: 'STORAGE_NEWER' }));
  });

  test('that is no database gives one sentence', async () => {
    await using folder = await scratchFolder();
    const path = join(folder.path, 'a.db');
    await writeFile(path, 'no database, but long enough to be read as one'.repeat(100));
    expect(() => openStore(path)).toThrow(
      expect.objectContaining({ name: 'CodedError', code: 'STORAGE_FAILED' }),
    );
  });

  test('writes through to the disk before it answers', async () => {
    await using folder = await scratchFolder();
    const path = join(folder.path, 'a.db');
    const store = openStore(path);
    const pragma = async (name: string) =>
      Object.values(
        (
          await store.executeQuery<Record<string, unknown>>({
            sql: `PRAGMA ${name}`,
            parameters: [],
            query: { kind: 'RawNode' } as never,
            queryId: { queryId: '' },
          })
        ).rows[0],
      )[0];
    expect(await pragma('journal_mode')).toBe('wal');
    expect(await pragma('synchronous')).toBe(2);
    expect(await pragma('foreign_keys')).toBe(1);
    await store.destroy();
  });

  test('keeps a result for the same files, task, version and options only', async () => {
    await using folder = await scratchFolder();
    const results = new Results(openStore(join(folder.path, 'a.db')));
    const key = { files: 'a', task: 't', taskVersion: 1, options: '{}' };
    await results.put(key, '1');
    await results.put(key, '2');
    expect(await results.get(key)).toBe('2');
    for (const other of [{ files: 'b' }, { task: 'u' }, { taskVersion: 2 }, { options: '{"x":1}' }])
      expect(await results.get({ ...key, ...other })).toBeNull();
    await results.put({ ...key, taskVersion: 2 }, '3');
    expect(await results.get(key)).toBeNull();
    await results.close();
  });
});

describe('the audio store', () => {
  test('keeps bytes once, under their hash, and leaves nothing on the way', async () => {
    await using folder = await scratchFolder();
    const home = await openHome(folder.path);
    const abc = () => Readable.from([Buffer.from('a'), Buffer.from('bc')]);
    expect(await keepStream(home, abc(), 3)).toEqual({ sha256: hashOfAbc, bytes: 3 });
    await keepStream(home, abc(), 3);
    expect(await readFile(audioFilePath(home, hashOfAbc), 'utf8')).toBe('abc');
    expect(await readdir(home.incomingPath)).toEqual([]);
  });

  test('takes a true copy: what its owner does to the file later does not reach it', async () => {
    await using folder = await scratchFolder();
    const home = await openHome(folder.path);
    const source = join(folder.path, 'source');
    await writeFile(source, 'abc');
    expect(await keepCopy(home, source)).toEqual({ sha256: hashOfAbc, bytes: 3 });
    await writeFile(source, 'xyz');
    expect(await readFile(audioFilePath(home, hashOfAbc), 'utf8')).toBe('abc');
  });

  test.each(['', '../../etc/passwd', `${'0'.repeat(63)}/`, 'A'.repeat(64)])(
    '%j never becomes a path',
    async (hash) => {
      await using folder = await scratchFolder();
      const home = await openHome(folder.path);
      expect(() => audioFilePath(home, hash)).toThrow(RangeError);
    },
  );

  test('what was deleted more than a day ago is gone after a start, what was deleted later is not', async () => {
    await using folder = await scratchFolder();
    const bench = await Bench.open({ homePath: folder.path });
    const take = (text: string, songId?: string) =>
      bench.receive({
        stream: Readable.from([Buffer.from(text)]),
        name: text,
        kind: 'mix',
        songId,
        maxBytes: 99,
      });
    const kept = await take('kept');
    const old = await take('old', kept.song.id);
    const fresh = await take('fresh', kept.song.id);
    const oldSong = await take('old song');
    await bench.deleteVersion(old.version.id);
    await bench.deleteVersion(fresh.version.id);
    await bench.deleteSong(oldSong.song.id);
    await bench.close();
    const store = openStore(join(folder.path, 'everyroom.db'));
    const twoDaysAgo = new Date(Date.now() - 2 * 86_400_000).toISOString();
    await store
      .updateTable('versions')
      .set({ deleted_at: twoDaysAgo })
      .where('id', '=', old.version.id)
      .execute();
    await store
      .updateTable('songs')
      .set({ deleted_at: twoDaysAgo })
      .where('id', '=', oldSong.song.id)
      .execute();
    await store.destroy();
    await writeFile(join(folder.path, 'incoming', 'broken-off'), 'x');

    const again = await Bench.open({ homePath: folder.path });
    await expect(again.restoreVersion(old.version.id)).rejects.toMatchObject({ code: 'NOT_FOUND' });
    await expect(again.restoreSong(oldSong.song.id)).rejects.toMatchObject({ code: 'NOT_FOUND' });
    expect((await again.restoreVersion(fresh.version.id)).name).toBe('fresh');
    const exists = (sha256: string) =>
      stat(audioFilePath(again.home, sha256)).then(
        () => true,
        () => false,
      );
    expect(await exists(kept.version.sha256)).toBe(true);
    expect(await exists(fresh.version.sha256)).toBe(true);
    expect(await exists(old.version.sha256)).toBe(false);
    expect(await exists(oldSong.version.sha256)).toBe(false);
    // The checks left unfinished are taken up again; each has its own folder there while it runs.
    const left = (await readdir(again.home.incomingPath)).filter((name) => !name.startsWith('task-'));
    expect(left).toEqual([]);
    await again.close();
  });
});
