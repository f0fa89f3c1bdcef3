import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { afterEach, expect, test } from 'vitest';
import { readSound } from '../../src/audio/files/read-sound.ts';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import type { Pcm } from '../../src/audio/pcm.ts';
import { openStore } from '../../src/bench/store/database.ts';
import { effectsInPlaces } from '../../src/places/all-places.ts';
import { builtInPlaces } from '../../src/places/built-in-places.ts';
import { curveDb } from '../../src/places/place-curve.ts';
import { songBands } from '../../src/places/song-bands.ts';
import { makeSweep, planSweep } from '../../src/places/sweep.ts';
import type { ApiError, Job } from '../../src/server/api.ts';
import type {
  Measuring,
  PlaceEntry,
  PlacesRequest,
  SongPlaces,
  SweepAbout,
} from '../../src/server/places-api.ts';
import { instantiateKernels } from '../../src/signal/kernels.ts';
import { virtualRoom } from '../conformance/virtual-room.ts';
import { type Answer, Client, music, readEvents, scratchFolder, writeMusic } from './server-support.ts';

const main = fileURLToPath(new URL('../../dist/src/server/start.js', import.meta.url));
const children = new Set<ChildProcess>();

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

async function bringIn(client: Client, path: string, pcm: Pcm, songId?: string) {
  const { body } = await client.upload(await readFile(await writeMusic(path, pcm)), 'song.wav', songId);
  if (body.job) await client.call('POST', `/api/jobs/${body.job.id}/cancel`);
  return body.version;
}

async function heard(client: Client, versionId: string, request: PlacesRequest): Promise<SongPlaces> {
  const { status, body } = await client.call<Job>('POST', `/api/versions/${versionId}/places`, request);
  expect(status, JSON.stringify(body)).toBe(200);
  expect(await client.jobEnded(body.id)).toMatchObject({ kind: 'places', state: 'done' });
  return client.get(`/api/versions/${versionId}/places`);
}

/** The measuring once it has ended, told by the event stream. */
async function measured(client: Client, id: string): Promise<Measuring> {
  const stop = new AbortController();
  const events = await fetch(`${client.url}/api/events`, { signal: stop.signal });
  try {
    const look = () => client.get<Measuring>(`/api/places/measurings/${id}`);
    let now = await look();
    if (now.state !== 'running') return now;
    for await (const { event, data } of readEvents(events)) {
      if (event !== 'places' || !data.includes(id)) continue;
      now = await look();
      if (now.state !== 'running') return now;
    }
    throw new Error('the event stream ended');
  } finally {
    stop.abort();
  }
}

function record(client: Client, id: string, bytes: Uint8Array): Promise<Response> {
  return fetch(`${client.url}/api/places/measurings/${id}/recording?name=kitchen.wav`, {
    method: 'POST',
    headers: { 'content-type': 'application/octet-stream' },
    body: bytes as Uint8Array<ArrayBuffer>,
  });
}

const refused = <T>({ status, body }: Answer<T>) => [status, (body as ApiError).error.code];

/** Options under which effects are kept, of a home whose server has ended. */
async function keptOf(home: string, task: string): Promise<{ files: string; options: string }[]> {
  const store = openStore(join(home, 'everyroom.db'));
  try {
    return await store.selectFrom('results').select(['files', 'options']).where('task', '=', task).execute();
  } finally {
    await store.destroy();
  }
}

test('the library: built-in places stay as they are, copies remember where they came from, changes survive a kill', async () => {
  await using folder = await scratchFolder();
  const home = join(folder.path, 'home');
  let { client, child } = await spawnServer(home);
  const list = async () => (await client.get<{ places: PlaceEntry[] }>('/api/places')).places;
  const before = await list();
  expect(before.map(({ place }) => place)).toEqual(builtInPlaces);
  expect(before.every(({ builtIn, sources }) => builtIn && sources.length === 5)).toBe(true);

  const louder = { ...before[0].place.noise!, levelDba: 61 };
  const edited = await client.call<PlaceEntry>('PATCH', '/api/places/phone', { noise: louder });
  expect(edited.status).toBe(201);
  expect(edited.body).toMatchObject({
    builtIn: false,
    from: { placeId: 'phone', name: 'Phone loudspeaker' },
    place: { name: 'Phone loudspeaker (2)', noise: { levelDba: 61 } },
  });
  const sourceOf = (entry: PlaceEntry, group: string) => entry.sources.find((one) => one.group === group)!.id;
  expect(sourceOf(edited.body, 'noise')).toBe('user');
  expect(sourceOf(edited.body, 'response')).toBe('microspeaker');

  const { id } = edited.body.place;
  const path = `/api/places/${id}`;
  const renamed = await client.call<PlaceEntry>('PATCH', path, { name: 'Küche, abends' });
  expect([renamed.status, renamed.body.place.name]).toEqual([200, 'Küche, abends']);
  await end(child, 'SIGKILL');

  ({ client, child } = await spawnServer(home));
  expect(await list()).toEqual([...before, renamed.body]);
  const copied = await client.call<PlaceEntry>('POST', `${path}/copy`, { name: 'Sweep' });
  expect(copied.body).toMatchObject({
    from: { placeId: id, name: 'Küche, abends' },
    place: { id: 'sweep-2' },
  });
  expect((await client.call('DELETE', path)).status).toBe(204);
  await end(child, 'SIGKILL');

  ({ client, child } = await spawnServer(home));
  expect(refused(await client.call('GET', path))).toEqual([404, 'NOT_FOUND']);
  expect((await client.call<PlaceEntry>('POST', `${path}/restore`)).body.place).toEqual(renamed.body.place);
  expect(refused(await client.call('DELETE', '/api/places/phone'))).toEqual([400, 'REQUEST_INVALID']);
  expect(refused(await client.call('PATCH', path, { name: 'LAPTOP' }))).toEqual([400, 'REQUEST_INVALID']);
  const falling = [
    { hertz: 500, db: 0 },
    { hertz: 100, db: 0 },
  ];
  expect(refused(await client.call('PATCH', path, { response: falling }))).toEqual([400, 'REQUEST_INVALID']);
  await end(child, 'SIGTERM');
});

