import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { afterEach, expect, test } from 'vitest';
import { readSound } from '../../src/audio/files/read-sound.ts';
import { frameCount, type Pcm } from '../../src/audio/pcm.ts';
import { TruePeakMeter } from '../../src/measure/true-peak.ts';
import type { ApiError, Job, Survival, SurviveRequest } from '../../src/server/api.ts';
import { Client, music, scratchFolder, writeMusic } from './server-support.ts';

const main = fileURLToPath(new URL('../../dist/src/server/start.js', import.meta.url));
const children = new Set<ChildProcess>();

/** The built server as a process of its own. */
async function spawnServer(home: string): Promise<{ client: Client; child: ChildProcess }> {
  const child = spawn(process.execPath, [main, '--port', '0'], {
    env: { ...process.env, EVERYROOM_HOME: home },
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  children.add(child);
  const [url] = (await once(createInterface(child.stdout!), 'line')) as [string];
  return { client: new Client(url), child };
}

async function end(child: ChildProcess, signal: NodeJS.Signals): Promise<void> {
  const exited = once(child, 'exit');
  child.kill(signal);
  await exited;
  children.delete(child);
}

afterEach(() => {
  for (const child of children) child.kill('SIGKILL');
});

async function bringIn(client: Client, folder: string, seconds: number): Promise<string> {
  const song = await readFile(await writeMusic(join(folder, 'song.wav'), music(seconds)));
  const { body } = await client.upload(song, 'song.wav');
  await client.call('POST', `/api/jobs/${body.job!.id}/cancel`);
  return body.version.id;
}

const survivalOf = (client: Client, id: string) => client.get<Survival>(`/api/versions/${id}/survive`);

async function ask(client: Client, id: string, request: SurviveRequest): Promise<Job> {
  const { status, body } = await client.call<Job>('POST', `/api/versions/${id}/survive`, request);
  expect(status).toBe(200);
  return body;
}

/** How loud the highest point of it is. */
function truePeakDbtp(pcm: Pcm): number {
  const meter = new TruePeakMeter(pcm.sampleRate, pcm.channels.length);
  meter.push(pcm);
  return meter.finish().truePeakDbtp ?? Number.NEGATIVE_INFINITY;
}

test('a run ends in a report, asked for again it is at hand, and passages of it can be heard', async () => {
  await using folder = await scratchFolder();
  const { client, child } = await spawnServer(join(folder.path, 'home'));
  const id = await bringIn(client, folder.path, 6);
  expect(await survivalOf(client, id)).toEqual({ job: null, settings: null, report: null, complete: false });
  const { formats } = await client.get<{ formats: { id: string }[] }>('/api/survive/formats');
  expect(formats.map((format) => format.id)).toContain('aac-256+sbc-328');

  const request = { formatIds: ['aac-96', 'mp3-320', 'opus-96'], limitDbtp: -1, findCeiling: true };
  const job = await ask(client, id, request);
  expect(job).toMatchObject({ kind: 'survive', versionId: id });
  expect((await ask(client, id, request)).id).toBe(job.id);
  expect((await client.jobEnded(job.id)).state).toBe('done');
  const { report, complete, settings, job: newest } = await survivalOf(client, id);
  expect({ complete, settings, newest: newest?.id }).toEqual({
    complete: true,
    settings: request,
    newest: job.id,
  });
  expect(report!.formats.map(({ formatId }) => formatId)).toEqual(request.formatIds);
  expect(report!.limitDbtp).toBe(-1);
  expect(report!.ceiling).toMatchObject({ limitDbfs: -1, verified: true });
  // A check is something else: the version's own job and verdict are untouched.
  expect(await client.version(id)).toMatchObject({ job: { kind: 'check' }, verdict: null });

  const again = await client.jobEnded((await ask(client, id, request)).id);
  expect(again.state).toBe('done');
  expect((await survivalOf(client, id)).report).toEqual(report);

  const heard = async (what: string, query: string) => {
    const path = `/api/versions/${id}/survive/aac-96/excerpt?what=${what}&${query}`;
    const response = await fetch(client.url + path);
    expect(response.status).toBe(200);
    expect(response.headers.get('content-type')).toBe('audio/wav');
    const wav = join(folder.path, `${what}.wav`);
    await writeFile(wav, new Uint8Array(await response.arrayBuffer()));
    const decibels = (name: string) => Number(response.headers.get(`x-everyroom-${name}-db`));
    return { pcm: (await readSound(wav)).pcm, decibels };
  };
  for (const query of ['start=1.5&seconds=2', 'start=1.5&seconds=2&match=true']) {
    const [original, decoded, difference] = await Promise.all(
      ['original', 'decoded', 'difference'].map((what) => heard(what, query)),
    );
    for (const { pcm } of [original, decoded, difference]) {
      expect(frameCount(pcm)).toBe(2 * 44_100);
      expect(truePeakDbtp(pcm)).toBeLessThanOrEqual(-0.99);
    }
    // The original is the song itself at the gain that is told, to the last bit of a 32-bit float.
    const song = (await readSound(join(folder.path, 'song.wav'))).pcm;
    const gain = 10 ** (original.decibels('gain') / 20);
    const at = Math.round(1.5 * 44_100);
    expect(largest(original.pcm, (c, i) => song.channels[c][at + i] * gain)).toBeLessThan(1e-6);
    // The difference is decoded minus original, raised by what is told.
    expect(decoded.decibels('gain')).toBe(original.decibels('gain'));
    const raised = difference.decibels('raised');
    expect(raised).toBeGreaterThan(3);
    expect(difference.decibels('gain')).toBeCloseTo(original.decibels('gain') + raised, 6);
    const lift = 10 ** (raised / 20);
    const expected = (c: number, i: number) =>
      (decoded.pcm.channels[c][i] - original.pcm.channels[c][i]) * lift;
    expect(largest(difference.pcm, expected)).toBeLessThan(3e-7 * lift);
    expect(rms(difference.pcm)).toBeLessThanOrEqual(rms(original.pcm));
    const matched = decoded.decibels('matched');
    if (!query.includes('match')) expect(matched).toBe(0);
    else {
      expect(Math.abs(matched)).toBeLessThan(0.5);
      expect(regression(original.pcm, decoded.pcm)).toBeCloseTo(1, 3);
    }
  }

  const refused = async (path: string) => {
    const { status, body } = await client.call<ApiError>('GET', `/api/versions/${id}/survive/${path}`);
    return [status, body.error.code];
  };
  expect(await refused('aac-96/excerpt?what=decoded&start=99&seconds=2')).toEqual([400, 'REQUEST_INVALID']);
  expect(await refused('aac-96/excerpt?what=decoded&start=-1&seconds=2')).toEqual([400, 'REQUEST_INVALID']);
  expect(await refused('aac-96/excerpt?what=decoded&start=0&seconds=21')).toEqual([400, 'REQUEST_INVALID']);
  expect(await refused('aac-96/excerpt?what=loud&start=0&seconds=2')).toEqual([400, 'REQUEST_INVALID']);
  expect(await refused('wax-3/excerpt?what=decoded&start=0&seconds=2')).toEqual([404, 'NOT_FOUND']);
  const wrong = await client.call<ApiError>('POST', `/api/versions/${id}/survive`, { formatIds: ['wax-3'] });
  expect([wrong.status, wrong.body.error.code]).toEqual([400, 'REQUEST_INVALID']);
  await end(child, 'SIGTERM');
});

test('killed in the middle it keeps the formats it had finished, and goes on', async () => {
  await using folder = await scratchFolder();
  const home = join(folder.path, 'home');
  let { client, child } = await spawnServer(home);
  const id = await bringIn(client, folder.path, 40);
  const request = { formatIds: ['mp3-128', 'aac-96', 'vorbis-160', 'opus-128'], findCeiling: false };
  const job = await ask(client, id, request);
  // 'survive' is told whenever more is known.
  let before = await survivalOf(client, id);
  while ((before.report?.formats.length ?? 0) === 0) {
    const now = await client.jobWhen(job.id, ({ progress, state }) => state !== 'queued' && progress > 0.2);
    expect(now.state, now.error?.message).not.toBe('failed');
    before = await survivalOf(client, id);
  }
  await end(child, 'SIGKILL');
  expect(before.complete).toBe(false);

  ({ client, child } = await spawnServer(home));
  const kept = await survivalOf(client, id);
  expect(kept.complete).toBe(false);
  const finished = before.report!.formats;
  expect(kept.report!.formats).toEqual(expect.arrayContaining(finished));
  expect((await client.jobEnded(job.id)).state).toBe('done');
  const after = await survivalOf(client, id);
  expect(after.complete).toBe(true);
  expect(after.report!.formats.map(({ formatId }) => formatId)).toEqual(request.formatIds);
  expect(after.report!.formats).toEqual(expect.arrayContaining(finished));
  await end(child, 'SIGTERM');
});

test('it can be cancelled, and other settings replace a run that is under way', async () => {
  await using folder = await scratchFolder();
  const { client, child } = await spawnServer(join(folder.path, 'home'));
  const id = await bringIn(client, folder.path, 30);
  const first = await ask(client, id, { formatIds: ['vorbis-320', 'aac-256'] });
  await client.jobWhen(first.id, ({ state }) => state === 'running');
  const second = await ask(client, id, { formatIds: ['vorbis-320', 'mp3-320'] });
  expect(second.id).not.toBe(first.id);
  expect((await client.get<Job>(`/api/jobs/${first.id}`)).state).toBe('cancelled');
  await client.jobWhen(second.id, ({ state }) => state === 'running');
  const { body: cancelled } = await client.call<Job>('POST', `/api/jobs/${second.id}/cancel`);
  expect(cancelled).toMatchObject({ state: 'cancelled', error: { code: 'JOB_CANCELLED' } });
  expect((await survivalOf(client, id)).job).toMatchObject({ id: second.id, state: 'cancelled' });
  await end(child, 'SIGTERM');
});

function largest(pcm: Pcm, expected: (channel: number, frame: number) => number): number {
  return pcm.channels.reduce(
    (most, samples, c) =>
      samples.reduce((m, value, i) => Math.max(m, Math.abs(value - expected(c, i))), most),
    0,
  );
}

function dot(a: Pcm, b: Pcm): number {
  return a.channels.reduce(
    (sum, samples, c) => samples.reduce((s, value, i) => s + value * b.channels[c][i], sum),
    0,
  );
}

const rms = (pcm: Pcm) => Math.sqrt(dot(pcm, pcm) / frameCount(pcm) / pcm.channels.length);

/** The factor by which the second sound would have to be raised to lie over the first. */
const regression = (a: Pcm, b: Pcm) => dot(a, b) / dot(b, b);
