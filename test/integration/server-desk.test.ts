import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import { joinPcm, type Pcm } from '../../src/audio/pcm.ts';
import { measureSound } from '../../src/measure/measure-sound.ts';
import type { ApiError, Song } from '../../src/server/api.ts';
import type { DeskSong, DeskSource, Match } from '../../src/server/desk-api.ts';
import { type RunningServer, startServer } from '../../src/server/start.ts';
import { seededMix } from '../seeded-sound.ts';
import { Client, music, readEvents, scratchFolder } from './server-support.ts';

const rate = 44_100;

describe('the desk over HTTP', () => {
  let folder: Awaited<ReturnType<typeof scratchFolder>>;
  let server: RunningServer;
  let client: Client;
  const mix = seededMix(4, { sideDb: -8, seconds: 9, sampleRate: rate });

  beforeAll(async () => {
    folder = await scratchFolder();
    server = await startServer({ port: 0, home: join(folder.path, 'home'), poolSize: 2 });
    client = new Client(server.url);
  });
  afterAll(async () => {
    await server.close();
    await folder[Symbol.asyncDispose]();
  });

  /** Sends it and has it measured, without coding. */
  const bring = async (pcm: Pcm, name: string, songId?: string) => {
    const path = join(folder.path, `${name}.wav`);
    await writeWav(path, pcm, { sampleFormat: 'f32' });
    const { body } = await client.upload(await readFile(path), name, songId);
    await client.call('POST', `/api/jobs/${body.job!.id}/cancel`, {});
    const { body: job } = await client.call<{ id: string }>(
      'POST',
      `/api/versions/${body.version.id}/check`,
      {
        lossy: false,
      },
    );
    await client.jobEnded(job.id);
    return body.version;
  };
  const desk = (songId: string, base = '') => client.get<DeskSong>(`/api/desk/songs/${songId}${base}`);
  const laid = async (songId: string): Promise<DeskSong> => {
    const stop = new AbortController();
    const events = readEvents(await fetch(`${server.url}/api/events`, { signal: stop.signal }));
    for (;;) {
      const song = await desk(songId);
      if (song.sources.every(({ aligned }) => aligned !== 'waiting')) {
        stop.abort();
        return song;
      }
      for await (const { event } of events) if (event === 'desk') break;
    }
  };
  const sound = async (path: string) => {
    const response = await fetch(`${server.url}/api/versions/${path}`);
    const samples = new Float32Array(await response.arrayBuffer());
    return { samples, frames: Number(response.headers.get('x-everyroom-frames')), status: response.status };
  };

  test('versions are laid on the newest by themselves; another song is not, and says so', async () => {
    const silence = { ...mix, channels: mix.channels.map(() => new Float32Array(300)) };
    const early = await bring(joinPcm([silence, mix]), 'Early');
    const other = await bring(music(9), 'Other', early.songId);
    const newest = await bring(mix, 'Newest', early.songId);
    const song = await laid(early.songId);
    expect(song.baseVersionId).toBe(newest.id);
    expect(song.missing).toEqual([]);
    expect(song.sources.map(({ versionId, aligned }) => [versionId, aligned])).toEqual([
      [early.id, 'aligned'],
      [other.id, 'unlike'],
      [newest.id, 'itself'],
    ]);
    expect(song.sources[0].offsetSeconds * rate).toBeCloseTo(300, 6);
    expect(song.sources[1].reason).toMatch(/not two versions of one recording/);
    expect(song.sources[2]).toMatchObject({
      sampleRate: rate,
      channels: 2,
      loudestSection: expect.any(Number),
    });

    // The early one on the newest's timeline is the newest, bit by bit.
    const [moved, own] = await Promise.all([
      sound(`${early.id}/sound?rate=${rate}&base=${newest.id}&from=50000&frames=1000`),
      sound(`${newest.id}/sound?rate=${rate}&from=50000&frames=1000`),
    ]);
    expect(moved).toEqual(own);
    expect(own.frames).toBe(9 * rate);
    expect(own.samples[0]).toBe(mix.channels[0][50_000]);
    expect((await sound(`${early.id}/sound?rate=48000&from=0&frames=10`)).frames).toBe(
      Math.ceil(((9 * rate + 300) * 48_000) / rate),
    );
    // The other way round as well.
    const turned = await desk(early.songId, `?base=${early.id}`);
    expect(turned.baseVersionId).toBe(early.id);
  });

  test('gains match parts to the quietest, downwards, to what our meter says of the parts', async () => {
    const [{ songId, versions }] = (await client.get<{ songs: Song[] }>('/api/songs')).songs.map((song) => ({
      songId: song.id,
      versions: song.versions,
    }));
    const parts = [
      { versionId: versions[2].id, startSeconds: 2, endSeconds: 7 },
      { versionId: versions[1].id, startSeconds: 0, endSeconds: 9 },
      { versionId: versions[2].id, startSeconds: 1, endSeconds: 1.2 },
    ];
    expect(songId).toBe(versions[0].songId);
    const { body } = await client.call<Match>('POST', '/api/desk/match', { parts });
    const cut = { ...mix, channels: mix.channels.map((x) => x.subarray(2 * rate, 7 * rate)) };
    const alone = await measureSound([cut], { sampleRate: rate, channels: 2, frames: null });
    expect(Math.abs(body.parts[0].loudnessLufs! - alone.loudness.integratedLufs!)).toBeLessThan(0.05);
    expect(Math.max(body.parts[0].gainDb, body.parts[1].gainDb)).toBe(0);
    const levels = body.parts.slice(0, 2).map((part) => part.loudnessLufs! + part.gainDb);
    expect(levels[0]).toBeCloseTo(levels[1], 6);
    expect(body.matchedLufs).toBeCloseTo(levels[0], 6);
    // Too short for a loudness: left as it is.
    expect(body.parts[2]).toMatchObject({ loudnessLufs: null, gainDb: 0 });
  });

  test('the references of a set come as sounds of their own, with what a service would do to them', async () => {
    const [{ versions }] = (await client.get<{ songs: Song[] }>('/api/songs')).songs;
    const { id } = versions[1];
    await client.call('PATCH', `/api/versions/${id}`, { kind: 'reference' });
    const { body: set } = await client.call<{ id: string }>('POST', '/api/sets', { name: 'Evening' });
    await client.call('PUT', `/api/sets/${set.id}/members/${id}`, {});
    const { sources } = await client.get<{ sources: DeskSource[] }>(`/api/desk/sets/${set.id}`);
    expect(sources).toMatchObject([
      { versionId: id, kind: 'reference', aligned: 'itself', offsetSeconds: 0, swapped: false },
    ]);
    const [{ integratedLufs, serviceGainDb }] = sources;
    // AES TD1008, by the streaming profile.
    expect(serviceGainDb).toBeCloseTo(Math.min(0, -16 - integratedLufs!), 9);
    await client.call('DELETE', `/api/sets/${set.id}`);
    await client.call('PATCH', `/api/versions/${id}`, { kind: 'master' });
  });

  test('what cannot be is said', async () => {
    const [song] = (await client.get<{ songs: Song[] }>('/api/songs')).songs;
    const version = song.versions[0].id;
    for (const [path, status] of [
      ['/api/desk/songs/none', 404],
      [`/api/desk/songs/${song.id}?base=none`, 404],
      ['/api/versions/none/sound?rate=48000&from=0&frames=10', 404],
      [`/api/versions/${version}/sound?rate=48000&base=none&from=0&frames=10`, 404],
      [`/api/versions/${version}/sound?rate=7&from=0&frames=10`, 400],
      [`/api/versions/${version}/sound?rate=48000&from=0&frames=100000000`, 400],
    ] as const) {
      const answer = await client.call<ApiError>('GET', path);
      expect([path, answer.status]).toEqual([path, status]);
      expect(answer.body.error.message).not.toBe('');
    }
    expect((await client.call('POST', '/api/desk/match', { parts: [] })).status).toBe(400);
  });
});