test('a version in places: as the engine says it, kept, only what is changed worked out anew', async () => {
  await using folder = await scratchFolder();
  const home = join(folder.path, 'home');
  let { client, child } = await spawnServer(home);
  const pcm = music(4);
  const song = await bringIn(client, join(folder.path, 'song.wav'), pcm);
  const other = await bringIn(client, join(folder.path, 'other.wav'), music(4, { gain: 0.5 }));
  const path = `/api/versions/${song.id}/places`;
  expect(await client.get(path)).toEqual({
    job: null,
    settings: null,
    report: null,
    stale: false,
    madeAt: null,
  });
  expect(refused(await client.call('GET', `${path}/report`))).toEqual([404, 'NOT_FOUND']);

  const first = await heard(client, song.id, { referenceIds: [other.id] });
  expect(first).toMatchObject({ stale: false, settings: { level: 'talk-over', placeIds: null } });
  const report = first.report!;
  expect(report.places).toHaveLength(builtInPlaces.length);
  expect(report.against.references.map(({ sha256 }) => sha256)).toEqual([other.sha256]);
  const severities = report.places.map(({ severity }) => severity);
  expect(severities).toEqual(severities.toSorted((a, b) => b - a));
  // Against the engine without store, threads and halved floats.
  const { pcm: read } = await readSound(join(folder.path, 'song.wav'));
  const direct = effectsInPlaces(songBands(instantiateKernels(), read), builtInPlaces);
  for (const { placeId, talkOver } of direct) {
    const { effect } = report.places.find(({ place }) => place.id === placeId)!;
    expect(effect!.levelDba).toBe(talkOver!.levelDba);
    expect(effect!.meanSone / talkOver!.meanSone).toBeCloseTo(1, 3);
    effect!.levelsDb.forEach((level, b) => {
      if (level > 0) expect(level).toBeCloseTo(talkOver!.levelsDb[b], 1);
    });
  }

  // A place of one's own that changes gives another result; the other places and the song's bands are kept.
  const { body: own } = await client.call<PlaceEntry>('POST', '/api/places/car-50/copy', { name: 'My car' });
  expect((await client.get<SongPlaces>(path)).stale).toBe(true);
  const ask = { placeIds: [own.place.id, 'car-50'], referenceIds: [other.id] };
  const same = await heard(client, song.id, ask);
  const effectIn = ({ report }: SongPlaces, id: string) =>
    report!.places.find(({ place }) => place.id === id)!.effect!;
  expect({ ...effectIn(same, 'my-car'), placeId: 'car-50' }).toEqual(effectIn(same, 'car-50'));
  const noise = { ...own.place.noise!, levelDba: 75 };
  await client.call('PATCH', '/api/places/my-car', { noise });
  expect((await client.get<SongPlaces>(path)).stale).toBe(true);
  const changed = await heard(client, song.id, ask);
  expect(changed.stale).toBe(false);
  expect(effectIn(changed, 'my-car').meanSone).toBeLessThan(0.8 * effectIn(same, 'my-car').meanSone);
  expect(effectIn(changed, 'car-50')).toEqual(effectIn(same, 'car-50'));

  const html = await client.call<string>('GET', `${path}/report`);
  expect(html.body).toContain('All places at a glance');
  expect(html.body).toContain('My car');
  expect(html.headers.get('content-security-policy')).toContain("default-src 'none'");
  const wrong: [PlacesRequest, string][] = [
    [{ placeIds: ['nowhere'] }, 'NOT_FOUND'],
    [{ setId: 'none' }, 'NOT_FOUND'],
    [{ level: 140 }, 'REQUEST_INVALID'],
    [{ leadVersionId: other.id }, 'REQUEST_INVALID'],
  ];
  for (const [request, code] of wrong)
    expect(refused(await client.call('POST', path, request))[1], JSON.stringify(request)).toBe(code);
  await end(child, 'SIGTERM');

  // 16 places of two songs, then one more of each: never one twice, and no song read twice.
  const effects = await keptOf(home, 'place-effect');
  expect(effects).toHaveLength(2 * (builtInPlaces.length + 1));
  expect(await keptOf(home, 'song-bands')).toHaveLength(2);
  ({ client, child } = await spawnServer(home));
  expect((await client.get<SongPlaces>(path)).report).toEqual(changed.report);
  await end(child, 'SIGTERM');
});

