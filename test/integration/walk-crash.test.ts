import type { ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { join } from 'node:path';
import { afterEach, expect, test } from 'vitest';
import { openStore } from '../../src/bench/store/database.ts';
import type { Job } from '../../src/server/api.ts';
import { startServer } from '../../src/server/start.ts';
import type { WalkDetail } from '../../src/server/walk-api.ts';
import { Client, scratchFolder, spawnedServer } from './server-support.ts';
import { linked, newWalk, note, send, songAndReferences, sync } from './walk-support.ts';

let child: ChildProcess | undefined;
afterEach(() => void child?.kill('SIGKILL'));

test('killed while notebooks send, it has every note that it acknowledged; sent again, each is there once', async () => {
  await using folder = await scratchFolder();
  const home = join(folder.path, 'home');
  const preparing = await startServer({ port: 0, home, poolSize: 1, bench: { idle: true } });
  const client = new Client(preparing.url);
  const { versionId, referenceIds } = await songAndReferences(client, folder.path);
  const { id, stops } = await newWalk(client, { versionId, referenceIds, stops: [{ name: 'Van' }] });
  const { path } = await linked(client, id);
  // The excerpts are made now, so that later nothing but notes goes on.
  await client.get(`${path}/notebook`);
  const { jobs } = await client.get<{ jobs: Job[] }>('/api/jobs');
  for (const job of jobs) await client.call('POST', `/api/jobs/${job.id}/cancel`);
  await preparing.close();

  const first = await spawnedServer(home);
  child = first.child;
  const died = once(child, 'exit');
  const acknowledged: string[] = [];
  const sent: { device: string; notes: ReturnType<typeof note>[] }[] = [];
  await Promise.all(
    Array.from({ length: 4 }, async (_, device) => {
      for (let i = 0; i < 30; i++) {
        const notes = [note(stops[0].id, 'low', i % 2), note(stops[0].id, 'air', -(i % 2), { subject: 0 })];
        sent.push({ device: `device0${device}0`, notes });
        try {
          const { status } = await send(first.client.url + path, sync(notes, `device0${device}0`));
          expect(status).toBe(200);
        } catch (error) {
          // The line broke off: the server is gone.
          if (error instanceof TypeError) return;
          throw error;
        }
        acknowledged.push(...notes.map(({ key }) => key));
        // While parcels of others are on their way.
        if (acknowledged.length >= 24) child!.kill('SIGKILL');
      }
    }),
  );
  await died;
  const store = openStore(join(home, 'everyroom.db'));
  const rows = await store.selectFrom('walk_notes').select('key').execute();
  await store.destroy();
  const kept = new Set(rows.map(({ key }) => key));
  expect(acknowledged.filter((key) => !kept.has(key))).toEqual([]);
  expect(acknowledged.length).toBeLessThan(2 * sent.length);
  // Whole parcels or nothing of them.
  for (const { notes } of sent) expect(new Set(notes.map(({ key }) => kept.has(key))).size).toBe(1);

  const again = await spawnedServer(home);
  child = again.child;
  for (const { device, notes } of sent)
    expect((await send(again.client.url + path, sync(notes, device))).status).toBe(200);
  const detail = await again.client.get<WalkDetail>(`/api/walks/${id}`);
  expect(detail.stops[0].notes).toBe(2 * sent.length);
  expect(await again.client.get('/api/walks/sharing')).toMatchObject({ on: false });
  const exited = once(child, 'exit');
  child.kill('SIGTERM');
  await exited;
});
