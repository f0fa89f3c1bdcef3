import { join } from 'node:path';
import type { WalkNote, WalkNotebook, WalkSync } from '../../src/places/walk-shapes.ts';
import type { Song } from '../../src/server/api.ts';
import type { NewWalk, WalkDetail, WalkLink } from '../../src/server/walk-api.ts';
import { seededMix } from '../seeded-sound.ts';
import type { Answer, Client } from './server-support.ts';
import { wavOf } from './shootout-support.ts';

/** A song and two references by others, each of another loudness, on the bench; resolves to their versions. */
export async function songAndReferences(
  client: Client,
  folder: string,
): Promise<{ versionId: string; songId: string; referenceIds: [string, string] }> {
  const take = async (name: string, seed: number, gain: number): Promise<[string, string]> => {
    const pcm = seededMix(seed, { sideDb: -8, seconds: 6, sampleRate: 16_000 });
    const louder = { ...pcm, channels: pcm.channels.map((samples) => samples.map((x) => gain * x)) };
    const { body } = await client.upload(await wavOf(folder, name, louder), name);
    return [body.version.id, body.song.id];
  };
  const [versionId, songId] = await take('Tidewater master 4.wav', 21, 0.8);
  const [first] = await take('Lanterns.wav', 22, 0.3);
  const [second] = await take('Slow Copper.wav', 23, 0.6);
  await take('Unheard sketch.wav', 24, 0.5);
  return { versionId, songId, referenceIds: [first, second] };
}

export async function newWalk(client: Client, wanted: NewWalk): Promise<WalkDetail> {
  const { status, body } = await client.call<WalkDetail>('POST', '/api/walks', wanted);
  if (status !== 201) throw new Error(JSON.stringify(body));
  return body;
}

export async function linked(client: Client, walkId: string): Promise<WalkLink> {
  const { status, body } = await client.call<WalkLink>('POST', `/api/walks/${walkId}/links`);
  if (status !== 201) throw new Error(JSON.stringify(body));
  return body;
}

let made = 0;
/** A note with a key of its own. */
export function note(
  stop: string,
  what: 'low' | 'lowMid' | 'mid' | 'presence' | 'air' | 'voice' | 'width' | 'loudness',
  value: number | null,
  more: { subject?: 'song' | number; at?: string; key?: string } = {},
): WalkNote {
  made += 1;
  const {
    subject = 'song',
    at = '2026-01-05T10:00:00.000Z',
    key = `note-number-${String(made).padStart(8, '0')}`,
  } = more;
  return { what, value, stop, subject, at, key };
}

export function sync(
  notes: readonly WalkNote[],
  device = 'devicea1',
  stops: WalkSync['stops'] = [],
): WalkSync {
  return { device, stops: [...stops], notes: [...notes] };
}

export function send(
  base: string,
  body: unknown,
  headers: Record<string, string> = {},
): Promise<Answer<WalkNotebook>> {
  return fetch(`${base}/notes`, {
    method: 'POST',
    headers: { 'content-type': 'application/json', ...headers },
    body: typeof body === 'string' ? body : JSON.stringify(body),
  }).then(async (response) => ({
    status: response.status,
    headers: response.headers,
    body: (await response.json()) as WalkNotebook,
  }));
}

/** What of every song is not to be found in what a notebook is given: ids, hashes, paths, and all of other songs. */
export async function secretsOf(client: Client, folder: string): Promise<string[]> {
  const { songs } = await client.get<{ songs: Song[] }>('/api/songs');
  return [
    join(folder, 'home'),
    'Unheard sketch',
    ...songs.flatMap(({ id, versions }) => [id, ...versions.flatMap((v) => [v.id, v.sha256])]),
  ];
}
