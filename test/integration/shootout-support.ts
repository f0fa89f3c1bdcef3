import { mkdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import type { Pcm } from '../../src/audio/pcm.ts';
import type {
  Invitation,
  NewShootout,
  ShootoutDetail,
  ShootoutEntry,
  ShootoutSize,
} from '../../src/server/shootout-api.ts';
import type { VoterAnswer, VoterRound, VoterSession } from '../../src/shootout/voter-shapes.ts';
import { seededMix } from '../seeded-sound.ts';
import type { Answer, Client } from './server-support.ts';

const seconds = 11;

/** A mix of some seconds, and masters of it: louder, brighter and driven, darker. */
export function mixAndMasters(seed = 5): { mix: Pcm; masters: { file: string; maker: string; pcm: Pcm }[] } {
  const mix = seededMix(seed, { sideDb: -8, seconds, sampleRate: 16_000 });
  const shaped = (shape: (x: number, before: number) => number): Pcm => ({
    ...mix,
    channels: mix.channels.map((samples) => samples.map((x, i) => shape(x, samples[i - 1] ?? 0))),
  });
  return {
    mix,
    masters: [
      { file: 'Quietwater final 3.wav', maker: 'Ottilie Brandwein', pcm: shaped((x) => 0.8 * x) },
      {
        file: 'driven_v2.wav',
        maker: 'Casimir Oduya',
        pcm: shaped((x, y) => 0.9 * Math.tanh(1.5 * (x - 0.3 * y))),
      },
      { file: 'dark one.wav', maker: 'Wilhelmina Stroud', pcm: shaped((x, y) => 0.5 * (x + 0.7 * y)) },
    ],
  };
}

/** A voter page to share while the real one need not be built. */
export async function pageStub(folder: string): Promise<string> {
  const path = join(folder, 'voter');
  await mkdir(join(path, 'assets'), { recursive: true });
  await writeFile(
    join(path, 'index.html'),
    '<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Listen</title><script type="module" crossorigin src="./assets/page.js"></script><link rel="stylesheet" crossorigin href="./assets/page.css"></head><body><main id="page"></main></body></html>',
  );
  await writeFile(join(path, 'assets', 'page.js'), 'document.title = "</script><b>";');
  await writeFile(join(path, 'assets', 'page.css'), 'main { color: black }');
  return path;
}

export async function wavOf(folder: string, name: string, pcm: Pcm): Promise<Buffer> {
  const path = join(folder, name);
  await writeWav(path, pcm, { sampleFormat: 's16' });
  return readFile(path);
}

export async function take(
  client: Client,
  id: string,
  bytes: Uint8Array,
  query: Record<string, string>,
): Promise<Answer<ShootoutEntry>> {
  const response = await fetch(`${client.url}/api/shootouts/${id}/entries?${new URLSearchParams(query)}`, {
    method: 'POST',
    headers: { 'content-type': 'application/octet-stream' },
    body: bytes as Uint8Array<ArrayBuffer>,
  });
  return {
    status: response.status,
    headers: response.headers,
    body: (await response.json()) as ShootoutEntry,
  };
}

/** A draft with three masters in it, by invented makers; the second is the host's own. */
export async function draft(
  client: Client,
  folder: string,
  { masters: some = 3, ...more }: Omit<NewShootout, 'mixVersionId'> & { masters?: number } = {},
): Promise<ShootoutDetail> {
  const { mix, masters } = mixAndMasters();
  const { body } = await client.upload(await wavOf(folder, 'Harbour mix 7.wav', mix), 'Harbour mix 7.wav');
  const sections = [
    { startSeconds: 1, endSeconds: 4.5 },
    { startSeconds: 6, endSeconds: 9.5 },
  ];
  const made = await client.call<ShootoutDetail>('POST', '/api/shootouts', {
    mixVersionId: body.version.id,
    sections,
    ...more,
  });
  const { id } = made.body;
  for (const [i, { file, maker, pcm }] of masters.slice(0, some).entries()) {
    const bytes = await wavOf(folder, file, pcm);
    const { status, body: entry } = await take(client, id, bytes, {
      name: file,
      maker,
      yours: String(i === 1),
    });
    if (status !== 201) throw new Error(JSON.stringify(entry));
  }
  return client.get(`/api/shootouts/${id}`);
}

export async function opened(
  client: Client,
  id: string,
  size: ShootoutSize = { listeners: 4, rounds: 6 },
): Promise<ShootoutDetail> {
  const { status, body } = await client.call<ShootoutDetail>('POST', `/api/shootouts/${id}/open`, size);
  if (status !== 200) throw new Error(JSON.stringify(body));
  return body;
}

export async function invited(
  client: Client,
  id: string,
  name: string,
  where: 'here' | 'network' = 'network',
): Promise<Invitation> {
  const { status, body } = await client.call<Invitation>('POST', `/api/shootouts/${id}/listeners`, {
    name,
    where,
  });
  if (status !== 201) throw new Error(JSON.stringify(body));
  return body;
}

/** Answers a round; every request may carry a key of its own. */
export async function answered(
  base: string,
  body: unknown,
  key: string = crypto.randomUUID(),
): Promise<Answer<VoterSession & { error?: { code: string; message: string } }>> {
  const response = await fetch(`${base}/answers`, {
    method: 'POST',
    headers: { 'content-type': 'application/json', 'idempotency-key': key },
    body: JSON.stringify(body),
  });
  return {
    status: response.status,
    headers: response.headers,
    body: (await response.json()) as VoterSession,
  };
}

export async function session(base: string): Promise<VoterSession> {
  const response = await fetch(`${base}/session`);
  const body = await response.json();
  if (response.status !== 200) throw new Error(JSON.stringify(body));
  return body as VoterSession;
}

/** Votes to the end, deciding each round by `decide`. */
export async function voteAll(
  base: string,
  decide: (round: VoterRound) => VoterAnswer['answer'] | Promise<VoterAnswer['answer']>,
): Promise<number> {
  let { next } = await session(base);
  let votes = 0;
  while (next) {
    const { status, body } = await answered(base, { round: next.round, answer: await decide(next) });
    if (status !== 200) throw new Error(JSON.stringify(body));
    votes += 1;
    next = body.next;
  }
  return votes;
}

/** Every sound of a round. */
export function soundsOf(round: VoterRound): string[] {
  if (round.kind === 'preference') return [...round.sounds];
  if (round.kind === 'abx') return [round.a, round.b, round.x];
  return [...(round.reference ? [round.reference] : []), ...round.sounds.map(({ sound }) => sound)];
}
