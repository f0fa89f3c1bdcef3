import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { readChain } from '../../src/finish/chain.ts';
import { stopsNow } from '../../src/places/walk-notes.ts';
import type { WalkNote, WalkNotebook } from '../../src/places/walk-shapes.ts';
import type { ApiError } from '../../src/server/api.ts';
import { type RunningServer, startServer } from '../../src/server/start.ts';
import type {
  Correction,
  HistoryNote,
  Predictions,
  WalkDetail,
  WalkSharing,
  WalkTaken,
} from '../../src/server/walk-api.ts';
import { Client, rawRequest, scratchFolder } from './server-support.ts';
import { linked, newWalk, note, secretsOf, send, songAndReferences, sync } from './walk-support.ts';

let folder: Awaited<ReturnType<typeof scratchFolder>>;
let server: RunningServer;
let client: Client;
let songs: Awaited<ReturnType<typeof songAndReferences>>;
let clock = Date.parse('2026-02-01T12:00:00.000Z');

beforeAll(async () => {
  folder = await scratchFolder();
  server = await startServer({
    port: 0,
    home: `${folder.path}/home`,
    poolSize: 1,
    bench: { idle: true, now: () => new Date(clock) },
    sharing: { addresses: () => ['127.0.0.1'], port: 0 },
  });
  client = new Client(server.url);
  songs = await songAndReferences(client, folder.path);
});
afterAll(async () => {
  await server.close();
  await folder[Symbol.asyncDispose]();
});

const begin = (stops: { placeId?: string; name?: string; trust?: number }[] = [{ name: 'Kitchen' }]) =>
  newWalk(client, { versionId: songs.versionId, referenceIds: [...songs.referenceIds], stops });
const refusal = (status: number, code: string) => ({
  status,
  body: { error: { code, message: expect.stringMatching(/^[A-Z].+\.$/) } },
});
const detail = (id: string) => client.get<WalkDetail>(`/api/walks/${id}`);

describe('setting up', () => {
  test('a walk has places of the library and others, and can be changed, deleted and taken back', async () => {
    const walk = await begin([{ placeId: 'car-parked', trust: 0.5 }, { name: 'Aunt Petra’s kitchen' }]);
    expect(walk.references.map(({ name }) => name)).toEqual(['Lanterns.wav', 'Slow Copper.wav']);
    expect(walk.stops).toMatchObject([
      { placeId: 'car-parked', trust: 0.5, state: 'to do', notes: 0 },
      { placeId: null, name: 'Aunt Petra’s kitchen', trust: 0.8 },
    ]);
    const path = `/api/walks/${walk.id}`;
    const [car, kitchen] = walk.stops;
    await client.call('PATCH', path, { title: 'Saturday' });
    await client.call('PATCH', `${path}/stops/${kitchen.id}`, { name: 'Petra', trust: 0.25 });
    await client.call('DELETE', `${path}/stops/${car.id}`);
    expect(await detail(walk.id)).toMatchObject({
      title: 'Saturday',
      stops: [{ name: 'Petra', trust: 0.25 }],
    });
    await client.call('POST', `${path}/stops/${car.id}/restore`);
    expect((await detail(walk.id)).stops).toHaveLength(2);
    expect((await client.call('DELETE', path)).status).toBe(204);
    expect(await client.call('GET', path)).toMatchObject(refusal(404, 'NOT_FOUND'));
    expect((await client.call('POST', `${path}/restore`)).status).toBe(200);
    const { walks } = await client.get<{ walks: { id: string }[] }>(`/api/walks?songId=${songs.songId}`);
    expect(walks[0].id).toBe(walk.id);
  });

  test('what cannot be is refused with a reason', async () => {
    const wanted = { versionId: songs.versionId, referenceIds: [...songs.referenceIds] };
    const post = (body: unknown) => client.call<ApiError>('POST', '/api/walks', body);
    expect(await post({ ...wanted, versionId: 'none' })).toMatchObject(refusal(404, 'NOT_FOUND'));
    expect(await post({ ...wanted, referenceIds: [songs.versionId] })).toMatchObject(
      refusal(400, 'REQUEST_INVALID'),
    );
    expect(await post({ ...wanted, stops: [{ placeId: 'the-moon' }] })).toMatchObject(
      refusal(404, 'NOT_FOUND'),
    );
    expect(await post({ ...wanted, stops: [{}] })).toMatchObject(refusal(400, 'REQUEST_INVALID'));
    const walk = await begin();
    const { path } = await linked(client, walk.id);
    await send(server.url + path, sync([note(walk.stops[0].id, 'low', 1, { subject: 0 })]));
    expect(
      await client.call('PATCH', `/api/walks/${walk.id}`, { referenceIds: [songs.referenceIds[1]] }),
    ).toMatchObject(refusal(409, 'WALK_STATE'));
  });
});

