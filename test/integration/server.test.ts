import { mkdir, readdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { DemoIndex } from '../../demo/demo-index.ts';
import { checkFile } from '../../src/bench/check-file.ts';
import { Pool } from '../../src/bench/pool.ts';
import type { Traces } from '../../src/measure/measurement.ts';
import type { ApiError, Health, Job, Song } from '../../src/server/api.ts';
import { type RunningServer, startServer } from '../../src/server/start.ts';
import { Client, music, readEvents, scratchFolder, writeMusic } from './server-support.ts';

// One server for all: its threads have their codecs loaded, and what was checked once is not computed again.
describe('the server', () => {
  let folder: Awaited<ReturnType<typeof scratchFolder>>;
  let server: RunningServer;
  let client: Client;
  let song: string;

  const start = async (): Promise<void> => {
    server = await startServer({ port: 0, home: join(folder.path, 'home') });
    client = new Client(server.url);
  };

  beforeAll(async () => {
    folder = await scratchFolder();
    song = await writeMusic(join(folder.path, 'song.wav'));
    await start();
  });

  afterAll(async () => {
    await server.close();
    await folder[Symbol.asyncDispose]();
  });

  const uploadAndCheck = async (name = 'song.wav') => {
    const { body } = await client.upload(await readFile(song), name);
    expect((await client.jobEnded(body.job!.id)).state).toBe('done');
    return client.version(body.version.id);
  };

  test('says of an uploaded file what checkFile says of it, and still does after a restart', async () => {
    const received = await client.upload(await readFile(song), 'song.wav');
    expect(received.status).toBe(201);
    expect(received.body.song).toMatchObject({ title: 'song', demo: false });
    const job = await client.jobEnded(received.body.job!.id);
    expect(job).toMatchObject({ state: 'done', progress: 1, error: null });

    const pool = new Pool();
    const checked = await checkFile(song, { lossy: true }, { pool, results: null });
    await pool.close();
    const version = await client.version(received.body.version.id);
    expect(version.report).toEqual(checked.report);
    expect(version.verdict).toMatchObject({ headline: checked.report.headline, seconds: 2 });
    expect(await client.get<Traces>(`/api/versions/${version.id}/traces`)).toEqual(checked.traces);

    const before = await client.get<{ songs: Song[] }>('/api/songs');
    await server.close();
    await start();
    expect(await client.get<{ songs: Song[] }>('/api/songs')).toEqual(before);
    expect(await client.version(version.id)).toEqual(version);
  });

  test('the report can be had as a page that stands alone', async () => {
    const { id } = await uploadAndCheck('<b>loud</b>.wav');
    const { status, headers, body } = await client.call<string>('GET', `/api/versions/${id}/report`);
    expect(status).toBe(200);
    expect(headers.get('content-type')).toMatch(/^text\/html/);
    expect(headers.get('content-security-policy')).toMatch(/default-src 'none'/);
    expect(body).toContain('LUFS');
    expect(body).not.toContain('<b>loud');
  });

  test('before its check a version has no report, traces or page', async () => {
    const fresh = await writeMusic(join(folder.path, 'fresh.wav'), music(0.9));
    const { body } = await client.upload(await readFile(fresh), 'fresh.wav');
    await client.call('POST', `/api/jobs/${body.job!.id}/cancel`);
    expect((await client.version(body.version.id)).report).toBeNull();
    for (const part of ['traces', 'report'])
      expect(await client.call<ApiError>('GET', `/api/versions/${body.version.id}/${part}`)).toMatchObject({
        status: 404,
        body: { error: { code: 'NOT_FOUND' } },
      });
  });

  test('the same bytes again are the same version of that song, and in another song checked at once', async () => {
    const first = await uploadAndCheck();
    const again = await client.upload(await readFile(song), 'other name.wav', first.songId);
    expect(again).toMatchObject({
      status: 200,
      body: { version: { id: first.id, name: 'song.wav' }, job: { id: first.job!.id } },
    });
    const elsewhere = await client.upload(await readFile(song), 'song.wav');
    expect(elsewhere.status).toBe(201);
    expect(elsewhere.body.song.id).not.toBe(first.songId);
    await client.jobEnded(elsewhere.body.job!.id);
    expect((await client.version(elsewhere.body.version.id)).report).toEqual(first.report);
  });

  test('songs and versions are renamed, moved, deleted and taken back', async () => {
    const first = await uploadAndCheck('first.wav');
    const other = await writeMusic(join(folder.path, 'other.wav'), music(1));
    const second = (await client.upload(await readFile(other), 'second.wav')).body;
    await client.jobEnded(second.job!.id);

    expect(
      (await client.call<Song>('PATCH', `/api/songs/${first.songId}`, { title: '  Evening  ' })).body.title,
    ).toBe('Evening');
    const moved = { name: 'Master 2', kind: 'mix', songId: first.songId };
    expect((await client.call('PATCH', `/api/versions/${second.version.id}`, moved)).body).toMatchObject(
      moved,
    );
    const { songs } = await client.get<{ songs: Song[] }>('/api/songs');
    expect(songs.slice(0, 2).map(({ title, versions }) => [title, versions.map(({ name }) => name)])).toEqual(
      [
        ['Evening', ['first.wav', 'Master 2']],
        ['second', []],
      ],
    );
    expect((await client.version(second.version.id)).report!.file.name).toBe('Master 2');

    expect((await client.call('DELETE', `/api/versions/${first.id}`)).status).toBe(204);
    expect((await client.call('GET', `/api/versions/${first.id}`)).status).toBe(404);
    expect((await client.get<Song>(`/api/songs/${first.songId}`)).versions).toHaveLength(1);
    expect((await client.call('POST', `/api/versions/${first.id}/restore`)).body).toMatchObject({
      id: first.id,
      verdict: first.verdict,
    });
    expect((await client.get<Song>(`/api/songs/${first.songId}`)).versions.map(({ id }) => id)).toEqual([
      first.id,
      second.version.id,
    ]);

    const whole = await client.get<Song>(`/api/songs/${first.songId}`);
    expect((await client.call('DELETE', `/api/songs/${first.songId}`)).status).toBe(204);
    expect((await client.call('DELETE', `/api/songs/${first.songId}`)).status).toBe(404);
    expect((await client.call('PATCH', `/api/versions/${second.version.id}`, { name: 'x' })).status).toBe(
      404,
    );
    expect((await client.upload(await readFile(song), 'late.wav', first.songId)).status).toBe(404);
    const restored = (await client.call<Song>('POST', `/api/songs/${first.songId}/restore`)).body;
    expect(restored).toEqual({ ...whole, changedAt: restored.changedAt });
  });

  test('a check can be asked for again, with or without the lossy round trips', async () => {
    const { id, report, job } = await uploadAndCheck();
    const again = (await client.call<Job>('POST', `/api/versions/${id}/check`, { lossy: false })).body;
    expect(again.id).not.toBe(job!.id);
    await client.jobEnded(again.id);
    expect((await client.version(id)).report).toMatchObject({ loudness: report!.loudness, lossy: [] });
    const full = (await client.call<Job>('POST', `/api/versions/${id}/check`)).body;
    await client.jobEnded(full.id);
    expect((await client.version(id)).report).toEqual(report);
  });

  test('a running check is cancelled: no report, and the next one works', async () => {
    const long = await readFile(await writeMusic(join(folder.path, 'long.wav'), music(30)));
    const { version, job } = (await client.upload(long, 'long.wav')).body;
    await client.jobWhen(job!.id, ({ stage }) => stage.startsWith('coding'));
    const same = (await client.call<Job>('POST', `/api/versions/${version.id}/check`)).body;
    expect(same.id).toBe(job!.id);
    const cancelled = (await client.call<Job>('POST', `/api/jobs/${job!.id}/cancel`)).body;
    expect(cancelled).toMatchObject({ state: 'cancelled', error: { code: 'JOB_CANCELLED' } });
    expect((await client.version(version.id)).report).toBeNull();
    expect((await client.get<{ jobs: Job[] }>('/api/jobs')).jobs).toEqual([]);
    expect((await client.call<Job>('POST', `/api/jobs/${job!.id}/cancel`)).body).toEqual(cancelled);
    const next = await readFile(await writeMusic(join(folder.path, 'next.wav'), music(0.8)));
    expect((await client.jobEnded((await client.upload(next, 'next.wav')).body.job!.id)).state).toBe('done');
  });

  test('at most two files at once; the newest waiting goes next; waiting ones can be cancelled', async () => {
    const jobs: Job[] = [];
    for (const seconds of [20, 21, 1, 1.5]) {
      const bytes = await readFile(await writeMusic(join(folder.path, 'x.wav'), music(seconds)));
      jobs.push((await client.upload(bytes, `${seconds}.wav`)).body.job!);
    }
    const unfinished = (await client.get<{ jobs: Job[] }>('/api/jobs')).jobs;
    expect(unfinished.map(({ state }) => state)).toEqual(['running', 'running', 'queued', 'queued']);
    expect(unfinished.map(({ id }) => id)).toEqual([jobs[1], jobs[0], jobs[3], jobs[2]].map(({ id }) => id));
    expect((await client.call<Job>('POST', `/api/jobs/${jobs[2].id}/cancel`)).body.state).toBe('cancelled');
    await client.call('POST', `/api/jobs/${jobs[0].id}/cancel`);
    expect((await client.jobEnded(jobs[3].id)).state).toBe('done');
    expect((await client.get<Job>(`/api/jobs/${jobs[2].id}`)).state).toBe('cancelled');
    await client.call('POST', `/api/jobs/${jobs[1].id}/cancel`);
  });

  test('deleting a version ends its check', async () => {
    const long = await readFile(await writeMusic(join(folder.path, 'long.wav'), music(30)));
    const { version, job } = (await client.upload(long, 'long.wav')).body;
    await client.jobWhen(job!.id, ({ state }) => state === 'running');
    await client.call('DELETE', `/api/versions/${version.id}`);
    expect((await client.get<Job>(`/api/jobs/${job!.id}`)).state).toBe('cancelled');
  });

  test('tells what happens as it happens, job by job', async () => {
    const stop = new AbortController();
    const events = await fetch(`${server.url}/api/events`, { signal: stop.signal });
    expect(events.headers.get('content-type')).toMatch(/^text\/event-stream/);
    const { job } = (await client.upload(await readFile(song), 'song.wav')).body;
    const seen: string[] = [];
    for await (const { event, data } of readEvents(events)) {
      if (event === 'job') expect(JSON.parse(data)).toMatchObject({ id: job!.id });
      seen.push(event === 'job' ? (JSON.parse(data) as Job).state : event);
      if (seen.includes('done') && event === 'songs') break;
    }
    stop.abort();
    expect(seen[0]).toBe('queued');
    expect(seen).toContain('running');
    expect(seen.indexOf('done')).toBeGreaterThan(seen.indexOf('running'));
  });

  test('closes although a page is listening', async () => {
    const events = await fetch(`${server.url}/api/events`);
    await server.close();
    for await (const { event } of readEvents(events))
      expect.fail(`an event '${event}' of a server that closed`);
    await start();
  });

  test('the demo record comes onto the bench once, unchecked, and comes back after it was deleted', async () => {
    expect((await client.get<Health>('/api/health')).demoAvailable).toBe(false);
    expect(await client.call('POST', '/api/demo')).toMatchObject({
      status: 404,
      body: { error: { code: 'NOT_FOUND' } },
    });
    const demo = join(folder.path, 'home', 'demo');
    await mkdir(demo, { recursive: true });
    await writeMusic(join(demo, 'mix.wav'), music(1));
    await writeMusic(join(demo, 'master.wav'), music(1.1));
    await writeMusic(join(demo, 'reference.wav'), music(1.2));
    const note = { fault: null, text: '' };
    const index: DemoIndex = {
      record: { title: 'R', artist: 'A' },
      songs: ['one', 'two'].map((id) => ({
        id,
        title: `Song ${id}`,
        artist: 'A',
        versions: [
          { name: 'Mix', kind: 'mix', file: 'mix.wav', note },
          { name: 'Master', kind: 'master', file: 'master.wav', note },
        ],
      })),
      references: [{ title: 'Known', artist: 'B', file: 'reference.wav' }],
    };
    await writeFile(join(demo, 'index.json'), JSON.stringify(index));
    expect((await client.get<Health>('/api/health')).demoAvailable).toBe(true);
    // A double click is one request twice at once.
    const twice = [1, 2].map(() => client.call<{ songs: Song[] }>('POST', '/api/demo'));
    const [first, same] = (await Promise.all(twice)).map(({ body }) => body.songs);
    expect(same).toEqual(first);
    expect(first.map(({ title, demo, versions }) => [title, demo, versions.map(({ kind }) => kind)])).toEqual(
      [
        ['Song one', true, ['mix', 'master']],
        ['Song two', true, ['mix', 'master']],
        ['Known (B)', true, ['reference']],
      ],
    );
    expect((await client.get<{ songs: Song[] }>('/api/songs')).songs.slice(0, 3)).toEqual(first);
    expect((await client.get<{ jobs: Job[] }>('/api/jobs')).jobs).toEqual([]);
    await client.call('DELETE', `/api/songs/${first[1].id}`);
    const second = (await client.call<{ songs: Song[] }>('POST', '/api/demo')).body.songs;
    expect(second.map(({ id }) => id)).toEqual(first.map(({ id }) => id));
    const job = (
      await client.call<Job>('POST', `/api/versions/${first[0].versions[0].id}/check`, { lossy: false })
    ).body;
    expect((await client.jobEnded(job.id)).state).toBe('done');
  });

  test('describes itself', async () => {
    const api = await client.get<{ openapi: string; paths: Record<string, Record<string, object>> }>(
      '/api/openapi.json',
    );
    expect(api.openapi).toMatch(/^3\.1/);
    const described = Object.entries(api.paths).flatMap(([path, methods]) =>
      Object.keys(methods).map((method) => `${method.toUpperCase()} ${path.replace(/\{(\w+)\}/g, ':$1')}`),
    );
    const folder = new URL('../../src/server/', import.meta.url);
    const contracts = (await readdir(folder)).filter((name) => /^([a-z]+-)?api\.ts$/.test(name));
    const texts = await Promise.all(contracts.map((name) => readFile(new URL(name, folder), 'utf8')));
    const promised = [
      ...texts.join('\n').matchAll(/(GET|POST|PUT|PATCH|DELETE) +(\/(?:api|[vwr])\/[\w/:.*-]+)/g),
    ]
      .map(([, method, path]) => `${method} ${path.replace(/\.$/, '').replace('*', '{*}')}`)
      // The description itself, and pages.
      .filter((route) => !/^GET \/(api\/openapi\.json|[vwr]\/:token)$/.test(route));
    expect(promised.length).toBeGreaterThan(15);
    expect(described.sort()).toEqual([...new Set(promised)].sort());
  });

  test('what is not there, not as described, or too much gets an error of the one shape', async () => {
    const { id } = (await client.upload(await readFile(song), 'song.wav')).body.song;
    const cases: [string, string, unknown, number, string][] = [
      ['GET', '/api/songs/nothing', undefined, 404, 'NOT_FOUND'],
      ['GET', '/api/nothing', undefined, 404, 'NOT_FOUND'],
      ['GET', '/nothing.js', undefined, 404, 'NOT_FOUND'],
      ['GET', '/api/songs/%E0%A4%A', undefined, 400, 'REQUEST_INVALID'],
      ['POST', '/api/jobs/nothing/cancel', undefined, 404, 'NOT_FOUND'],
      ['PATCH', `/api/songs/${id}`, { title: '   ' }, 400, 'REQUEST_INVALID'],
      ['PATCH', `/api/songs/${id}`, { title: 'x'.repeat(2 ** 20) }, 413, 'REQUEST_INVALID'],
      ['POST', '/api/versions?kind=nothing', undefined, 400, 'REQUEST_INVALID'],
    ];
    for (const [method, path, body, status, code] of cases) {
      const answer = await client.call<ApiError>(method, path, body);
      expect([path, answer.status, answer.body.error.code]).toEqual([path, status, code]);
      expect(answer.body.error.message).not.toMatch(/\n|node_modules| at /);
    }
  });
});

test('takes the next free port when the one wished for is in use, and says so', async () => {
  await using first = await scratchFolder();
  await using second = await scratchFolder();
  const one = await startServer({ port: 0, home: first.path });
  const two = await startServer({ port: one.port, home: second.path });
  expect(one.portWasTaken).toBe(false);
  expect(two.portWasTaken).toBe(true);
  expect(two.port).toBeGreaterThan(one.port);
  expect((await new Client(two.url).get<Health>('/api/health')).name).toBe('Everyroom');
  await Promise.all([one.close(), two.close()]);
});
