import { appendFile, mkdir, readFile, rename, rm, symlink, utimes, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Pcm } from '../../src/audio/pcm.ts';
import type { WatchTiming } from '../../src/bench/watch/folder-watch.ts';
import type { Job, Song } from '../../src/server/api.ts';
import type { Folder, Watch } from '../../src/server/keeping-api.ts';
import { type RunningServer, startServer } from '../../src/server/start.ts';
import { whenTold } from './desk-support.ts';
import { Client, scratchFolder, writeMusic } from './server-support.ts';
import { hits } from './song-support.ts';

const quick: Partial<WatchTiming> = { settledMs: 200, scanMs: 400 };
const seconds = 6;
/** More than any song here has. */
const mostBytes = 4_000_000;

const changed = (pcm: Pcm, gain: number): Pcm => ({
  ...pcm,
  channels: pcm.channels.map((samples) => samples.map((x, i) => gain * x + 0.3 * (samples[i - 1] ?? 0))),
});

describe('a watched folder', () => {
  let folder: Awaited<ReturnType<typeof scratchFolder>>;
  let server: RunningServer;
  let client: Client;
  const bounces = () => join(folder.path, 'user', 'Music', 'Bounces');
  const put = (name: string) => join(bounces(), name);

  const start = async (timing: Partial<WatchTiming> = quick) => {
    server = await startServer({
      port: 0,
      home: join(folder.path, 'home'),
      maxBytes: mostBytes,
      bench: { userHome: join(folder.path, 'user'), watchTiming: timing },
    });
    client = new Client(server.url);
  };
  const state = () => client.get<Watch>('/api/watch');
  const songs = async () => (await client.get<{ songs: Song[] }>('/api/songs')).songs;
  /** The news of a file that came in. Its check is called off: nobody here asks about lossy coding. */
  const arrivalOf = async (fileName: string) => {
    const { arrivals } = await whenTold(client, state, (watch) =>
      watch.arrivals.some((arrival) => arrival.fileName === fileName),
    );
    for (const { id } of (await client.get<{ jobs: Job[] }>('/api/jobs')).jobs)
      await client.call('POST', `/api/jobs/${id}/cancel`);
    return arrivals.find((arrival) => arrival.fileName === fileName)!;
  };

  beforeAll(async () => {
    folder = await scratchFolder();
    await mkdir(bounces(), { recursive: true });
    await start();
  });
  afterAll(async () => {
    await server.close();
    await folder[Symbol.asyncDispose]();
  });

  test('is chosen by tokens, below the user’s home only', async () => {
    const user = join(folder.path, 'user');
    await mkdir(join(user, '.hidden'));
    await mkdir(join(folder.path, 'outside'));
    await symlink(join(folder.path, 'outside'), join(user, 'way out'));
    await symlink(join(user, '.hidden'), join(user, 'way in'));
    await writeFile(join(user, 'file.txt'), '');
    const list = async (inside?: string) =>
      (await client.get<{ folders: Folder[] }>(`/api/watch/folders${inside ? `?inside=${inside}` : ''}`))
        .folders;
    const top = await list();
    expect(top.map(({ name }) => name)).toEqual(['Music']);
    const [{ token }] = await list(top[0].token);
    for (const made of [bounces(), '../outside', `${token}x`, ''])
      expect((await client.call('POST', '/api/watch', { folder: made })).status).toBeOneOf([400, 404]);

    // What lies there already is not new.
    await writeMusic(put('old song.wav'), hits(seconds, { seed: 50 }));
    const { body } = await client.call<Watch>('POST', '/api/watch', { folder: token });
    expect(body.folders).toMatchObject([{ path: bounces(), trouble: null }]);
    await client.call('POST', '/api/watch', { folder: token });
    expect((await state()).folders).toHaveLength(1);
  });

  test('makes of what is bounced there the next version of its song, once it is whole', async () => {
    const song = hits(seconds, { seed: 20 });
    const bytes = await readFile(await writeMusic(join(folder.path, 'Dusk v1.wav'), song));
    const first = (await client.upload(bytes, 'Dusk v1.wav')).body;
    await client.call('PATCH', `/api/versions/${first.version.id}`, { kind: 'mix' });

    // The first half of a bounce that is still being written, and another one beside it that is whole.
    const later = await readFile(await writeMusic(join(folder.path, 'v2.wav'), changed(song, 0.4)));
    await writeFile(put('Dusk_v2 2026-03-01.wav'), later.subarray(0, later.length / 2));
    await writeMusic(put('Elsewhere.wav'), hits(seconds, { seed: 21 }));
    expect(await arrivalOf('Elsewhere.wav')).toMatchObject({
      songTitle: 'Elsewhere',
      how: expect.stringContaining('Made a new song'),
      lines: [],
    });
    expect((await state()).arrivals).toHaveLength(1);

    await appendFile(put('Dusk_v2 2026-03-01.wav'), later.subarray(later.length / 2));
    const arrival = await arrivalOf('Dusk_v2 2026-03-01.wav');
    expect(arrival).toMatchObject({ songId: first.song.id, how: expect.stringContaining('by its name') });
    expect(arrival.lines.length).toBeGreaterThan(1);
    expect(arrival.lines.length).toBeLessThanOrEqual(3);
    expect(arrival.lines[0]).toMatch(/LU (quieter|louder)/);
    const { versions } = await client.get<Song>(`/api/songs/${first.song.id}`);
    expect(versions.map(({ name, kind }) => [name, kind])).toEqual([
      ['Dusk v1.wav', 'mix'],
      ['Dusk_v2 2026-03-01.wav', 'mix'],
    ]);
    expect((await songs()).map(({ title }) => title).sort()).toEqual(['Dusk v1', 'Elsewhere']);
  });

  test('knows bytes again under another name, and takes what was written anew in place', async () => {
    await rename(put('Elsewhere.wav'), put('Elsewhere renamed.wav'));
    expect((await arrivalOf('Elsewhere renamed.wav')).how).toContain('Already on the bench');
    await rm(put('Elsewhere renamed.wav'));
    const before = await songs();
    await writeMusic(put('Dusk_v2 2026-03-01.wav'), changed(hits(seconds, { seed: 20 }), 0.9));
    const { arrivals } = await whenTold(
      client,
      state,
      (watch) => watch.arrivals.filter(({ fileName }) => fileName.startsWith('Dusk')).length === 2,
    );
    expect(arrivals[0].lines[0]).toMatch(/LU louder/);
    const after = await songs();
    expect(after).toHaveLength(before.length);
    expect(after[0].versions).toHaveLength(3);
  });

  test('finds the song by its sound when the name says nothing', async () => {
    // Its song must have been measured for that.
    const dusk = (await songs()).find(({ title }) => title === 'Dusk v1')!;
    const { body } = await client.call<Job>('POST', `/api/versions/${dusk.versions.at(-1)!.id}/check`, {
      lossy: false,
    });
    await client.jobEnded(body.id);
    // A broken file among its versions is passed over.
    await client.upload(Buffer.from('no sound'), 'Dusk broken.wav', dusk.id);
    await writeMusic(put('bounce 7.wav'), changed(hits(seconds, { seed: 20 }), 0.6));
    expect(await arrivalOf('bounce 7.wav')).toMatchObject({
      songId: dusk.id,
      how: expect.stringContaining('by its sound alone'),
    });
  });

  test('says when it is gone, and goes on when it is back; what came while nobody watched is found', async () => {
    await rename(bounces(), `${bounces()} away`);
    const gone = await whenTold(client, state, ({ folders }) => folders[0].trouble !== null);
    expect(gone.folders[0].trouble).toContain('not there');
    await rename(`${bounces()} away`, bounces());
    await whenTold(client, state, ({ folders }) => folders[0].trouble === null);

    await server.close();
    // Two versions of one new song; the older one must come first whatever their names.
    await writeMusic(put('Tide a.wav'), changed(hits(seconds, { seed: 30 }), 0.5));
    await writeMusic(put('Tide b.wav'), hits(seconds, { seed: 30 }));
    await utimes(put('Tide b.wav'), new Date('2026-01-01'), new Date('2026-01-01'));
    await writeFile(put('damaged.wav'), 'RIFF    WAVE');
    await writeFile(put('large.wav'), Buffer.alloc(mostBytes + 1));
    await start({ ...quick, patienceMs: 500 });
    await arrivalOf('Tide a.wav');
    expect((await arrivalOf('damaged.wav')).how).toMatch(/^Not taken\. .*“damaged\.wav”/);
    expect((await arrivalOf('large.wav')).how).toMatch(/^Not taken\. The file is larger than the limit/);
    const { arrivals } = await state();
    const order = arrivals.map(({ fileName }) => fileName).filter((name) => name.startsWith('Tide'));
    expect(order).toEqual(['Tide a.wav', 'Tide b.wav']);
    const all = await songs();
    expect(all.find(({ title }) => title === 'old song')).toBeUndefined();
    expect(all.filter(({ title }) => title === 'Elsewhere')).toHaveLength(1);

    const { body } = await client.call<Watch>('DELETE', `/api/watch/${(await state()).folders[0].id}`);
    expect(body.folders).toEqual([]);
    expect(body.arrivals.length).toBeGreaterThan(5);
  });
});