describe('notes', () => {
  const scales = ['low', 'air', 'voice'] as const;
  const planned = (stops: readonly string[]) =>
    fc.array(
      fc.record({
        stop: fc.constantFrom(...stops),
        what: fc.constantFrom(...scales),
        subject: fc.constantFrom<'song' | 0 | 1>('song', 0, 1),
        value: fc.constantFrom(-1, 0, 1, null),
        minute: fc.integer({ min: 0, max: 5 }),
        device: fc.constantFrom('devicea1', 'deviceb2'),
      }),
      { minLength: 1, maxLength: 14 },
    );

  test('any order and any repetition of syncs of two devices give the same; the later one counts and all are kept', async () => {
    const one = await begin([{ name: 'Kitchen' }, { name: 'Van' }]);
    const stops = one.stops.map(({ id }) => id);
    await fc.assert(
      fc.asyncProperty(planned(stops), fc.infiniteStream(fc.nat()), async (wanted, chance) => {
        const notes = wanted.map(({ stop, what, subject, value, minute, device }) => ({
          device,
          note: note(stop, what, value, { subject, at: `2026-01-05T10:0${minute}:00.000Z` }),
        }));
        const pick = <T>(from: readonly T[]) => from[chance.next().value! % from.length];
        const runs: WalkDetail[] = [];
        for (let run = 0; run < 2; run++) {
          // The same walk anew: the places by the ids that a notebook gave them.
          const walk = await newWalk(client, {
            versionId: songs.versionId,
            referenceIds: songs.referenceIds,
          });
          const base = server.url + (await linked(client, walk.id)).path;
          const named = stops.map((id, i) => ({ id, name: `Place ${i}` }));
          const parcels = notes.map(({ device, note: each }) => sync([each], device, named));
          const sent = [...parcels];
          for (let i = 0; i < 3; i++) sent.push(pick(parcels));
          sent.push(
            sync(
              notes.filter(({ device }) => device === 'devicea1').map((n) => n.note),
              'devicea1',
              named,
            ),
          );
          for (let i = sent.length - 1; i > 0; i--) {
            const j = chance.next().value! % (i + 1);
            [sent[i], sent[j]] = [sent[j], sent[i]];
          }
          for (const parcel of sent) expect((await send(base, parcel)).status).toBe(200);
          runs.push(await detail(walk.id));
          const { notes: history } = await client.get<{ notes: HistoryNote[] }>(
            `/api/walks/${walk.id}/history`,
          );
          expect(history).toHaveLength(notes.length);
        }
        const told = ({ stops: list }: WalkDetail) =>
          list.map(({ song, references, notes: n }) => ({ song, references, n }));
        expect(told(runs[0])).toEqual(told(runs[1]));
        // And what the bench says is what the notes say by themselves.
        const alone = stopsNow(
          stops.map((id) => ({ id, name: '', trust: 1 })),
          2,
          notes.map((each) => each.note),
        );
        expect(runs[0].stops.map(({ song, references }) => ({ song, references }))).toEqual(
          alone.map(({ song, references }) => ({ song, references })),
        );
      }),
      { numRuns: 4, seed: 11 },
    );
  }, 60_000);

  test('a note from a clock that is ahead counts as of when it came', async () => {
    const { id, stops } = await begin();
    const base = server.url + (await linked(client, id)).path;
    await send(base, sync([note(stops[0].id, 'low', 1, { at: '2035-01-01T00:00:00.000Z' })]));
    clock += 60_000;
    await send(base, sync([note(stops[0].id, 'low', -1, { at: new Date(clock).toISOString() })], 'deviceb2'));
    expect((await detail(id)).stops[0].song.scales).toEqual({ low: -1 });
  });

  test('a place that is added on the way is a place, and words and trust are notes', async () => {
    const { id } = await begin();
    const base = server.url + (await linked(client, id)).path;
    const stop = { id: 'a1b2c3d4e5f6a7b8', name: 'Ferry deck' };
    const words: WalkNote = {
      what: 'words',
      key: 'words-0123456789',
      stop: stop.id,
      subject: 'song',
      at: '2026-01-05T10:00:00.000Z',
      value: 'engine hides the cello',
    };
    const trust: WalkNote = {
      what: 'trust',
      key: 'trust-0123456789',
      stop: stop.id,
      at: '2026-01-05T10:00:01.000Z',
      value: 0.2,
    };
    const { body } = await send(base, sync([words, trust], 'devicea1', [stop]));
    expect(body.stops.at(-1)).toMatchObject({
      ...stop,
      trust: 0.2,
      song: { words: 'engine hides the cello' },
    });
  });

  test('what is no note of this walk is refused, and then none of the parcel is taken', async () => {
    const { id, stops } = await begin();
    const base = server.url + (await linked(client, id)).path;
    const good = note(stops[0].id, 'low', 1);
    for (const bad of [
      note('0000000000000000', 'low', 1),
      note(stops[0].id, 'low', 1, { subject: 3 }),
      { ...good, key: 'x' },
      { ...good, value: 7 } as WalkNote,
    ])
      expect(await send(base, sync([good, bad]))).toMatchObject(refusal(422, 'WALK_NOTES_INVALID'));
    expect(await send(base, 'no json', { 'content-type': 'text/plain' })).toMatchObject(
      refusal(422, 'WALK_NOTES_INVALID'),
    );
    expect((await detail(id)).stops[0].notes).toBe(0);
  });

  test('a file of notes is taken in once, and only by its own walk', async () => {
    const [{ id, stops }, other] = [await begin(), await begin()];
    const { path } = await linked(client, id);
    const { notebook } = await client.get<WalkNotebook>(`${path}/notebook`);
    const file = {
      format: 'everyroom-walk-notes/1',
      notebook,
      ...sync([note(stops[0].id, 'mid', 1), note(stops[0].id, 'air', -1)]),
    };
    const take = (walk: string, body: unknown) =>
      client.call<WalkTaken>('POST', `/api/walks/${walk}/file`, body);
    expect((await take(id, file)).body).toEqual({ taken: 2, before: 0, sentences: ['2 notes taken in.'] });
    expect((await take(id, file)).body).toMatchObject({ taken: 0, before: 2 });
    expect(await take(other.id, file)).toMatchObject(refusal(422, 'WALK_NOTES_INVALID'));
    expect(await take(id, { ...file, format: 'other/1' })).toMatchObject(refusal(422, 'WALK_NOTES_INVALID'));
    expect((await detail(id)).stops[0].song.scales).toEqual({ mid: 1, air: -1 });
  });
});

