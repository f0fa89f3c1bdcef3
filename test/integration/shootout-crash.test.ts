import type { ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { join } from 'node:path';
import { afterEach, expect, test } from 'vitest';
import { openStore } from '../../src/bench/store/database.ts';
import type { Job } from '../../src/server/api.ts';
import type { ShootoutDetail } from '../../src/server/shootout-api.ts';
import { startServer } from '../../src/server/start.ts';
import { Client, scratchFolder, spawnedServer } from './server-support.ts';
import { answered, draft, invited, opened, pageStub, session } from './shootout-support.ts';

let child: ChildProcess | undefined;
afterEach(() => void child?.kill('SIGKILL'));
async function spawned(home: string): Promise<Client> {
  const started = await spawnedServer(home);
  child = started.child;
  return started.client;
}

test('killed in the middle of the voting, it has every vote that it acknowledged, and voters go on', async () => {
  await using folder = await scratchFolder();
  const home = join(folder.path, 'home');
  const preparing = await startServer({
    port: 0,
    home,
    poolSize: 1,
    bench: { idle: true, voterPagePath: await pageStub(folder.path) },
  });
  const client = new Client(preparing.url);
  const { id } = await draft(client, folder.path, { masters: 2 });
  await opened(client, id, { listeners: 6, rounds: 20 });
  const paths: string[] = [];
  for (let i = 0; i < 6; i++) paths.push((await invited(client, id, `Listener ${i}`, 'here')).path);
  // Nothing but voting is to go on.
  const { jobs } = await client.get<{ jobs: Job[] }>('/api/jobs');
  for (const job of jobs) await client.call('POST', `/api/jobs/${job.id}/cancel`);
  await preparing.close();

  const { url } = await spawned(home);
  const acknowledged: { path: string; round: string; key: string }[] = [];
  const unanswered = new Map<string, { round: string; key: string }>();
  const died = once(child!, 'exit');
  await Promise.all(
    paths.map(async (path) => {
      let { next } = await session(url + path);
      try {
        while (next) {
          const vote = { round: next.round, key: crypto.randomUUID() };
          unanswered.set(path, vote);
          const { status, body } = await answered(
            url + path,
            { round: vote.round, answer: 'first' },
            vote.key,
          );
          expect(status).toBe(200);
          acknowledged.push({ path, ...vote });
          unanswered.delete(path);
          next = body.next;
          // While answers of others are on their way.
          if (acknowledged.length === 30) child!.kill('SIGKILL');
        }
      } catch (error) {
        // The line broke off: the server is gone.
        if (!(error instanceof TypeError)) throw error;
      }
    }),
  );
  await died;
  expect(unanswered.size).toBeGreaterThan(0);

  const store = openStore(join(home, 'everyroom.db'));
  const rows = await store.selectFrom('shootout_votes').select('round').execute();
  await store.destroy();
  const kept = new Set(rows.map(({ round }) => round));
  expect(acknowledged.filter(({ round }) => !kept.has(round))).toEqual([]);
  expect(kept.size).toBe(rows.length);

  // Sent again, a vote that was on its way counts once, whether it had arrived or not.
  const after = await spawned(home);
  for (const [path, { round, key }] of unanswered)
    expect((await answered(after.url + path, { round, answer: 'first' }, key)).status).toBe(200);
  const detail = await after.get<ShootoutDetail>(`/api/shootouts/${id}`);
  expect(detail.votes).toBe(acknowledged.length + unanswered.size);
  expect(await after.get('/api/shootouts/sharing')).toMatchObject({ on: false });
  const exited = once(child!, 'exit');
  child!.kill('SIGTERM');
  await exited;
});
