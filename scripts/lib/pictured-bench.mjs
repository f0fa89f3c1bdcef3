// A bench on which every screen has something to show: the demo record, a set of its references, notes, a lossy run,
// shoot-outs at every stage, a catalogue, and a file that is none.
import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { root } from './root.mjs';

/** Calls the interface of a running server. */
function apiOf(url) {
  return async (method, path, body, headers = { 'content-type': 'application/json' }) => {
    const response = await fetch(url + path, {
      method,
      headers: body === undefined ? {} : headers,
      body: body === undefined || body instanceof Uint8Array ? body : JSON.stringify(body),
    });
    if (!response.ok) throw new Error(`${method} ${path}: ${response.status} ${await response.text()}`);
    return response.status === 204 ? null : response.json();
  };
}

/** Puts the demo record on the bench and checks a song and the references; resolves to that song and all of them. */
export async function demoSong(url, { references = false } = {}) {
  const api = apiOf(url);
  const { songs } = await api('POST', '/api/demo');
  const [first, ...rest] = songs;
  const own = rest.flatMap(({ versions }) => versions).filter(({ kind }) => kind === 'reference');
  for (const { id } of first.versions) await api('POST', `/api/versions/${id}/check`, {});
  if (references) for (const { id } of own) await api('POST', `/api/versions/${id}/check`, { lossy: false });
  await idle(api);
  return { song: await api('GET', `/api/songs/${first.id}`), references: own };
}

/** The list of jobs is empty when all have ended. */
async function idle(api) {
  while ((await api('GET', '/api/jobs')).jobs.length > 0) await sleep(250);
}

/** Gives every screen something to show; resolves to the screens, by name and path. */
export async function everyScreen(url, { song, references }, faulty) {
  const api = apiOf(url);
  const [mix, ...masters] = [...song.versions].sort(
    (a, b) => Number(b.kind === 'mix') - Number(a.kind === 'mix'),
  );
  await api('PUT', '/api/desk/level', { cautionRead: true });
  const set = await api('POST', '/api/sets', { name: 'Evenings at the harbour' });
  for (const { id } of references) await api('PUT', `/api/sets/${set.id}/members/${id}`);
  for (const [atSeconds, text] of [
    [31.2, 'esses on the second line'],
    [64, 'the bass sits well here'],
  ])
    await api('POST', `/api/versions/${faulty.id}/notes`, { atSeconds, text });
  const shootouts = [];
  for (const stage of ['draft', 'open', 'revealed']) shootouts.push(await shootout(api, stage, mix, masters));
  await api('POST', `/api/versions/${faulty.id}/survive`, { formatIds: ['aac-96', 'mp3-128', 'opus-96'] });
  const text = new TextEncoder().encode('Dear listener, this is a letter and no sound at all.');
  const bytes = { 'content-type': 'application/octet-stream' };
  const query = new URLSearchParams({ name: 'Broken bounce.wav', songId: song.id });
  const { version: broken } = await api('POST', `/api/versions?${query}`, text, bytes);
  await api('POST', `/api/versions/${faulty.id}/places`, { setId: set.id });
  await idle(api);
  const chain = {
    version: 1,
    parts: [
      ['sub-filter', { hertz: 25, slope: '12' }],
      [
        'equaliser',
        {
          bands: [
            { shape: 'bell', hertz: 250, gainDb: -1.5, q: 0.8 },
            { shape: 'bell', hertz: 3200, gainDb: 0.8, q: 1, on: 'mid' },
            { shape: 'high-shelf', hertz: 9000, gainDb: 1.5, q: 0.7 },
          ],
        },
      ],
      ['compressor', { thresholdDbfs: -20, ratio: 1.6, attackMs: 30, releaseBy: 'programme' }],
      ['limiter', { gainDb: 5, ceilingDbtp: -1 }],
      ['dither', { bits: '24' }],
    ].map(([kind, settings]) => ({ id: kind, kind, bypassed: false, settings })),
  };
  await api('POST', `/api/versions/${mix.id}/chains`, { name: 'First idea', chain });
  const walked = await walk(api, masters[0], references);
  return [
    ['bench', '/'],
    ['song', `/songs/${song.id}`],
    ['verdict', `/versions/${faulty.id}`],
    ['broken', `/versions/${broken.id}`],
    ['change', `/versions/${masters[0].id}/change/${mix.id}`],
    ['survive', `/versions/${faulty.id}/survive`],
    ['desk', `/songs/${song.id}/desk`],
    ['finish', `/songs/${song.id}/finish`],
    [
      'finish-equaliser',
      `/songs/${song.id}/finish`,
      (page) =>
        page
          .getByRole('button', { name: /Equaliser/ })
          .first()
          .click(),
    ],
    [
      'finish-limiter',
      `/songs/${song.id}/finish`,
      (page) =>
        page
          .getByRole('button', { name: /Limiter/ })
          .first()
          .click(),
    ],
    [
      'finish-proposal',
      `/songs/${song.id}/finish`,
      (page) =>
        page
          .getByRole('button', { name: /difference to/ })
          .first()
          .click(),
    ],
    ['sets', '/sets'],
    ['set', `/sets/${set.id}`],
    ['watch', '/watch'],
    ['storage', '/storage'],
    ['song-places', `/versions/${faulty.id}/places`],
    ['place-opened', `/versions/${faulty.id}/places?place=car-110`],
    ['broken-places', `/versions/${broken.id}/places`],
    ['places', '/places'],
    ['place', '/places/phone'],
    ['measure-place', '/places/measure'],
    ...(await catalogue(api)),
    ...shootouts.flat(),
    ...walked,
    ...(await record(api, masters)),
  ];
}

