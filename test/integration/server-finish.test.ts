import { readdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { addPart, type Chain, emptyChain } from '../../src/finish/chain.ts';
import type { CeilingStep } from '../../src/judge/finish-report.ts';
import type { ApiError, Job, Song, Version } from '../../src/server/api.ts';
import type { ChainLoudness, Finishing, Made } from '../../src/server/finishing-api.ts';
import { startServer } from '../../src/server/start.ts';
import { levelsByFfmpeg } from '../ffmpeg-levels.ts';
import { outside } from '../outside.ts';
import { Client, music, scratchFolder, writeMusic } from './server-support.ts';

let folder: Awaited<ReturnType<typeof scratchFolder>>;
let server: Awaited<ReturnType<typeof startServer>>;
let client: Client;
let source: Version;

const chain: Chain = addPart(
  addPart(emptyChain, 'equaliser', { bands: [{ hertz: 200, gainDb: -2 }] }),
  'limiter',
  { ceilingDbtp: -1 },
);

beforeAll(async () => {
  folder = await scratchFolder();
  server = await startServer({ port: 0, home: join(folder.path, 'home') });
  client = new Client(server.url);
  // Under its ceiling, so that there is something to gain.
  const song = await readFile(await writeMusic(join(folder.path, 'song.wav'), music(4, { gain: 0.5 })));
  const { body } = await client.upload(song, 'song.wav');
  source = body.version;
  await client.call('POST', `/api/jobs/${body.job?.id}/cancel`);
});
afterAll(async () => {
  await server.close();
  await folder[Symbol.asyncDispose]();
});

const done = (job: Job): Promise<Job> => client.jobEnded(job.id);

const ask = (path: string, body: unknown) =>
  client.call<Job>('POST', `/api/versions/${source.id}/${path}`, body);
const finishing = () => client.get<Finishing>(`/api/versions/${source.id}/finishing`);

test('a version through a chain becomes a version of its song, checked, and tells how it was made', async () => {
  const asked = await ask('finish', { chain, goals: { loudnessLufs: -12, bits: '16' }, chainId: 'evening' });
  expect(asked.body).toMatchObject({ kind: 'finish', versionId: source.id });
  const job = await done(asked.body);
  expect(job).toMatchObject({ state: 'done', error: null });
  const { made } = await finishing();
  expect(made).toHaveLength(1);
  expect(made[0]).toMatchObject({
    fromVersionId: source.id,
    chainId: 'evening',
    goals: { loudnessLufs: -12 },
  });
  expect(made[0].report.made.integratedLufs).toBeCloseTo(-12, 1);
  const song = await client.get<Song>(`/api/songs/${source.songId}`);
  const version = song.versions.find(({ id }) => id === made[0].versionId);
  expect(version).toMatchObject({ kind: 'master', name: 'song (finished, −12.0 LUFS)' });
  // The check, which knows nothing of finishing, reads the same loudness and peak.
  // With the round trips left out, which say nothing here.
  await client.call('POST', `/api/jobs/${version?.job?.id}/cancel`);
  await done((await client.call<Job>('POST', `/api/versions/${version?.id}/check`, { lossy: false })).body);
  const checked = await client.get<Version>(`/api/versions/${version?.id}`);
  expect(checked.verdict?.integratedLufs).toBeCloseTo(made[0].report.made.integratedLufs as number, 2);
  expect(checked.verdict?.truePeakDbtp).toBeCloseTo(made[0].report.made.truePeakDbtp as number, 2);
  const back = await client.get<{ made: Made | null }>(`/api/versions/${version?.id}/made-from`);
  expect(back.made?.fromVersionId).toBe(source.id);
  expect((await client.get<{ made: Made | null }>(`/api/versions/${source.id}/made-from`)).made).toBeNull();
  // Asked again, it is the same version: the same bytes.
  await done((await ask('finish', { chain, goals: { loudnessLufs: -12, bits: '16' } })).body);
  expect((await client.get<Song>(`/api/songs/${source.songId}`)).versions).toHaveLength(2);
});

test('several loudnesses are drafts: heard at equal loudness, one kept, none among the versions', async () => {
  const job = await done((await ask('loudness', { chain, candidates: [-9, -12, -3, -15] })).body);
  expect(job.state).toBe('done');
  const { choice } = await finishing();
  expect(choice?.candidates.map(({ targetLufs }) => targetLufs)).toEqual([-9, -12, -3, -15]);
  const [loud, middle, beyond, quiet] = choice?.candidates ?? [];
  expect(beyond.draft).toBeNull();
  expect(beyond.failure?.code).toBe('FINISH_UNREACHABLE');
  expect(loud.draft?.report.made.integratedLufs).toBeCloseTo(-9, 1);
  expect(loud.draft?.equalGainDb).toBeCloseTo(-6, 1);
  expect(quiet.draft?.equalGainDb).toBeCloseTo(0, 5);
  expect(loud.draft?.report.cost?.reduction.deepestDb).toBeGreaterThan(
    middle.draft?.report.cost?.reduction.deepestDb as number,
  );
  expect(choice?.sentences.join(' ')).toContain('crest factor');
  const song = await client.get<Song>(`/api/songs/${source.songId}`);
  expect(song.versions).toHaveLength(2);

  // Its sound is what the desk plays: floats in two channels, of the loudness that was told.
  const id = loud.draft?.id;
  const response = await fetch(`${client.url}/api/drafts/${id}/sound?rate=44100&from=0&frames=176400`);
  expect(response.headers.get('x-everyroom-frames')).toBe('176400');
  const bytes = new Uint8Array(await response.arrayBuffer());
  expect(bytes.length).toBe(176_400 * 8);
  if (outside('ffmpeg')) {
    const path = join(folder.path, 'draft.f32');
    await writeFile(path, bytes);
    const { lufs } = levelsByFfmpeg('-f', 'f32le', '-ar', '44100', '-ac', '2', '-i', path);
    expect(Math.abs(lufs + 9)).toBeLessThan(0.11);
  }

  const kept = await client.call<Version>('POST', `/api/drafts/${middle.draft?.id}/keep`, {
    name: 'The one',
  });
  expect(kept.status).toBe(201);
  expect(kept.body).toMatchObject({ songId: source.songId, sha256: middle.draft?.report.made.sha256 });
  expect((await client.call('DELETE', `/api/drafts/${id}`)).status).toBe(204);
  expect((await client.call('DELETE', `/api/drafts/${id}`)).status).toBe(404);
  expect((await fetch(`${client.url}/api/drafts/${id}/sound?rate=44100&from=0&frames=8`)).status).toBe(404);
  await client.call('POST', `/api/jobs/${kept.body.job?.id}/cancel`);
});

test('a chain’s loudness of a part and the cost of each tenth of ceiling are answered', async () => {
  const loudness = async (body: unknown) =>
    (await client.call<ChainLoudness>('POST', `/api/versions/${source.id}/chain-loudness`, body)).body;
  const trimmed = addPart(emptyChain, 'trim', { gainDb: -6 });
  const whole = await loudness({ chain: trimmed });
  expect(whole.integratedLufs).toBeCloseTo((whole.sourceLufs as number) - 6, 3);
  expect(whole.truePeakDbtp).toBeCloseTo((whole.sourceTruePeakDbtp as number) - 6, 2);
  const part = await loudness({ chain: trimmed, span: { startSeconds: 2.5, endSeconds: 3.5 } });
  expect(part.integratedLufs).toBeCloseTo((part.sourceLufs as number) - 6, 2);
  expect(part.sourceLufs).not.toBe(whole.sourceLufs);

  const driven = addPart(emptyChain, 'limiter', { gainDb: 9, ceilingDbtp: -1 });
  const { body } = await client.call<{ steps: CeilingStep[] }>(
    'POST',
    `/api/versions/${source.id}/ceiling-steps`,
    { chain: driven, rows: 3 },
  );
  expect(body.steps.map(({ ceilingDbtp }) => ceilingDbtp)).toEqual([-1, -1.1, -1.2]);
  expect(body.steps[0].lostLu).toBe(0);
  // A lower ceiling costs something, and at most as much as turning down would.
  for (const [i, { lostLu }] of body.steps.entries()) {
    expect(lostLu).toBeGreaterThanOrEqual(0);
    expect(lostLu).toBeLessThanOrEqual(0.1 * i + 0.001);
  }
  expect(body.steps[2].lostLu).toBeGreaterThan(0);
});

test('what makes no sense is refused at once, and a cancelled run leaves nothing', async () => {
  const refused = async (path: string, body: unknown) => {
    const answer = await client.call<ApiError>('POST', `/api/versions/${source.id}/${path}`, body);
    return [answer.status, answer.body.error.code, answer.body.error.message];
  };
  const bad = { version: 1, parts: [{ kind: 'limiter', settings: { ceilingDbtp: 3 } }] };
  expect(await refused('finish', { chain: bad })).toEqual([
    422,
    'CHAIN_INVALID',
    'The ceiling of the limiter is a number from -20 to 0 dBTP, not 3.',
  ]);
  expect((await refused('loudness', { chain: { version: 1, parts: [{ kind: 'magic' }] } }))[1]).toBe(
    'CHAIN_INVALID',
  );
  const unknown = { formatIds: ['wax-cylinder'] };
  expect((await refused('finish', { chain, goals: { survive: unknown } }))[1]).toBe('REQUEST_INVALID');
  const { body: job } = await ask('finish', { chain, goals: { loudnessLufs: -11 } });
  const { body: ended } = await client.call<Job>('POST', `/api/jobs/${job.id}/cancel`);
  expect(ended.state).toBe('cancelled');
  expect(ended.error?.message).toBe('The run was cancelled.');
  expect(await readdir(join(folder.path, 'home', 'incoming'))).toEqual([]);
});
