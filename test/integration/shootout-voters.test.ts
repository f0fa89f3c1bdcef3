import { createHash } from 'node:crypto';
import { mkdir, readdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { openStore } from '../../src/bench/store/database.ts';
import type { ApiError } from '../../src/server/api.ts';
import type {
  Invitation,
  RemoteWritten,
  Sharing,
  ShootoutDetail,
  ShootoutResults,
} from '../../src/server/shootout-api.ts';
import { type RunningServer, startServer } from '../../src/server/start.ts';
import { Client, rawRequest, scratchFolder } from './server-support.ts';
import {
  answered,
  draft,
  invited,
  mixAndMasters,
  opened,
  session,
  soundsOf,
  voteAll,
} from './shootout-support.ts';

let folder: Awaited<ReturnType<typeof scratchFolder>>;
let server: RunningServer;
let client: Client;
let id: string;
let address: string;
let clock = Date.now();

const at = (shootoutId: string) => `/api/shootouts/${shootoutId}`;
const share = async (on: boolean) =>
  (await client.call<Sharing>('PUT', `${at(id)}/sharing`, { on })).body.addresses[0];

beforeAll(async () => {
  folder = await scratchFolder();
  await mkdir(join(folder.path, 'user', 'Out'), { recursive: true });
  server = await startServer({
    port: 0,
    home: join(folder.path, 'home'),
    poolSize: 1,
    bench: {
      idle: true,
      userHome: join(folder.path, 'user'),
      now: () => new Date(clock),
    },
    sharing: { addresses: () => ['127.0.0.1'], port: 0 },
  });
  client = new Client(server.url);
  ({ id } = await draft(client, folder.path));
  await opened(client, id, { listeners: 90, rounds: 6 });
  address = await share(true);
});

afterAll(async () => {
  await server.close();
  await folder[Symbol.asyncDispose]();
});

const voter = async (name = 'Somebody Unlikely') => address + (await invited(client, id, name)).path;
const first = async (base: string) => {
  const { next } = await session(base);
  if (next?.kind !== 'preference') throw new Error('no round');
  return next;
};
const refusal = (status: number, code: string) => ({
  status,
  body: { error: { code, message: expect.stringMatching(/^[A-Z].+\.$/) } },
});

describe('what a voter can fetch', () => {
  test('holds no name, no id of the bench, no hash and no key, in any byte', async () => {
    const bytes: [what: string, data: Buffer][] = [];
    const headersOfSounds = new Set<string>();
    const keep = async (what: string, response: Response) => {
      const headers = [...response.headers].filter(([name]) => name !== 'date');
      bytes.push([`headers of ${what}`, Buffer.from(JSON.stringify(headers))]);
      bytes.push([what, Buffer.from(await response.arrayBuffer())]);
      return headers;
    };
    const base = await voter('Listener Rosamund');
    await keep('page', await fetch(base));
    const shown = await fetch(`${base}/session`);
    await keep('session', shown.clone());
    let next = ((await shown.json()) as Awaited<ReturnType<typeof session>>).next;
    while (next) {
      for (const sound of soundsOf(next))
        headersOfSounds.add(JSON.stringify(await keep('sound', await fetch(`${base}/sounds/${sound}`))));
      const response = await fetch(`${base}/answers`, {
        method: 'POST',
        headers: { 'content-type': 'application/json', 'idempotency-key': crypto.randomUUID() },
        body: JSON.stringify({ round: next.round, answer: 'tie' }),
      });
      await keep('answer', response.clone());
      next = ((await response.json()) as Awaited<ReturnType<typeof session>>).next;
    }
    for (const path of ['/sounds/none', '/none', '/answers', '/session/', '/sounds/..%2f..%2feveryroom.db'])
      await keep(path, await fetch(base + path));
    for (const path of [
      '/',
      '/api/songs',
      `/api/shootouts/${id}`,
      '/v/',
      '/v/none/session',
      '/assets/page.js',
    ])
      await keep(path, await fetch(address + path));

    const { body: remote } = await client.call<RemoteWritten>('POST', `${at(id)}/remote`, {
      name: 'Listener Rosamund',
      folder: (await client.get<{ folders: { token: string }[] }>('/api/watch/folders')).folders[0].token,
    });
    for (const { name } of remote.files) {
      bytes.push([`file name ${name}`, Buffer.from(name)]);
      bytes.push([name, await readFile(join(remote.path!, name))]);
    }

    const detail = await client.get<ShootoutDetail>(at(id));
    const store = openStore(join(folder.path, 'home', 'everyroom.db'));
    const versions = await store.selectFrom('versions').select(['id', 'name', 'sha256']).execute();
    const { seed } = await store.selectFrom('shootouts').select('seed').executeTakeFirstOrThrow();
    const cuts = await store.selectFrom('shootout_cuts').select('name').execute();
    await store.destroy();
    expect(cuts.length).toBe(6);
    const secrets = [
      ...mixAndMasters().masters.flatMap(({ maker, file }) => [
        maker,
        maker.split(' ')[0],
        maker.split(' ')[1],
        file,
      ]),
      ...detail.entries.flatMap(({ id: entry, versionId }) => [entry, versionId]),
      ...versions.flatMap(({ id: version, name, sha256 }) => [
        version,
        name,
        sha256,
        Buffer.from(sha256, 'hex').toString('base64'),
      ]),
      ...versions.map(({ sha256 }) => Buffer.from(sha256, 'hex')),
      ...detail.listeners.flatMap(({ id: listener, name }) => [listener, name]),
      ...cuts.map(({ name }) => name.replace('.wav', '')),
      'Harbour',
      id,
      detail.songId,
      seed,
      folder.path,
      'firstId',
      'repeatsId',
    ];
    for (const [what, data] of bytes)
      for (const secret of secrets) {
        // Names could hide in wide characters too.
        const forms =
          typeof secret === 'string' ? [Buffer.from(secret), Buffer.from(secret, 'utf16le')] : [secret];
        for (const form of forms) if (data.includes(form)) expect.fail(`${what} holds ${secret}`);
      }
    expect(bytes.length).toBeGreaterThan(60);
    // Of every sound the same headers, to the letter: no date of a file, no tag of its content.
    expect([...headersOfSounds]).toHaveLength(1);
    expect([...headersOfSounds][0]).not.toMatch(/etag|last-modified|accept-ranges/i);
    expect((await readdir(join(remote.path!, 'sounds'))).length).toBe(6);
  }, 60_000);

  test('is read from the database without the tables of makers, entries, versions and files', async () => {
    const code = await readFile(new URL('../../src/bench/store/voting.ts', import.meta.url), 'utf8');
    expect(code).not.toMatch(/shootout_makers|shootout_entries|versions'|'versions|'files/);
  });

  test('never names the same sound twice the same way, to anyone', async () => {
    const store = openStore(join(folder.path, 'home', 'everyroom.db'));
    const rows = await store.selectFrom('shootout_sounds').select('handle').execute();
    await store.destroy();
    expect(new Set(rows.map(({ handle }) => handle)).size).toBe(rows.length);
  });
});

describe('who is let in', () => {
  test('one link opens one shoot-out, at its own door, until it runs out or is withdrawn', async () => {
    const here = await invited(client, id, 'Here', 'here');
    expect(await client.call('GET', `${here.path}/session`)).toMatchObject({ status: 200 });
    const asked = (url: string) => new Client(url).call<ApiError>('GET', '/session');
    expect(await asked(address + here.path)).toMatchObject(refusal(403, 'VOTER_REFUSED'));
    const base = await voter();
    expect((await asked(base)).status).toBe(200);
    expect(await asked(server.url + new URL(base).pathname)).toMatchObject(refusal(403, 'VOTER_REFUSED'));
    const token = base.split('/').at(-1)!;
    const forged = `${token.slice(0, -1)}${token.endsWith('a') ? 'b' : 'a'}`;
    expect(await asked(base.replace(token, forged))).toMatchObject(refusal(403, 'VOTER_REFUSED'));
    expect(await asked(base.replace(token, token.slice(0, 10) + 'a'.repeat(26)))).toMatchObject(
      refusal(403, 'VOTER_REFUSED'),
    );

    clock += 25 * 3600_000;
    expect(await asked(base)).toMatchObject(refusal(403, 'VOTER_REFUSED'));
    const { listeners } = await client.get<ShootoutDetail>(at(id));
    const { id: listener } = listeners.at(-1)!;
    const again = await client.call<Invitation>('POST', `${at(id)}/listeners/${listener}/link`, {});
    expect((await asked(again.body.links[0].url)).status).toBe(200);
    expect((await asked(base)).status).toBe(403);
    await client.call('DELETE', `${at(id)}/listeners/${listener}`);
    expect((await asked(again.body.links[0].url)).status).toBe(403);
  });

  test('only its hash is kept of a token', async () => {
    const token = (await voter()).split('/').at(-1)!;
    const database = await readFile(join(folder.path, 'home', 'everyroom.db'));
    const log = await readFile(join(folder.path, 'home', 'everyroom.db-wal'));
    for (const bytes of [database, log]) expect(bytes.includes(token.slice(10))).toBe(false);
    expect(log.includes(createHash('sha256').update(token.slice(10)).digest('hex'))).toBe(true);
  });

  test('the shared address has the voter’s side and nothing else, under its own name only', async () => {
    const base = await voter();
    const { host, pathname } = new URL(base);
    const ask = (path: string, headers: Record<string, string>, method = 'GET') =>
      rawRequest(address, path, { method, headers });
    for (const path of ['/api/songs', '/api/health', `/api/shootouts/${id}`, '/', '/index.html', '/assets/'])
      expect((await ask(path, { host })).status).toBe(404);
    expect((await ask(`${pathname}/session`, { host: 'evil.example' })).status).toBe(403);
    expect((await ask(`${pathname}/session`, { host: `localhost:${new URL(address).port}` })).status).toBe(
      403,
    );
    expect((await ask(`${pathname}/session`, { host, origin: 'http://evil.example' })).status).toBe(403);
    expect((await ask(`${pathname}/answers`, { host, 'sec-fetch-site': 'cross-site' }, 'POST')).status).toBe(
      403,
    );
    expect((await ask(`${pathname}/session`, { host })).status).toBe(200);
    const page = await fetch(base);
    expect(page.headers.get('content-security-policy')).toMatch(/script-src 'sha256-[^']+';/);
    expect(await page.text()).toContain('id="voter"');
  });

  test('of two open shoot-outs only the links of the shared one work', async () => {
    const other = await draft(client, folder.path, { title: 'Other', masters: 2 });
    await opened(client, other.id, { listeners: 1, rounds: 4 });
    const { path, links } = await invited(client, other.id, 'Someone');
    expect(links).toEqual([]);
    expect(await new Client(address + path).call('GET', '/session')).toMatchObject(
      refusal(403, 'VOTER_REFUSED'),
    );
    await client.call('DELETE', at(other.id));
    await client.call('PUT', `${at(other.id)}/sharing`, { on: false });
    expect(await session(await voter())).toMatchObject({ state: 'open' });
  });

  test('sharing is off until it is switched on, and off again', async () => {
    const base = await voter();
    await share(false);
    await expect(fetch(base)).rejects.toThrow();
    expect(await client.get('/api/shootouts/sharing')).toMatchObject({ on: false, addresses: [] });
    expect((await invited(client, id, 'Later')).links).toEqual([]);
    address = await share(true);
    expect((await fetch(address + new URL(base).pathname)).status).toBe(200);
  });
});

describe('answers', () => {
  test('one a round: the same request again is answered the same, another is refused', async () => {
    const base = await voter();
    const round = await first(base);
    const key = crypto.randomUUID();
    const vote = { round: round.round, answer: 'first' };
    const once = await answered(base, vote, key);
    expect(once).toMatchObject({ status: 200, body: { answered: 1 } });
    expect((await answered(base, vote, key)).body).toEqual(once.body);
    expect(await answered(base, vote)).toMatchObject(refusal(409, 'VOTE_REFUSED'));
    expect(await answered(base, { ...vote, answer: 'second' })).toMatchObject(refusal(409, 'VOTE_REFUSED'));
    // Whoever comes back goes on where they were.
    expect(await session(base)).toEqual(once.body);
  });

  test('sent many times at once, one counts', async () => {
    const base = await voter();
    const { round } = await first(base);
    const statuses = await Promise.all(
      Array.from({ length: 20 }, async () => (await answered(base, { round, answer: 'tie' })).status),
    );
    expect(statuses.filter((status) => status === 200)).toHaveLength(1);
    expect(statuses.filter((status) => status === 409)).toHaveLength(19);
  });

  test('only to one’s own next round, and only what it asks', async () => {
    const [base, other] = [await voter(), await voter()];
    const { round } = await first(base);
    const strange = await first(other);
    expect(await answered(base, { round: strange.round, answer: 'tie' })).toMatchObject(
      refusal(409, 'VOTE_REFUSED'),
    );
    const store = openStore(join(folder.path, 'home', 'everyroom.db'));
    const { handle } = await store
      .selectFrom('shootout_rounds')
      .innerJoin('shootout_rounds as own', 'own.listener_id', 'shootout_rounds.listener_id')
      .select('shootout_rounds.handle')
      .where('own.handle', '=', round)
      .where('shootout_rounds.number', '=', 2)
      .executeTakeFirstOrThrow();
    await store.destroy();
    expect(await answered(base, { round: handle, answer: 'tie' })).toMatchObject(
      refusal(409, 'VOTE_REFUSED'),
    );
    expect(await answered(base, { round, answer: 'a' })).toMatchObject(refusal(409, 'VOTE_REFUSED'));
    expect(await answered(base, { round, answer: [1, 2] })).toMatchObject(refusal(409, 'VOTE_REFUSED'));
    expect(await answered(base, { round, answer: 'tie', as: 'someone' })).toMatchObject(
      refusal(400, 'REQUEST_INVALID'),
    );
    expect((await answered(base, { round, answer: 'tie' }, 'short')).status).toBe(400);
    expect((await answered(base, { round, answer: 'x'.repeat(10_000) })).status).toBe(413);
    expect((await fetch(`${base}/sounds/${strange.sounds[0]}`)).status).toBe(404);
    expect(await session(base)).toMatchObject({ answered: 0 });
  });

  test('whatever is sent, the answer is a sentence and never a fault', async () => {
    const bases = await Promise.all(Array.from({ length: 5 }, () => voter()));
    let i = 0;
    const text = fc.oneof(fc.json(), fc.string(), fc.constant('{"round":'));
    await fc.assert(
      fc.asyncProperty(text, fc.string({ maxLength: 40 }), async (body, path) => {
        const base = bases[i++ % bases.length];
        for (const [url, init] of [
          [`${base}/answers`, { method: 'POST', body, headers: { 'content-type': 'application/json' } }],
          [`${base}/sounds/${encodeURIComponent(path)}`, {}],
          [`${address}/v/${encodeURIComponent(path)}/session`, {}],
        ] as [string, RequestInit][]) {
          const response = await fetch(url, init);
          expect(response.status).toBeGreaterThanOrEqual(400);
          expect(response.status).toBeLessThan(500);
          expect(await response.json()).toMatchObject({ error: { message: expect.stringMatching(/\S/) } });
        }
        const file = await fetch(`${server.url}${at(id)}/votes`, {
          method: 'POST',
          body,
          headers: { 'content-type': 'application/json' },
        });
        expect([400, 422]).toContain(file.status);
      }),
      { seed: 11, numRuns: 60 },
    );
    for (const base of bases) expect(await session(base)).toMatchObject({ answered: 0 });
  });

  test('who asks more than a person does has to wait, and is told so; wrong links stop no right one', async () => {
    const [base, calm] = [await voter(), await voter()];
    const responses = await Promise.all(Array.from({ length: 90 }, () => fetch(`${base}/session`)));
    const refused = responses.filter(({ status }) => status === 429);
    expect(refused.length).toBeGreaterThan(10);
    expect(Number(refused[0].headers.get('retry-after'))).toBeGreaterThan(0);
    expect(await refused[0].json()).toMatchObject(refusal(429, 'TOO_MANY_REQUESTS').body);
    const wrong = await Promise.all(
      Array.from({ length: 40 }, () => fetch(`${address}/v/${'a'.repeat(36)}/session`)),
    );
    expect(wrong.filter(({ status }) => status === 429).length).toBeGreaterThan(10);
    expect(await session(calm)).toMatchObject({ answered: 0 });
  });
});

test('fifty at once lose no vote; after the reveal the late are told so', async () => {
  const names = Array.from({ length: 50 }, (_, i) => `Listener ${i}`);
  const bases: string[] = [];
  for (const name of names) bases.push(await voter(name));
  const before = (await client.get<ShootoutDetail>(at(id))).votes;
  const late = bases[0];
  const kept = await Promise.all(
    bases.map(async (base, i) => {
      const page = await fetch(base);
      expect(page.status).toBe(200);
      const { next } = await session(base);
      if (next && i % 5 === 0)
        for (const sound of soundsOf(next)) expect((await fetch(`${base}/sounds/${sound}`)).status).toBe(200);
      let left = 6;
      return i === 0
        ? answered(base, { round: next!.round, answer: 'tie' }).then(() => 1)
        : voteAll(base, () => (left-- % 2 === 0 ? 'first' : 'second'));
    }),
  );
  const votes = kept.reduce((sum, count) => sum + count, 0);
  expect(votes).toBe(49 * 6 + 1);
  expect((await client.get<ShootoutDetail>(at(id))).votes).toBe(before + votes);
  const { next } = await session(late);
  await client.call('POST', `${at(id)}/reveal`);
  expect(await answered(late, { round: next!.round, answer: 'tie' })).toMatchObject(
    refusal(409, 'VOTE_REFUSED'),
  );
  expect(await session(late)).toMatchObject({ state: 'closed', next: null, answered: 1 });
  expect((await fetch(`${late}/sounds/${soundsOf(next!)[0]}`)).status).toBe(409);
  const results = await client.get<ShootoutResults>(`${at(id)}/results`);
  expect(results.votes).toBe(before + votes);
}, 60_000);
