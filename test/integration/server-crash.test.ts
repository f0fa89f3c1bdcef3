import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { afterEach, expect, test } from 'vitest';
import type { Job, Song } from '../../src/server/api.ts';
import type { Note, ReferenceSet } from '../../src/server/keeping-api.ts';
import { Client, music, scratchFolder, writeMusic } from './server-support.ts';

const main = fileURLToPath(new URL('../../dist/src/server/start.js', import.meta.url));
const children = new Set<ChildProcess>();

/** The built server as a process of its own, as `npm start` has it. */
async function spawnServer(home: string): Promise<{ client: Client; child: ChildProcess }> {
  const child = spawn(process.execPath, [main, '--port', '0'], {
    env: { ...process.env, EVERYROOM_HOME: home },
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  children.add(child);
  const [url] = (await once(createInterface(child.stdout!), 'line')) as [string];
  return { client: new Client(url), child };
}

async function end(child: ChildProcess, signal: NodeJS.Signals): Promise<number | null> {
  const exited = once(child, 'exit') as Promise<[number | null]>;
  child.kill(signal);
  const [code] = await exited;
  children.delete(child);
  return code;
}

afterEach(() => {
  for (const child of children) child.kill('SIGKILL');
});

test('killed at any moment, it has everything it said it had, and goes on with its work', async () => {
  await using folder = await scratchFolder();
  const home = join(folder.path, 'home');
  const song = await readFile(await writeMusic(join(folder.path, 'song.wav'), music(30)));

  // Right after an upload was acknowledged.
  let { client, child } = await spawnServer(home);
  const { body } = await client.upload(song, 'song.wav');
  await end(child, 'SIGKILL');

  // Right after a change was acknowledged, in the middle of the check.
  ({ client, child } = await spawnServer(home));
  const resumed = await client.jobWhen(body.job!.id, ({ stage }) => stage.startsWith('coding'));
  expect(resumed.state).toBe('running');
  expect((await client.call('PATCH', `/api/songs/${body.song.id}`, { title: 'Evening' })).status).toBe(200);
  await end(child, 'SIGKILL');

  ({ client, child } = await spawnServer(home));
  expect(await client.get<Song>(`/api/songs/${body.song.id}`)).toMatchObject({
    title: 'Evening',
    versions: [{ id: body.version.id, sha256: body.version.sha256, bytes: song.length }],
  });
  expect((await client.jobEnded(body.job!.id)).state).toBe('done');
  expect((await client.version(body.version.id)).report).toMatchObject({ file: { seconds: 30 } });
  await end(child, 'SIGKILL');

  ({ client, child } = await spawnServer(home));
  expect((await client.version(body.version.id)).report).not.toBeNull();
  await end(child, 'SIGTERM');
});

test('notes and sets that were acknowledged are there after a kill, whatever came last', async () => {
  await using folder = await scratchFolder();
  const home = join(folder.path, 'home');
  const song = await readFile(await writeMusic(join(folder.path, 'song.wav')));
  let { client, child } = await spawnServer(home);
  const { body } = await client.upload(song, 'song.wav');
  const versionId = body.version.id;
  await client.call('PATCH', `/api/versions/${versionId}`, { kind: 'reference' });
  /** Kills the moment the answers are there. */
  const killedAfter = async <T>(
    ...requests: [method: string, path: string, body?: unknown][]
  ): Promise<T[]> => {
    const answers = await Promise.all(requests.map((request) => client.call<T>(...request)));
    await end(child, 'SIGKILL');
    for (const { status } of answers) expect(status).toBeLessThan(300);
    ({ client, child } = await spawnServer(home));
    return answers.map(({ body }) => body);
  };
  const notes = async () => (await client.get<{ notes: Note[] }>(`/api/versions/${versionId}/notes`)).notes;
  const sets = async () => (await client.get<{ sets: ReferenceSet[] }>('/api/sets')).sets;
  const [note, set] = (await killedAfter<unknown>(
    ['POST', `/api/versions/${versionId}/notes`, { atSeconds: 1, text: 'esses' }],
    ['POST', '/api/sets', { name: 'Evenings' }],
  )) as [Note, ReferenceSet];
  const member = `/api/sets/${set.id}/members/${versionId}`;
  await killedAfter(['PATCH', `/api/notes/${note.id}`, { done: true }], ['PUT', member]);
  expect(await notes()).toEqual([{ ...note, done: true }]);
  expect(await sets()).toMatchObject([{ name: 'Evenings', members: [{ versionId }] }]);
  await killedAfter(['DELETE', `/api/notes/${note.id}`], ['DELETE', member]);
  expect(await notes()).toEqual([]);
  expect(await sets()).toMatchObject([{ name: 'Evenings', members: [] }]);
  await end(child, 'SIGTERM');
});

test.each(['SIGINT', 'SIGTERM'] as const)(
  '%s closes it in good order, and the work goes on at the next start',
  async (signal) => {
    await using folder = await scratchFolder();
    const home = join(folder.path, 'home');
    const song = await readFile(await writeMusic(join(folder.path, 'song.wav'), music(10)));
    let { client, child } = await spawnServer(home);
    const { body } = await client.upload(song, 'song.wav');
    const listening = await fetch(`${client.url}/api/events`);
    await client.jobWhen(body.job!.id, ({ state }) => state === 'running');
    expect(await end(child, signal)).toBe(0);
    await listening.body?.cancel().catch(() => {});

    ({ client, child } = await spawnServer(home));
    const job = await client.get<Job>(`/api/jobs/${body.job!.id}`);
    expect(['queued', 'running']).toContain(job.state);
    await client.call('POST', `/api/jobs/${job.id}/cancel`);
    expect(await end(child, signal)).toBe(0);
  },
);