test('measuring a place: a recording, a draft with what is sure, a place; a kill in between loses nothing', async () => {
  await using folder = await scratchFolder();
  const home = join(folder.path, 'home');
  let { client, child } = await spawnServer(home);
  const about = await client.get<SweepAbout>('/api/places/sweep?seconds=2');
  expect(about.cautions.join(' ')).toMatch(/Ears.*tweeter.*parked/s);
  expect(refused(await client.call('GET', '/api/places/sweep.wav?levelDbfs=0'))).toEqual([
    400,
    'REQUEST_INVALID',
  ]);
  const answer = await fetch(`${client.url}/api/places/sweep.wav?seconds=2&toHz=15000`);
  expect(answer.headers.get('content-disposition')).toContain('attachment');
  const bytes = Buffer.from(await answer.arrayBuffer());
  // What is served is the plan's own signal, to the step of 24 bits.
  const plan = makeSweep(planSweep({ seconds: 2, toHz: 15000 }), 48000);
  const at = bytes.indexOf('data') + 8;
  expect((bytes.length - at) / 3).toBe(plan.channels[0].length);
  expect(bytes.readIntLE(at + 3 * 150_000, 3) / 2 ** 23).toBeCloseTo(plan.channels[0][150_000], 6);

  const room = virtualRoom(4, makeSweep(planSweep({ seconds: 2, toHz: 15000 }), 44_100));
  const recording = join(folder.path, 'recording.wav');
  await writeWav(recording, room.recording, { sampleFormat: 's24' });
  const begin = { sweepSeconds: 2, sweepToHz: 15000 };
  const { body: made } = await client.call<Measuring>('POST', '/api/places/measurings', begin);
  expect(made).toMatchObject({ state: 'waiting', recording: null, microphonePoints: 0 });
  const path = `/api/places/measurings/${made.id}`;
  const choice = { name: 'Kitchen', layout: { kind: 'mono' }, noiseDba: 45 };
  expect(refused(await client.call('POST', `${path}/place`, choice))).toEqual([400, 'REQUEST_INVALID']);
  const sent = await record(client, made.id, await readFile(recording));
  expect(sent.status).toBe(202);
  await end(child, 'SIGKILL');

  ({ client, child } = await spawnServer(home));
  const done = await measured(client, made.id);
  expect(done).toMatchObject({
    state: 'done',
    recording: { name: 'kitchen.wav' },
    measured: { enough: true },
  });
  expect(done.measured!.sentences[0]).toMatch(
    /^The sweep begins 0\.\d s into the recording; \d+ third octaves/,
  );
  const known = done.measured!.bands.flatMap(({ sure, db }, b) =>
    sure && room.bandsDb[b] !== undefined ? [db! - room.bandsDb[b]] : [],
  );
  const middle = known.toSorted((a, b) => a - b)[known.length >> 1];
  for (const off of known) expect(Math.abs(off - middle)).toBeLessThan(1);

  // The same recording, with a microphone that hears 6 dB too much up high.
  const curve = '100 0\n1000 0\n4000 6\n20000 6';
  await client.call('PATCH', path, { microphone: curve });
  const corrected = await measured(client, made.id);
  expect(corrected).toMatchObject({ microphonePoints: 4, sweepSeconds: 2 });
  const b = done.measured!.bands.findIndex(({ centreHz }) => centreHz > 4500);
  const shift = corrected.measured!.bands[b].db! - done.measured!.bands[b].db!;
  expect(shift).toBeLessThan(-4);
  expect(refused(await client.call('PATCH', path, { microphone: 'no curve' }))).toEqual([
    422,
    'MICROPHONE_INVALID',
  ]);

  const kitchen = await client.call<PlaceEntry>('POST', `${path}/place`, choice);
  expect(kitchen.status).toBe(201);
  expect(kitchen.body).toMatchObject({ builtIn: false, place: { id: 'kitchen', noise: { levelDba: 45 } } });
  expect(kitchen.body.sources.map(({ id }) => id)).toEqual(Array(5).fill('measured'));
  expect(curveDb(kitchen.body.place.response, corrected.measured!.bands[b].centreHz)).toBeCloseTo(
    corrected.measured!.bands[b].db!,
    6,
  );

  // Asked for a sweep of another length, nothing is found, and it says so.
  await client.call('PATCH', path, { sweepSeconds: 20 });
  const failed = await measured(client, made.id);
  expect([failed.state, failed.error?.code, failed.measured]).toEqual(['failed', 'SIGNAL_NOT_FOUND', null]);
  expect((await client.call('DELETE', path)).status).toBe(204);
  expect(refused(await client.call('GET', path))).toEqual([404, 'NOT_FOUND']);
  expect((await client.get<PlaceEntry>('/api/places/kitchen')).place).toEqual(kitchen.body.place);
  await end(child, 'SIGTERM');
});
