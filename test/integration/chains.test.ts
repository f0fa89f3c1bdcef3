import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { afterAll, afterEach, beforeAll, expect, test } from 'vitest';
import { addPart, type Chain, emptyChain } from '../../src/finish/chain.ts';
import type { ApiError } from '../../src/server/api.ts';
import type {
  ChainDetail,
  ChainLook,
  ChainStepDetail,
  ChainSteps,
  ChainSummary,
  Proposal,
} from '../../src/server/chains-api.ts';
import type { ReferenceSet } from '../../src/server/keeping-api.ts';
import { startServer } from '../../src/server/start.ts';
import { seededMix } from '../seeded-sound.ts';
import { Client, type music, readEvents, scratchFolder, writeMusic } from './server-support.ts';

const main = fileURLToPath(new URL('../../dist/src/server/start.js', import.meta.url));
const patience = 60_000;

let folder: Awaited<ReturnType<typeof scratchFolder>>;
let server: Awaited<ReturnType<typeof startServer>>;
let client: Client;
let songId: string;
let versionId: string;
let child: ChildProcess | undefined;

beforeAll(async () => {
  folder = await scratchFolder();
  server = await startServer({ port: 0, home: join(folder.path, 'home'), poolSize: 1 });
  client = new Client(server.url);
  const { body } = await client.upload(
    await readFile(await writeMusic(join(folder.path, 'mix.wav'))),
    'mix.wav',
  );
  songId = body.song.id;
  versionId = body.version.id;
  await client.call('POST', `/api/jobs/${body.job!.id}/cancel`);
}, patience);
afterAll(async () => {
  await server.close();
  await folder[Symbol.asyncDispose]();
});
afterEach(() => void child?.kill('SIGKILL'));

const made = async (chain?: Chain, at = client) =>
  (await at.call<ChainDetail>('POST', `/api/versions/${versionId}/chains`, chain ? { chain } : {})).body;
const put = (of: ChainDetail, chain: unknown, at = client) =>
  at.call<ChainDetail & ApiError>('PUT', `/api/chains/${of.id}/chain`, { revision: of.revision, chain });
const act = (of: ChainDetail, what: string, body: object = {}) =>
  client.call<ChainDetail & ApiError>('POST', `/api/chains/${of.id}/${what}`, {
    revision: of.revision,
    ...body,
  });
const trimmed = (gainDb: number) => addPart(emptyChain, 'trim', { gainDb });

test('a chain is made, changed, taken back, made again, gone back to, named, copied and deleted', async () => {
  let chain = await made();
  expect(chain).toMatchObject({ name: 'Chain 1', versionName: 'mix.wav', step: 0, undo: null, redo: null });
  ({ body: chain } = await put(chain, trimmed(-3)));
  expect(chain.undo).toEqual(['added the trim as number 1']);
  ({ body: chain } = await put(chain, trimmed(-2)));
  expect(chain.undo).toEqual(['the trim: gain −3 dB → −2 dB']);
  ({ body: chain } = await act(chain, 'snapshots', { name: 'Two down' }));
  ({ body: chain } = await act(chain, 'undo'));
  expect(chain).toMatchObject({ step: 1, redo: ['the trim: gain −3 dB → −2 dB'] });
  expect(chain.chain).toEqual(trimmed(-3));
  ({ body: chain } = await act(chain, 'redo'));
  ({ body: chain } = await act(chain, 'return', { step: 0 }));
  expect(chain).toMatchObject({ step: 3, undo: ['went back to step 0', 'removed the trim'] });
  const { steps, more } = await client.get<ChainSteps>(`/api/chains/${chain.id}/steps`);
  expect(steps.map(({ step, from }) => [step, from])).toEqual([
    [3, 2],
    [2, 1],
    [1, 0],
    [0, null],
  ]);
  expect(more).toBe(false);
  const second = await client.get<ChainStepDetail>(`/api/chains/${chain.id}/steps/2`);
  expect(second.chain).toEqual(trimmed(-2));
  expect(await client.get(`/api/chains/${chain.id}/difference?from=1&to=2`)).toEqual({
    words: ['the trim: gain −3 dB → −2 dB'],
  });
  expect((await act(chain, 'snapshots', { name: 'two DOWN' })).status).toBe(400);
  const [snapshot] = chain.snapshots;
  const at = `/api/chains/${chain.id}/snapshots/${snapshot.id}`;
  const renamed = await client.call<ChainDetail>('PATCH', at, { name: 'Softer' });
  expect(renamed.body.snapshots).toMatchObject([{ name: 'Softer', step: 2 }]);
  expect((await client.call<ChainDetail>('DELETE', at)).body.snapshots).toEqual([]);

  await act(chain, 'undo');
  const copied = await client.call<ChainDetail>('POST', `/api/chains/${chain.id}/copy`, { versionId });
  expect(copied.status).toBe(201);
  expect(copied.body.chain).toEqual(trimmed(-2));
  expect((await client.call('DELETE', `/api/chains/${chain.id}`)).status).toBe(204);
  const { chains } = await client.get<{ chains: ChainSummary[] }>(`/api/songs/${songId}/chains`);
  expect(chains.map(({ id }) => id)).toEqual([copied.body.id]);
  expect((await client.call('POST', `/api/chains/${chain.id}/restore`)).status).toBe(200);
});

