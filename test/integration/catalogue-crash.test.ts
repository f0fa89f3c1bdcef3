import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { CatalogueOptions } from '../../src/catalogue/catalogue.ts';
import { seeded } from '../seeded-sound.ts';
import { Catalogue, list, type Place, places, until, Workshop } from './catalogue-support.ts';

const program = fileURLToPath(new URL('./catalogue-worker.mjs', import.meta.url));
/** Short, so that the test does not wait; a busy machine may let a living worker seem dead for a moment, which is allowed for. */
const leaseMs = 1000;

describe.each(places)('workers on a catalogue in $name', ({ open }) => {
  let place: Place;
  let shop: Workshop;
  beforeAll(async () => {
    [place, shop] = await Promise.all([open(), Workshop.open()]);
  });
  afterAll(async () => {
    await place[Symbol.asyncDispose]();
    await shop[Symbol.asyncDispose]();
  });

  async function worker({ databaseUrl, homePath }: Partial<CatalogueOptions>): Promise<ChildProcess> {
    const { DATABASE_URL: _none, ...env } = process.env;
    const child = spawn(process.execPath, [program, '1', String(leaseMs), ...(homePath ? [homePath] : [])], {
      env: { ...env, ...(databaseUrl ? { DATABASE_URL: databaseUrl } : {}) },
      stdio: ['ignore', 'pipe', 'inherit'],
    });
    await once(child.stdout as NodeJS.ReadableStream, 'data');
    return child;
  }

  test('that are killed at random lose no song and do none twice; one that is asked to stop finishes its songs', async () => {
    const at = await place.fresh();
    const catalogue = await Catalogue.open({ ...at, leaseMs });
    const songs = 40;
    const folder = shop.songs(
      'crash',
      Array.from({ length: songs }, (_, i) => `${i}.wav`),
    );
    const id = await list(catalogue, folder);
    const next = seeded(3);
    const workers = await Promise.all([worker(at), worker(at)]);
    const ended = async () => (await catalogue.runs.get(id)).endedMs !== null;
    for (const kill of [1, 2, 3]) {
      // Killed in the middle of the work: some songs are done, some are not.
      await until(async () => (await catalogue.looking.counts(id)).done >= kill * 6);
      const victim = Math.floor(next() * workers.length);
      workers[victim].kill('SIGKILL');
      await once(workers[victim], 'exit');
      workers[victim] = await worker(at);
    }
    await until(ended);
    for (const each of workers) each.kill('SIGTERM');
    const exits = await Promise.all(
      workers.map(async (each) => each.exitCode ?? ((await once(each, 'exit')) as [number])[0]),
    );
    expect(exits).toEqual([0, 0]);
    const counts = await catalogue.looking.counts(id);
    expect(counts).toMatchObject({ total: songs, done: songs, failed: 0, waiting: 0, working: 0 });
    const page = await catalogue.looking.songs(await catalogue.runs.get(id), {
      sort: 'order',
      descending: false,
      limit: 100,
    });
    expect(new Set(page.songs.map(({ sha256 }) => sha256)).size).toBe(songs);
    // What was taken once was measured once; what was taken again belonged to somebody who was killed, or thought dead.
    expect(page.songs.filter(({ tries, measured }) => tries === 1 && !measured)).toEqual([]);
    expect(page.songs.some(({ tries }) => tries > 1)).toBe(true);
    await catalogue.close();
  });
});