describe('what a link opens', () => {
  test('one notebook and nothing else; no id, hash or path of the bench in any byte, nothing of other songs', async () => {
    const { id } = await begin();
    const other = await begin();
    const share = (walkId: string, on: boolean) =>
      client.call<WalkSharing>('PUT', `/api/walks/${walkId}/sharing`, { on }).then(({ body }) => body);
    expect(await client.get('/api/walks/sharing')).toMatchObject({ on: false });
    const {
      addresses: [address],
      walkId,
    } = await share(id, true);
    expect(walkId).toBe(id);
    const { path, links } = await linked(client, id);
    expect(links.map(({ url }) => url)).toEqual([address + path]);
    const base = address + path;
    const secrets = await secretsOf(client, folder.path);
    const look = async (url: string) => {
      const response = await fetch(url);
      const headers = JSON.stringify([...response.headers]);
      const bytes = Buffer.from(await response.arrayBuffer()).toString('latin1');
      for (const secret of [...secrets, id, other.id]) {
        if (bytes.includes(secret) || headers.includes(secret)) expect.fail(`${url} holds ${secret}`);
      }
      return { status: response.status, bytes };
    };
    expect((await look(base)).status).toBe(200);
    const { bytes } = await look(`${base}/notebook`);
    const { sounds } = JSON.parse(bytes) as WalkNotebook;
    for (const { sound } of sounds) expect((await look(`${base}/sounds/${sound}`)).status).toBe(200);
    const carried = await look(`${base}/page.html`);
    expect(carried.bytes).toContain(`id="sound-${sounds[0].sound}"`);
    for (const path_ of ['/', '/api/songs', `/api/walks/${id}`, '/api/walks', '/assets/page.js', '/v/none'])
      expect((await look(address + path_)).status).toBe(404);
    for (const path_ of ['/sounds/none', '/sounds/..%2f..%2feveryroom.db', '/none'])
      expect((await look(base + path_)).status).toBe(404);
    // Another walk's link does not open here, nor does a wrong one, nor one that was withdrawn.
    const foreign = await linked(client, other.id);
    expect((await look(`${address}${foreign.path}/notebook`)).status).toBe(403);
    expect(
      (await look(`${address}${path.slice(0, -1)}${path.endsWith('a') ? 'b' : 'a'}/notebook`)).status,
    ).toBe(403);
    await client.call('DELETE', `/api/walks/${id}/links`);
    expect((await look(`${base}/notebook`)).status).toBe(403);
    await share(id, false);
    await expect(fetch(base)).rejects.toThrow();
  });

  test('from disk only notes are taken, and from other sites nothing', async () => {
    const { id, stops } = await begin();
    const { body } = await client.call<WalkSharing>('PUT', `/api/walks/${id}/sharing`, { on: true });
    const [address] = body.addresses;
    const { path } = await linked(client, id);
    const parcel = JSON.stringify(sync([note(stops[0].id, 'low', 1)]));
    const taken = await send(address + path, parcel, { origin: 'null', 'content-type': 'text/plain' });
    expect(taken.status).toBe(200);
    expect(taken.headers.get('access-control-allow-origin')).toBe('null');
    const from = (origin: string, url: string, method = 'GET') =>
      rawRequest(address, url, { method, headers: { host: new URL(address).host, origin } });
    expect((await from('null', `${path}/notebook`)).status).toBe(403);
    expect((await from('http://elsewhere.example', `${path}/notes`, 'POST')).status).toBe(403);
    expect(
      (await rawRequest(address, `${path}/notebook`, { headers: { host: 'elsewhere.example' } })).status,
    ).toBe(403);
    // On loopback, where everything else is, a page from disk is no exception.
    const here = await send(server.url + path, parcel, { origin: 'null', 'content-type': 'text/plain' });
    expect(here).toMatchObject(refusal(403, 'REQUEST_FORBIDDEN'));
    await client.call('PUT', `/api/walks/${id}/sharing`, { on: false });
  });
});