test('what cannot be is refused with a code and a sentence, and changes nothing', async () => {
  const chain = await made(trimmed(1));
  const nonsense = { ...trimmed(1), parts: [{ kind: 'trim', settings: { gainDb: 500 } }] };
  const refused = await put(chain, nonsense);
  expect(refused.status).toBe(422);
  expect(refused.body.error).toMatchObject({ code: 'CHAIN_INVALID' });
  expect(refused.body.error.message).toContain('gain of the trim');
  expect((await put(chain, { version: 9 })).body.error.code).toBe('CHAIN_INVALID');
  const other = await put(chain, trimmed(2));
  expect(other.status).toBe(200);
  const late = await put(chain, trimmed(3));
  expect(late.status).toBe(409);
  expect(late.body.error.code).toBe('CHAIN_CONFLICT');
  expect((await client.get<ChainDetail>(`/api/chains/${chain.id}`)).chain).toEqual(trimmed(2));
  expect((await client.call('GET', '/api/chains/0000')).status).toBe(404);
  expect((await act(other.body, 'proposals', { from: 'walk', walkId: 'x' })).status).toBe(404);
  expect((await act(other.body, 'accept', { title: 'nothing', bands: [], parts: [] })).status).toBe(400);
});

test('other windows hear of every change', async () => {
  const chain = await made();
  const stop = new AbortController();
  const events = await fetch(`${client.url}/api/events`, { signal: stop.signal });
  await put(chain, trimmed(-1));
  for await (const { event, data } of readEvents(events)) {
    if (event !== 'chain') continue;
    expect(JSON.parse(data)).toEqual({ chainId: chain.id, songId });
    break;
  }
  stop.abort();
});

test(
  'toward references: a curve, words with what speaks for them, and what is not refused as one step',
  async () => {
    const set = (await client.call<ReferenceSet>('POST', '/api/sets', { name: 'Evening' })).body;
    const bright = (pcm: ReturnType<typeof seededMix>, share: number) => ({
      ...pcm,
      channels: pcm.channels.map((samples) =>
        samples.map((x, i) => 0.5 * (x - share * (samples[i - 1] ?? 0))),
      ),
    });
    const bring = async (name: string, pcm: ReturnType<typeof music>, kind: string) => {
      const bytes = await readFile(await writeMusic(join(folder.path, name), pcm));
      const { body } = await client.upload(bytes, name);
      await client.call('POST', `/api/jobs/${body.job!.id}/cancel`);
      if (kind !== 'mix') await client.call('PATCH', `/api/versions/${body.version.id}`, { kind });
      const job = (
        await client.call<{ id: string }>('POST', `/api/versions/${body.version.id}/check`, { lossy: false })
      ).body;
      await client.jobEnded(job.id);
      return body.version.id;
    };
    for (const seed of [1, 2, 3]) {
      const reference = bright(
        seededMix(5, { sideDb: -8, seconds: 4, sampleRate: 44_100 }),
        0.6 + 0.05 * seed,
      );
      const id = await bring(`record ${seed}.wav`, reference, 'reference');
      await client.call('PUT', `/api/sets/${set.id}/members/${id}`);
    }
    const mixId = await bring(
      'dull.wav',
      seededMix(5, { sideDb: -8, seconds: 4, sampleRate: 44_100 }),
      'mix',
    );
    let chain = (
      await client.call<ChainDetail>('POST', `/api/versions/${mixId}/chains`, {
        chain: addPart(emptyChain, 'limiter'),
      })
    ).body;
    const ask = async (strengthPercent: number) =>
      (await act(chain, 'proposals', { from: 'references', setId: set.id, strengthPercent }))
        .body as unknown as Proposal;
    const [half, whole, nothing] = [await ask(50), await ask(100), await ask(0)];
    expect(nothing.bands).toEqual([]);
    // The references have more highs against everything else.
    const gainAt = (proposal: Proposal, hertz: number) =>
      proposal.target.reduce((near, each) =>
        Math.abs(Math.log(each.hertz / hertz)) < Math.abs(Math.log(near.hertz / hertz)) ? each : near,
      ).gainDb!;
    expect(gainAt(whole, 8000) - gainAt(whole, 63)).toBeGreaterThan(4);
    expect(gainAt(half, 8000)).toBeCloseTo(gainAt(whole, 8000) / 2, 6);
    expect(whole.bands.length).toBeGreaterThan(0);
    const highs = whole.bands.at(-1)!;
    expect(highs.words).toMatch(/^\d\.\d dB more (above|around) \d+\.\d kHz/);
    expect(highs.why).toMatch(/^Half of your references lie there between /);
    expect(highs.advised).toBe(true);
    for (const { band } of whole.bands) expect(Math.abs(Number(band.gainDb))).toBeLessThanOrEqual(6);
    expect(half.sentences[0]).toMatch(/^Three references can hardly say/);

    // Nothing was applied by asking.
    expect((await client.get<ChainDetail>(`/api/chains/${chain.id}`)).step).toBe(0);
    const kept = half.bands.slice(-1).map(({ band }) => band);
    ({ body: chain } = await act(chain, 'accept', { title: half.title, bands: kept, parts: [] }));
    expect(chain.chain.parts.map(({ kind }) => kind)).toEqual(['equaliser', 'limiter']);
    expect(chain.chain.parts[0].settings.bands).toEqual(kept);
    expect(chain.undo![0]).toBe('took over 50 % of the way to the references “Evening”');
    ({ body: chain } = await act(chain, 'undo'));
    expect(chain.chain.parts.map(({ kind }) => kind)).toEqual(['limiter']);
  },
  patience,
);

