import { mkdir, readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { wavHeader } from '../../src/audio/encode-wav.ts';
import { frameCount } from '../../src/audio/pcm.ts';
import { encodeSamples } from '../../src/audio/sample-coding.ts';
import type { ApiError } from '../../src/server/api.ts';
import type {
  Delivery,
  RecordDetail,
  RecordPlan,
  ReviewLink,
  ReviewSharing,
  Reviews,
} from '../../src/server/records-api.ts';
import { type RunningServer, startServer } from '../../src/server/start.ts';
import { Client, music, readEvents, scratchFolder } from './server-support.ts';

let folder: Awaited<ReturnType<typeof scratchFolder>>;
let server: RunningServer;
let client: Client;
let detail: RecordDetail;
const versionIds: string[] = [];

beforeAll(async () => {
  folder = await scratchFolder();
  await mkdir(join(folder.path, 'user', 'Out'), { recursive: true });
  server = await startServer({
    port: 0,
    home: join(folder.path, 'home'),
    bench: { idle: true, userHome: join(folder.path, 'user') },
    // What a phone reaches in earnest; here the tests do.
    sharing: { addresses: () => ['127.0.0.1'], port: 0 },
  });
  client = new Client(server.url);
  for (const [name, gain] of [
    ['Ferry Light.wav', 0.5],
    ['Quiet Machinery.wav', 0.7],
  ] as const) {
    const pcm = music(4.2, { gain });
    const wav = Buffer.concat([
      wavHeader(44_100, 2, frameCount(pcm), 's24'),
      encodeSamples(pcm.channels, 's24', 0, frameCount(pcm)),
    ]);
    versionIds.push((await client.upload(wav, name)).body.version.id);
  }
  const made = await client.call<RecordDetail>('POST', '/api/records', {
    ...{ title: 'Low Water', artist: 'Ottilie', kind: 'single', versionIds },
  });
  expect(made.status).toBe(201);
  detail = made.body;
}, 60_000);

afterAll(async () => {
  await server.close();
  await folder[Symbol.asyncDispose]();
});

const path = () => `/api/records/${detail.id}`;

describe('records on the bench', () => {
  test('take their titles from the songs, and say in a sentence what is wrong with a change', async () => {
    expect(detail.record.songs.map(({ title }) => title)).toEqual(['Ferry Light', 'Quiet Machinery']);
    const wrong = {
      ...detail.record,
      songs: detail.record.songs.map((song) => ({ ...song, isrc: 'no code' })),
    };
    const refused = await client.call<ApiError>('PUT', path(), wrong);
    expect(refused).toMatchObject({
      status: 422,
      body: {
        error: {
          code: 'RECORD_INVALID',
          message:
            'The record is not right, song 1, “isrc”: “no code” is no ISRC; one is two letters, three letters or digits and seven digits.',
        },
      },
    });
    const files = {
      ...detail.record,
      songs: [{ ...detail.record.songs[0], source: { file: '/etc/passwd' } }],
    };
    expect((await client.call('PUT', path(), files)).status).toBe(422);
    const other = await client.call<RecordDetail>('PUT', path(), {
      ...detail.record,
      songs: detail.record.songs.toReversed(),
    });
    expect(other.body.songs.map(({ versionId }) => versionId)).toEqual(versionIds.toReversed());
    detail = (await client.call<RecordDetail>('PUT', path(), detail.record)).body;
  });

  test('a plan says what stands in the way; a deletion can be taken back', async () => {
    const { body } = await client.call<RecordPlan>('POST', `${path()}/plan`);
    expect(body.findings.filter(({ weight }) => weight === 'must').map(({ id }) => id)).toEqual([
      'isrc@1',
      'isrc@2',
      'barcode',
    ]);
    expect(body.figures.map(({ values }) => values.length)).toEqual([2, 2, 2, 2]);
    expect(body.tracks[1].startSeconds).toBeCloseTo(6.2, 3);
    expect((await client.call('DELETE', path())).status).toBe(204);
    expect((await client.call('GET', path())).status).toBe(404);
    expect((await client.call('POST', `${path()}/restore`)).status).toBe(200);
  });

  test('a join can be heard: the end of one song and the beginning of the next', async () => {
    const response = await fetch(`${server.url}${path()}/joins/0`);
    expect(response.headers.get('content-type')).toBe('audio/wav');
    // Two songs of 4.2 s and the 2 s between them.
    expect(Math.abs((await response.arrayBuffer()).byteLength / (44_100 * 6) - 10.4)).toBeLessThan(0.01);
    expect((await fetch(`${server.url}${path()}/joins/1`)).status).toBe(404);
  });

  test('somebody with a link hears one version, leaves a wish with its place, and approves it; another version is not approved', async () => {
    const [first, second] = versionIds;
    const shared = await client.call<ReviewSharing>('PUT', `/api/versions/${first}/reviews/sharing`, {
      on: true,
    });
    const { body: link } = await client.call<ReviewLink>('POST', `/api/versions/${first}/reviews/links`, {
      name: 'Ilka',
    });
    const { body: other } = await client.call<ReviewLink>('POST', `/api/versions/${second}/reviews/links`, {
      name: 'Bram',
    });
    const [address] = shared.body.addresses;
    expect(link.links.map(({ url }) => url)).toEqual([`${address}${link.path}`]);
    const visitor = new Client(address);
    expect((await visitor.call<string>('GET', link.path)).body).toContain('<h1>Ferry Light</h1>');
    // Only the version that is shared, and nothing of the bench, is there.
    expect((await visitor.call('GET', other.path)).status).toBe(403);
    expect((await visitor.call('GET', '/api/songs')).status).toBe(404);
    const part = await fetch(`${address}${link.path}sound`, { headers: { range: 'bytes=0-3' } });
    expect([part.status, await part.text()]).toEqual([206, 'RIFF']);
    const wish = { what: 'wish', text: 'The last chorus <b>quieter</b>', atSeconds: 3.5 };
    expect((await visitor.call('POST', `${link.path}words`, wish)).status).toBe(204);
    expect((await visitor.call('POST', `${link.path}words`, { what: 'approved' })).status).toBe(204);
    expect((await visitor.call<string>('GET', link.path)).body).toContain('&lt;b&gt;quieter');
    const said = await client.get<Reviews>(`/api/versions/${first}/reviews`);
    expect(said).toMatchObject({
      approved: true,
      words: [{ by: 'Ilka', atSeconds: 3.5 }, { what: 'approved' }],
    });
    expect((await client.get<RecordDetail>(path())).songs[0].approval).toMatchObject({
      by: 'Ilka',
      current: true,
    });

    // The same song, changed: what was approved is another file.
    const song = (await client.get<RecordDetail>(path())).songs[0].songId ?? '';
    const pcm = music(4.2, { gain: 0.45 });
    const wav = Buffer.concat([
      wavHeader(44_100, 2, frameCount(pcm), 's24'),
      encodeSamples(pcm.channels, 's24', 0, frameCount(pcm)),
    ]);
    const changed = (await client.upload(wav, 'Ferry Light, louder.wav', song)).body.version.id;
    const songs = detail.record.songs.map((each, i) =>
      i === 0 ? { ...each, source: { versionId: changed } } : each,
    );
    const after = await client.call<RecordDetail>('PUT', path(), { ...detail.record, songs });
    expect(after.body.songs[0].approval).toMatchObject({ current: false });
    const { body: plan } = await client.call<RecordPlan>('POST', `${path()}/plan`);
    expect(plan.findings.map(({ id }) => id)).toContain('approval@1');
    await client.call('PUT', path(), detail.record);
    await client.call('DELETE', `/api/versions/${first}/reviews/links`);
    expect((await visitor.call('GET', link.path)).status).toBe(403);
  });

  test('delivers into a folder of the user, stands still and goes on, and says that it is done', async () => {
    const songs = detail.record.songs.map((song, i) => ({ ...song, isrc: `ZZHBR260000${i + 1}` }));
    await client.call('PUT', path(), {
      ...detail.record,
      songs,
      barcode: '2012345678903',
      profiles: ['streaming'],
    });
    const { folders } = await client.get<{ folders: { token: string }[] }>('/api/watch/folders');
    const stop = new AbortController();
    const events = readEvents(await fetch(`${server.url}/api/events`, { signal: stop.signal }));
    const { body: begun } = await client.call<Delivery>('POST', `${path()}/deliveries`, {
      folder: folders[0].token,
    });
    const now = async () =>
      (await client.get<RecordDetail>(path())).deliveries.find(({ id }) => id === begun.id) as Delivery;
    const until = async (wanted: (delivery: Delivery) => boolean) => {
      for (let known = await now(); ; known = await now()) {
        if (wanted(known)) return known;
        for (;;) if ((await events.next()).value?.event === 'record') break;
      }
    };
    await until(({ progress, state }) => progress > 0.2 || state !== 'running');
    expect((await client.call<Delivery>('POST', `/api/deliveries/${begun.id}/stop`)).body.state).toBe(
      'stopped',
    );
    expect((await client.call<Delivery>('POST', `/api/deliveries/${begun.id}/resume`)).body.state).toBe(
      'running',
    );
    const done = await until(({ state }) => state !== 'running');
    stop.abort();
    expect(done).toMatchObject({ state: 'done', error: null, result: { open: 0 } });
    expect((await readdir(join(folder.path, 'user', 'Out', 'Low Water'))).sort()).toContain('SHA256SUMS');
    expect((await client.call<string>('GET', `/api/deliveries/${begun.id}/report`)).body).toContain(
      '<h1>Low Water</h1>',
    );
  }, 60_000);
});