/** A record of three versions with something left to mend, and the page of somebody who may approve one of them. */
async function record(api, masters) {
  const versionIds = masters.slice(0, 3).map(({ id }) => id);
  const made = await api('POST', '/api/records', {
    ...{ title: 'Lanterns at Low Water', artist: 'Ottilie Brandsen', kind: 'ep', versionIds },
  });
  const songs = made.record.songs.map((song, i) => ({
    ...song,
    writers: ['Ottilie Brandsen'],
    isrc: i < 2 ? `ZZHBR260000${i + 1}` : '',
    join: i === 1 ? 'crossfade' : 'gap',
  }));
  const profiles = ['hi-res', 'streaming', 'cd', 'vinyl'];
  await api('PUT', `/api/records/${made.id}`, { ...made.record, songs, profiles, barcode: '2012345678903' });
  const { path } = await api('POST', `/api/versions/${versionIds[0]}/reviews/links`, {
    ...{ name: 'Ilka Moor', note: 'Please listen to the second verse.' },
  });
  await api('POST', `${path}words`, {
    what: 'wish',
    text: 'The last chorus a little quieter.',
    atSeconds: 31.5,
  });
  return [
    ['records', '/records'],
    ['record', `/records/${made.id}`],
    ['review', path],
  ];
}

/** A walk with notes of three places; with its notebook. */
async function walk(api, version, references) {
  const { id, stops } = await api('POST', '/api/walks', {
    versionId: version.id,
    referenceIds: references.slice(0, 2).map((each) => each.id),
    title: 'Saturday round',
    stops: [
      { placeId: 'car-parked', name: 'The van, parked', trust: 0.9 },
      { placeId: 'kitchen-radio' },
      { placeId: 'home-theatre', trust: 0.6 },
      { name: 'Aunt Petra’s kitchen' },
    ],
  });
  const [van, radio, theatre] = stops.map((stop) => stop.id);
  const tapped = [
    ...[van, radio, theatre].flatMap((stop) => [0, 1].map((subject) => [stop, 'low', 0, subject])),
    [van, 'low', 1],
    [van, 'presence', 1],
    [van, 'voice', -1],
    [radio, 'presence', 1],
    [radio, 'lowMid', 1],
    [theatre, 'low', -1],
    [theatre, 'air', -1],
  ];
  const notes = tapped.map(([stop, what, value, subject = 'song']) => ({
    ...{ stop, what, value, subject },
    at: '2026-01-05T10:00:00.000Z',
    key: crypto.randomUUID(),
  }));
  const { path } = await api('POST', `/api/walks/${id}/links`);
  await api('POST', `${path}/notes`, { device: 'pictured', stops: [], notes });
  return [
    ['walk', `/walks/${id}`],
    ['notebook', path],
  ];
}

/** The demo record checked as a catalogue, twice: as it is streamed, and as it would be broadcast. */
async function catalogue(api) {
  const songs = join(process.env.EVERYROOM_HOME, 'demo');
  for (const profile of ['streaming', 'broadcast-r128']) {
    const args = [join(root, 'dist/program/main.js'), 'catalogue', 'check', songs, '--profile', profile];
    spawnSync(process.execPath, args, { env: { ...process.env, DATABASE_URL: '' } });
  }
  const [after, before] = (await api('GET', '/api/catalogue')).runs;
  const path = `/catalogue/${after.id}`;
  return [
    ['catalogues', '/catalogue'],
    ['catalogue', `${path}?compare=${before.id}`],
    ['catalogue-narrowed', `${path}?worst=mend&sort=lufs&descending=true`],
    ['catalogue-song', `${path}/songs/1`],
  ];
}

/** A shoot-out of the song's masters, brought to a stage; with the page of a voter while voting is open. */
async function shootout(api, stage, mix, masters) {
  const { id } = await api('POST', '/api/shootouts', {
    mixVersionId: mix.id,
    title: `Which master (${stage})`,
  });
  const makers = ['Ottilie Brandwein', 'my own', 'Casimir Oduya'];
  for (const [i, maker] of makers.entries())
    await api('POST', `/api/shootouts/${id}/entries/versions`, {
      versionId: masters[i].id,
      maker,
      yours: maker === 'my own',
    });
  const path = `/shootouts/${id}`;
  if (stage === 'draft') return [['shootout-draft', path]];
  await api('POST', `/api${path}/open`, { listeners: 3, rounds: 6 });
  const { path: voter } = await api('POST', `/api${path}/listeners`, { name: 'Dmitri', where: 'here' });
  if (stage === 'open')
    return [
      ['shootout-open', path],
      ['voter', voter],
    ];
  const key = () => ({ 'content-type': 'application/json', 'idempotency-key': crypto.randomUUID() });
  for (let { next } = await api('GET', `${voter}/session`); next; )
    ({ next } = await api('POST', `${voter}/answers`, { round: next.round, answer: 'first' }, key()));
  await api('POST', `/api${path}/reveal`);
  return [['shootout-revealed', path]];
}