test('a look tells what the limiter takes away, and only it', async () => {
  let chain = addPart(emptyChain, 'trim', { gainDb: 3 });
  chain = addPart(chain, 'limiter', { gainDb: 6, ceilingDbtp: -3 });
  const look = await client.call<ChainLook>('POST', `/api/versions/${versionId}/chain-look`, { chain });
  expect(look.status).toBe(200);
  const [reduction, ...more] = look.body.reductions;
  expect(more).toEqual([]);
  expect(reduction.partId).toBe('limiter-1');
  // The file peaks at 0.99 and more stands between its samples: 9 dB up, the ceiling 3 dB under full scale.
  expect(reduction.mostDb).toBeLessThan(-11.8);
  expect(reduction.mostDb).toBeGreaterThan(-14);
  expect(reduction.reductionDb).toHaveLength(Math.ceil(2 / reduction.stepSeconds));
  expect(look.body.latencyMs).toBeCloseTo((1000 * 241) / 44_100, -1);
});

test(
  'killed while it is being changed, it has every step that it acknowledged',
  async () => {
    await using place = await scratchFolder();
    const spawned = async () => {
      child = spawn(process.execPath, [main, '--port', '0'], {
        env: { ...process.env, EVERYROOM_HOME: join(place.path, 'home') },
        stdio: ['ignore', 'pipe', 'inherit'],
      });
      const [url] = (await once(createInterface(child.stdout!), 'line')) as [string];
      return new Client(url);
    };
    let at = await spawned();
    const { body } = await at.upload(
      await readFile(await writeMusic(join(place.path, 'mix.wav'))),
      'mix.wav',
    );
    await at.call('POST', `/api/jobs/${body.job!.id}/cancel`);
    let chain = (await at.call<ChainDetail>('POST', `/api/versions/${body.version.id}/chains`, {})).body;
    const { id } = chain;
    let acknowledged = 0;
    const died = once(child!, 'exit');
    try {
      for (let i = 1; ; i++) {
        const change = put(chain, trimmed(i / 10), at);
        if (i === 25) child!.kill('SIGKILL');
        ({ body: chain } = await change);
        acknowledged = i;
      }
    } catch (error) {
      if (!(error instanceof TypeError)) throw error;
    }
    await died;
    expect(acknowledged).toBeGreaterThanOrEqual(24);
    at = await spawned();
    const now = await at.get<ChainDetail>(`/api/chains/${id}`);
    // The one that was on its way may have come through or not; nothing before it is gone.
    expect([acknowledged, acknowledged + 1]).toContain(now.step);
    expect(now.chain).toEqual(trimmed(now.step / 10));
    const undone = await at.call<ChainDetail>('POST', `/api/chains/${id}/undo`, { revision: now.revision });
    expect(undone.body.chain).toEqual(trimmed((now.step - 1) / 10));
  },
  patience,
);