describe('the correction', () => {
  test('answers what was tapped, names what conflicts, and says beforehand what every place would hear', async () => {
    const walk = await begin([{ placeId: 'car-parked' }, { placeId: 'home-theatre' }, { placeId: 'phone' }]);
    const { id } = walk;
    const base = server.url + (await linked(client, id)).path;
    const [car, theatre, phone] = walk.stops.map((stop) => stop.id);
    const right = (stop: string) =>
      ([0, 1] as const).flatMap((subject) =>
        (['low', 'lowMid', 'mid', 'presence', 'air'] as const).map((what) =>
          note(stop, what, 0, { subject }),
        ),
      );
    await send(
      base,
      sync([
        ...[car, theatre, phone].flatMap(right),
        note(car, 'low', 1),
        note(theatre, 'low', -1),
        ...[car, theatre, phone].map((stop) => note(stop, 'presence', 1)),
        note(phone, 'low', -1),
        note(car, 'voice', -1),
      ]),
    );
    const correction = await client.get<Correction>(`/api/walks/${id}/correction`);
    expect(correction.conflicts).toEqual([
      { area: 'low', tooMuch: [car], tooLittle: [theatre], compromiseDb: expect.any(Number) },
    ]);
    expect(correction.sentences.join(' ')).toMatch(
      /Too much bass in .+, too little in .+: no curve answers both/,
    );
    // The phone cannot play what it was asked to judge.
    expect(correction.wishes.some(({ stopId, area }) => stopId === phone && area === 'low')).toBe(false);
    expect(correction.others).toMatchObject([
      { stopId: car, text: expect.stringContaining('voice is too far back') },
    ]);
    const at = (hertz: number, of: Correction) =>
      of.curve.reduce((a, b) => (Math.abs(b.hertz - hertz) < Math.abs(a.hertz - hertz) ? b : a));
    expect(at(3500, correction).bandsDb).toBeLessThan(-2);
    for (const { wantedDb, bandsDb, hertz } of correction.curve)
      if (hertz > 24 && hertz < 17_000) expect(Math.abs(wantedDb - bandsDb)).toBeLessThan(1);
    expect(readChain(correction.chain)).toEqual(correction.chain);
    expect(correction.bands.every(({ why }) => why.endsWith('.'))).toBe(true);

    const main = correction.bands.reduce((a, b) => (Math.abs(b.gainDb) > Math.abs(a.gainDb) ? b : a));
    const refused = await client.get<Correction>(`/api/walks/${id}/correction?refuse=${main.number}`);
    expect(refused.bands.filter((band) => band.refused).map(({ number }) => number)).toEqual([main.number]);
    expect(Math.abs(at(main.hertz, refused).bandsDb - at(main.hertz, correction).bandsDb)).toBeGreaterThan(2);

    const { places, sentences } = await client.get<Predictions>(`/api/walks/${id}/predictions`);
    expect(places.slice(0, 3).map(({ stopIds }) => stopIds.length)).toEqual([1, 1, 1]);
    expect(places.length).toBeGreaterThanOrEqual(14);
    expect(sentences[0]).toMatch(/^Of /);
    for (const { areas } of places) {
      const presence = areas.find(({ area }) => area === 'presence')!;
      // Less presence is asked for, and less of it is heard everywhere.
      expect(presence.afterPhon! - presence.beforePhon!).toBeLessThan(0);
      expect(presence.lowPhon).toBeLessThanOrEqual(presence.highPhon!);
    }
    const unchanged = await client.get<Predictions>(
      `/api/walks/${id}/predictions?refuse=${correction.bands.map(({ number }) => number).join(',')}`,
    );
    for (const { areas } of unchanged.places)
      for (const { beforePhon, afterPhon } of areas) expect(afterPhon).toBe(beforePhon);
  }, 60_000);

  test('an empty walk asks for nothing', async () => {
    const { id } = await begin();
    const { sentences, bands, chain } = await client.get<Correction>(`/api/walks/${id}/correction`);
    expect(sentences).toEqual(['Nothing was found wrong that your references do not share.']);
    expect([bands, chain.parts]).toEqual([[], []]);
  });
});
