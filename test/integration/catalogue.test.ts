import { appendFileSync, copyFileSync, mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'libsql';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { ownEngine } from '../../src/catalogue/engine.ts';
import { Catalogue, list, type Place, places, Workshop } from './catalogue-support.ts';

describe.each(places)('a catalogue in $name', ({ name, open }) => {
  let place: Place;
  let shop: Workshop;
  beforeAll(async () => {
    [place, shop] = await Promise.all([open(), Workshop.open()]);
  });
  afterAll(async () => {
    await place[Symbol.asyncDispose]();
    await shop[Symbol.asyncDispose]();
  });

  const openCatalogue = async (options: Parameters<typeof Catalogue.open>[0] = {}) =>
    Catalogue.open({ ...(await place.fresh()), pauseMs: 0, ...options });

  test('is checked once: the same songs again, also for another profile, are judged but not measured', async () => {
    const catalogue = await openCatalogue();
    const folder = shop.songs('once', ['b.wav', 'a.wav', 'Ärger.wav']);
    // A copy of a song under another name is measured once with it.
    copyFileSync(join(folder, 'a.wav'), join(folder, 'copy of a.wav'));
    const first = await shop.check(catalogue, folder);
    const counts = await catalogue.looking.counts(first.id);
    expect(counts).toMatchObject({ total: 4, done: 4, failed: 0, waiting: 0, working: 0, measured: 3 });
    const page = await catalogue.looking.songs(first, { sort: 'name', descending: false, limit: 10 });
    expect(page.songs.map(({ name }) => name)).toEqual(['a.wav', 'Ärger.wav', 'b.wav', 'copy of a.wav']);

    const again = await shop.check(catalogue, folder, 'broadcast-r128');
    expect(await catalogue.looking.counts(again.id)).toMatchObject({ done: 4, measured: 0 });
    const [song] = (await catalogue.looking.songs(again, { sort: 'name', descending: false, limit: 1 }))
      .songs;
    const report = await catalogue.looking.report(again, song);
    expect(report?.profile.id).toBe('broadcast-r128');
    expect(report?.file.name).toBe('a.wav');
    expect(report?.headline).toBe(song.headline);
    expect(report?.loudness.integratedLufs).toBe(song.integratedLufs);

    // New content under an old name is measured.
    appendFileSync(join(folder, 'a.wav'), Buffer.from('junk that changes the hash'));
    const third = await shop.check(catalogue, folder);
    expect(await catalogue.looking.counts(third.id)).toMatchObject({ done: 4, measured: 1 });
    await catalogue.close();
  });

  test('goes on past what cannot be read, each with its reason', async () => {
    const catalogue = await openCatalogue();
    const folder = shop.songs('bad', ['good.wav']);
    writeFileSync(join(folder, 'broken.wav'), 'this is no sound');
    writeFileSync(join(folder, 'empty.wav'), '');
    const odd = Buffer.concat([
      Buffer.from(`${folder}/na`),
      Buffer.from([0xef, 0xff]),
      Buffer.from('me.wav'),
    ]);
    copyFileSync(join(folder, 'good.wav'), odd);
    mkdirSync(join(folder, 'folder.wav'), { recursive: true });
    const file = join(shop.scratch, 'bad.csv');
    const lines = [
      'title,path',
      'one,bad/good.wav',
      `again,"${folder}/good.wav"`,
      'once more,./bad/../bad/good.wav',
      'two,  bad/broken.wav ',
      'three,bad/empty.wav',
      'four,bad/folder.wav',
      '"five, with a comma",bad/gone.wav',
      '',
      'no path',
    ];
    writeFileSync(
      file,
      Buffer.concat([Buffer.from(`\ufeff${lines.join('\r\n')}\r\nsix,`), odd, Buffer.from('\r\n')]),
    );
    const run = await shop.check(catalogue, file);
    expect(run.repeats).toBe(2);
    const { songs } = await catalogue.looking.songs(run, { sort: 'order', descending: false, limit: 20 });
    expect(songs.map(({ name, state, error, tries }) => [name, state, error?.code ?? '', tries])).toEqual([
      ['good.wav', 'done', '', 1],
      ['broken.wav', 'failed', 'SOUND_NOT_RECOGNISED', 1],
      ['empty.wav', 'failed', 'FILE_EMPTY', 1],
      ['folder.wav', 'failed', 'FILE_IS_DIRECTORY', 1],
      ['gone.wav', 'failed', 'FILE_NOT_FOUND', 1],
      ['na\ufffd\ufffdme.wav', 'done', '', 1],
    ]);
    expect(await catalogue.looking.counts(run.id)).toMatchObject({
      total: 6,
      done: 2,
      failed: 4,
      measured: 1,
    });
    expect(songs[1].error?.message).toContain('“broken.wav”');
    // The folder gives the odd name too, and passes over what is no sound.
    const walked = await shop.check(catalogue, folder);
    expect(await catalogue.looking.counts(walked.id)).toMatchObject({
      total: 4,
      done: 2,
      failed: 2,
      measured: 0,
    });
    expect((await catalogue.looking.faults(walked.id)).map(({ code }) => code)).toEqual([
      'FILE_EMPTY',
      'SOUND_NOT_RECOGNISED',
    ]);
    await catalogue.close();
  });

  test('gives every song to one worker, however many ask at once', async () => {
    const at = await place.fresh();
    const catalogues = await Promise.all([1, 2, 3].map(() => Catalogue.open({ ...at, pauseMs: 0 })));
    const folder = shop.songs(
      'many',
      Array.from({ length: 60 }, (_, i) => `${i}.wav`),
    );
    await list(catalogues[0], folder);
    const engine = ownEngine();
    const taken = await Promise.all(
      catalogues.map(async ({ work }, i) => {
        const mine: number[] = [];
        for (let some = 1; some > 0; ) {
          const songs = await work.take(`worker ${i}`, engine, 7);
          some = songs.length;
          mine.push(...songs.map(({ seq }) => seq));
        }
        return mine;
      }),
    );
    expect(taken.flat().sort((a, b) => a - b)).toEqual(Array.from({ length: 60 }, (_, i) => i + 1));
    await Promise.all(catalogues.map((each) => each.close()));
  });

  test('gives a dead worker’s song to another, and gives the song up after its third death', async () => {
    // With a lease of nothing whoever does not breathe this very moment is dead.
    const catalogue = await openCatalogue({ leaseMs: 0 });
    const { work, runs, looking } = catalogue;
    const id = await list(catalogue, shop.songs('dead', ['killer.wav']));
    const engine = ownEngine();
    for (const death of [1, 2, 3]) {
      const [song] = await work.take(`worker ${death}`, engine, 5);
      expect(song.tries).toBe(death);
      expect(await work.take('another', engine, 5)).toEqual([]);
      expect(await work.reclaim()).toBe(1);
    }
    expect(await work.take('last', engine, 5)).toEqual([]);
    const song = await looking.song(id, 1);
    expect(song).toMatchObject({ state: 'failed', error: { code: 'WORKER_LOST' }, tries: 3 });
    expect((await runs.get(id)).endedMs).not.toBeNull();
    await catalogue.close();
  });

  test('leaves a living worker its songs, and writes what a worker says that was thought dead only once', async () => {
    const at = await place.fresh();
    const catalogue = await Catalogue.open({ ...at, pauseMs: 0, leaseMs: 60_000 });
    const hasty = await Catalogue.open({ ...at, pauseMs: 0, leaseMs: 0 });
    const id = await list(catalogue, shop.songs('alive', ['song.wav']));
    const engine = ownEngine();
    await catalogue.work.beat('slow', engine);
    const [mine] = await catalogue.work.take('slow', engine, 1);
    expect(await catalogue.work.reclaim()).toBe(0);
    // The answer to a taking that got lost: the worker does not know what it has.
    expect(await catalogue.work.letGo('slow', [mine])).toBe(0);
    expect(await hasty.work.reclaim()).toBe(1);
    const [theirs] = await catalogue.work.take('other', engine, 1);
    expect(theirs).toMatchObject({ seq: mine.seq, tries: 2 });
    const fault = { code: 'INTERNAL', message: 'made up', final: true, tookMs: 1 };
    await catalogue.work.fail('slow', engine, mine, fault);
    expect((await catalogue.looking.song(id, 1)).state).toBe('working');
    await catalogue.work.fail('other', engine, theirs, { ...fault, message: 'the one that counts' });
    await catalogue.work.fail('other', engine, theirs, fault);
    expect((await catalogue.looking.song(id, 1)).error?.message).toBe('the one that counts');
    await Promise.all([catalogue.close(), hasty.close()]);
  });

  test('tries a song three times where another try may help', async () => {
    const catalogue = await openCatalogue();
    const file = join(shop.scratch, 'closed.csv');
    // Nothing listens there.
    writeFileSync(file, 'http://127.0.0.1:9/a%20song.wav\n');
    const run = await shop.check(catalogue, file);
    const song = await catalogue.looking.song(run.id, 1);
    expect(song).toMatchObject({
      name: 'a song.wav',
      state: 'failed',
      tries: 3,
      error: { code: 'URL_FAILED' },
    });
    await catalogue.close();
  });

  test('says of two runs what got better and what worse', async () => {
    const catalogue = await openCatalogue();
    const folder = shop.songs('compared', ['better.wav', 'same.wav', 'worse.wav', 'gone.wav'], 0.5);
    writeFileSync(join(folder, 'better.wav'), 'broken');
    const before = await shop.check(catalogue, folder);
    shop.songs('compared', ['better.wav', 'same.wav'], 0.5);
    shop.songs('compared', ['new.wav'], 0.25);
    writeFileSync(join(folder, 'worse.wav'), 'broken');
    const file = join(shop.scratch, 'compared.csv');
    writeFileSync(file, ['better', 'same', 'worse', 'new'].map((name) => `compared/${name}.wav\n`).join(''));
    const after = await shop.check(catalogue, file);
    const found = await catalogue.looking.compare(before, after);
    expect(found).toMatchObject({ better: 1, worse: 1, same: 1, added: 1, gone: 1, moved: 0 });
    expect(found.betterSongs.map(({ name, before }) => [name, before.worst])).toEqual([
      ['better.wav', 'failed'],
    ]);
    expect(found.worseSongs.map(({ name, after }) => [name, after.worst])).toEqual([['worse.wav', 'failed']]);
    await catalogue.close();
  });

  // Of Postgres: catalogue-postgres.test.ts.
  if (name === 'SQLite')
    test('tables of a newer release are left alone', async () => {
      const at = await place.fresh();
      await (await Catalogue.open(at)).close();
      const database = new Database(join(at.homePath ?? '', 'catalogue.db'));
      database.exec('UPDATE catalogue_schema SET version = version + 1');
      database.close();
      await expect(Catalogue.open(at)).rejects.toMatchObject({ code: 'STORAGE_NEWER' });
    });

  test('a run that is stopped ends; what waits is left', async () => {
    const catalogue = await openCatalogue();
    const id = await list(catalogue, shop.songs('stopped', ['1.wav', '2.wav', '3.wav']));
    const [mine] = await catalogue.work.take('w', ownEngine(), 1);
    expect(await catalogue.runs.stop(id)).toBe(2);
    expect((await catalogue.runs.get(id)).endedMs).toBeNull();
    expect(await catalogue.work.take('w', ownEngine(), 5)).toEqual([]);
    await catalogue.work.fail('w', ownEngine(), mine, {
      code: 'INTERNAL',
      message: '',
      final: true,
      tookMs: 1,
    });
    expect((await catalogue.runs.get(id)).endedMs).not.toBeNull();
    expect(await catalogue.looking.counts(id)).toMatchObject({ stopped: 2, failed: 1, working: 0 });
    await catalogue.close();
  });
});
