import { createHash, createHmac } from 'node:crypto';
import { mkdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { decodeSamples } from '../../src/audio/sample-coding.ts';
import { readChain } from '../../src/finish/chain.ts';
import type {
  Invitation,
  Lessons,
  PackCheck,
  Plan,
  RemoteWritten,
  Sharing,
  ShootoutDetail,
  ShootoutResults,
  VotesTaken,
  Written,
} from '../../src/server/shootout-api.ts';
import { type RunningServer, startServer } from '../../src/server/start.ts';
import { type VoterFolder, voterFolderSchema } from '../../src/shootout/voter-shapes.ts';
import { Client, scratchFolder } from './server-support.ts';
import {
  answered,
  draft,
  invited,
  mixAndMasters,
  opened,
  pageStub,
  session,
  soundsOf,
  take,
  voteAll,
  wavOf,
} from './shootout-support.ts';

let folder: Awaited<ReturnType<typeof scratchFolder>>;
let server: RunningServer;
let client: Client;

beforeAll(async () => {
  folder = await scratchFolder();
  await mkdir(join(folder.path, 'user', 'Out'), { recursive: true });
  server = await startServer({
    port: 0,
    home: join(folder.path, 'home'),
    poolSize: 1,
    bench: { idle: true, voterPagePath: await pageStub(folder.path), userHome: join(folder.path, 'user') },
    // What a phone reaches in earnest; here the tests do.
    sharing: { addresses: () => ['127.0.0.1'], port: 0 },
  });
  client = new Client(server.url);
});

afterAll(async () => {
  await server.close();
  await folder[Symbol.asyncDispose]();
});

const at = (id: string) => `/api/shootouts/${id}`;
const outFolder = async () => {
  const { folders } = await client.get<{ folders: { token: string; name: string }[] }>('/api/watch/folders');
  return folders.find(({ name }) => name === 'Out')!.token;
};

async function shared(id: string): Promise<string> {
  const { body } = await client.call<Sharing>('PUT', `${at(id)}/sharing`, { on: true });
  return body.addresses[0];
}

describe('one shoot-out from the mix to the reveal', () => {
  let id: string;

  test('the mix goes out with a brief and checksums that fit', async () => {
    ({ id } = await draft(client, folder.path));
    const check = await client.get<PackCheck>(`${at(id)}/pack`);
    expect(check.findings.length).toBeGreaterThan(0);
    const { status, body } = await client.call<Written>('POST', `${at(id)}/pack`, {
      folder: await outFolder(),
      brief: { wishes: 'Keep the room.', deadline: 'Friday' },
    });
    expect(status).toBe(201);
    expect(body.files.map(({ name }) => name)).toEqual([
      'Harbour mix 7 (mix).wav',
      'SHA256SUMS',
      'brief.txt',
    ]);
    const sums = (await readFile(join(body.path!, 'SHA256SUMS'), 'utf8')).trim().split('\n');
    for (const line of sums) {
      const [sum, name] = line.split(/ {2}(.*)/s);
      const bytes = await readFile(join(body.path!, name));
      expect(createHash('sha256').update(bytes).digest('hex')).toBe(sum);
    }
    const brief = await readFile(join(body.path!, 'brief.txt'), 'utf8');
    expect(brief).toContain('Keep the room.');
    expect(brief).toContain('Friday');
    const fetched = await client.call<Written>('POST', `${at(id)}/pack`, {});
    const one = await fetch(`${client.url}/api/shootouts/written/${fetched.body.key}/brief.txt`);
    expect(await one.text()).toContain('Harbour mix 7');
  });

  test('what comes back is recognised; another song and the mix itself are refused with a reason', async () => {
    const detail = await client.get<ShootoutDetail>(at(id));
    expect(detail.entries.map(({ maker }) => maker)).toEqual(
      mixAndMasters().masters.map(({ maker }) => maker),
    );
    const other = await wavOf(folder.path, 'other.wav', mixAndMasters(77).mix);
    expect(await take(client, id, other, { name: 'other.wav', maker: 'Nobody' })).toMatchObject({
      status: 422,
      body: { error: { code: 'MASTER_REFUSED' } },
    });
    const mix = await wavOf(folder.path, 'again.wav', mixAndMasters().mix);
    expect((await take(client, id, mix, { name: 'again.wav', maker: 'Nobody' })).status).toBe(422);
    const { entries } = await client.get<ShootoutDetail>(at(id));
    expect(entries).toHaveLength(3);
  });

  test('it says beforehand what it can tell apart, and opens', async () => {
    const plan = await client.call<Plan>('POST', `${at(id)}/plan`, { listeners: 4, rounds: 6 });
    expect(plan.body).toMatchObject({ rounds: 6, tooLong: false });
    expect(plan.body.sentences[0]).toMatch(/^With four listeners and 24 votes in all/);
    const detail = await opened(client, id);
    expect(detail).toMatchObject({ state: 'open', missing: null, size: { listeners: 4, rounds: 6 } });
    expect((await client.call('POST', `${at(id)}/open`, {})).status).toBe(409);
    expect((await client.call('PATCH', at(id), { kind: 'abx' })).status).toBe(409);
    expect((await client.call('DELETE', `${at(id)}/entries/${detail.entries[0].id}`)).status).toBe(404);
  });

  test('the host’s side tells neither rounds nor seed before the reveal', async () => {
    await invited(client, id, 'Me', 'here');
    const text = JSON.stringify([await client.get(at(id)), await client.get(`${at(id)}/results`)]);
    expect(text).not.toMatch(/seed|firstId|secondId|"letters":\[\{/);
  });

  test('votes come in from here, the network and far away; the brighter one is told to win', async () => {
    // The sound of a round is judged by what is in it, as a listener would: here, by how bright it is.
    const brightness = async (base: string, handle: string) => {
      const wav = new Uint8Array(await (await fetch(`${base}/sounds/${handle}`)).arrayBuffer());
      const [left] = decodeSamples(wav.subarray(44), 's24', 2, true);
      let sum = 0;
      for (let i = 1; i < left.length; i++) sum += (left[i] - left[i - 1]) ** 2;
      return sum;
    };
    const judge = (base: string) => async (round: Parameters<Parameters<typeof voteAll>[1]>[0]) => {
      const [a, b] = soundsOf(round);
      return (await brightness(base, a)) > (await brightness(base, b)) ? 'first' : 'second';
    };
    const { listeners } = await client.get<ShootoutDetail>(at(id));
    const me = await client.call<Invitation>('POST', `${at(id)}/listeners/${listeners[0].id}/link`, {});
    const here = client.url + me.body.path;
    expect(await voteAll(here, judge(here))).toBe(6);
    const address = await shared(id);
    for (const name of ['Ilka', 'Bram']) {
      const { links, path } = await invited(client, id, name);
      expect(links).toEqual([{ url: address + path, qrSvg: expect.stringMatching(/^<svg/) }]);
      expect(await voteAll(links[0].url, judge(links[0].url))).toBe(6);
    }
    const before = await client.get<ShootoutResults>(`${at(id)}/results`);
    expect(before).toMatchObject({ state: 'open', votes: 18, possible: 18, letters: [] });
    expect(before.names.map(({ id: letter }) => letter)).toEqual(['A', 'B', 'C']);

    const { body } = await client.call<RemoteWritten>('POST', `${at(id)}/remote`, {
      name: 'Far',
      folder: await outFolder(),
    });
    const page = await readFile(join(body.path!, 'vote.html'), 'utf8');
    const data = voterFolderSchema.parse(JSON.parse(/id="everyroom-round">(.*?)<\/script>/s.exec(page)![1]));
    const file = await voteFile(data, async ([a, b]) => {
      const bright = async (handle: string) => {
        const wav = await readFile(join(body.path!, data.files[handle]));
        const [left] = decodeSamples(wav.subarray(44), 's24', 2, true);
        return left.reduce((sum, x, i) => sum + (x - (left[i - 1] ?? x)) ** 2, 0);
      };
      return (await bright(a)) > (await bright(b)) ? 'first' : 'second';
    });
    const taken = await client.call<VotesTaken>('POST', `${at(id)}/votes`, file);
    expect(taken.body).toMatchObject({ taken: 6, before: 0 });
    expect((await client.call<VotesTaken>('POST', `${at(id)}/votes`, file)).body).toMatchObject({
      taken: 0,
      before: 6,
    });
    const forged = { ...file, votes: file.votes.replace('first', 'second') };
    expect(await client.call('POST', `${at(id)}/votes`, forged)).toMatchObject({
      status: 422,
      body: { error: { code: 'VOTE_FILE_INVALID' } },
    });

    expect((await client.call('GET', `${at(id)}/lessons`)).status).toBe(409);
    const revealed = await client.call<ShootoutDetail>('POST', `${at(id)}/reveal`);
    expect(revealed.body.state).toBe('revealed');
    // Late ones are told so.
    expect(await client.call('POST', `${at(id)}/votes`, file)).toMatchObject({
      status: 409,
      body: { error: { code: 'VOTE_REFUSED' } },
    });
    expect(await session(here)).toMatchObject({ state: 'closed', next: null });
    expect((await client.call('POST', `${at(id)}/listeners`, { name: 'Late', where: 'here' })).status).toBe(
      409,
    );

    const after = await client.get<ShootoutResults>(`${at(id)}/results`);
    expect(after.sentences[0]).toMatch(/^Casimir Oduya wins, by 24 votes of four listeners\./);
    expect(after.letters).toHaveLength(4);
    const [winner] = after.results.kind === 'preference' ? after.results.all!.strengths : [];
    expect(after.names.find(({ id: entry }) => entry === winner.entryId)?.name).toBe('Casimir Oduya');

    const darkest = revealed.body.entries.find(({ maker }) => maker === 'Wilhelmina Stroud')!;
    const lessons = await client.get<Lessons>(`${at(id)}/lessons?against=${darkest.id}`);
    expect(lessons).toMatchObject({ name: 'Casimir Oduya', againstName: 'Wilhelmina Stroud' });
    const tone = lessons.lessons.find(({ what }) => what === 'tone')!;
    expect(tone.sentence).toMatch(
      /^At equal loudness Casimir Oduya has .+ (more|less) than Wilhelmina Stroud/,
    );
    expect(tone.place).not.toBeNull();
    const chain = readChain(lessons.chain);
    expect(chain.parts[0].kind).toBe('equaliser');
    expect(lessons.chainSentences).toHaveLength(chain.parts.length);
    expect(lessons.chainSentences[0]).toMatch(/^Equaliser: \d+\.\d dB (more|less) (around|above|below) /);
    expect((await client.get<Lessons>(`${at(id)}/lessons`)).versionIds).toHaveLength(2);
  }, 60_000);
});

/** What the page of a folder gives back. */
async function voteFile(
  { folder: from, key, rounds }: VoterFolder,
  decide: (sounds: readonly [string, string]) => Promise<string>,
): Promise<{ format: string; votes: string; signature: string }> {
  const answers: unknown[] = [];
  for (const round of rounds)
    if (round.kind === 'preference')
      answers.push({
        round: round.round,
        answer: await decide(round.sounds),
        at: '2030-01-01T10:00:00.000Z',
      });
  const votes = JSON.stringify({ folder: from, answers });
  const signature = createHmac('sha256', Buffer.from(key, 'hex')).update(votes).digest('hex');
  return { format: 'everyroom-votes/1', votes, signature };
}

describe('ratings of damage and ABX', () => {
  test('have a reference and anchors, equal in size and header', async () => {
    const { id } = await draft(client, folder.path, { kind: 'rating', question: 'damage', masters: 2 });
    await opened(client, id, { listeners: 2 });
    const base = client.url + (await invited(client, id, 'Me', 'here')).path;
    const { next } = await session(base);
    if (next?.kind !== 'rating') throw new Error('no rating');
    expect(next.reference).not.toBeNull();
    expect(next.sounds).toHaveLength(5);
    const files = await Promise.all(
      soundsOf(next).map(async (handle) =>
        Buffer.from(await (await fetch(`${base}/sounds/${handle}`)).arrayBuffer()),
      ),
    );
    expect(new Set(files.map(({ length }) => length)).size).toBe(1);
    expect(new Set(files.map((file) => file.subarray(0, 44).toString('hex'))).size).toBe(1);
    // The open reference is one of the hidden sounds, and no other two are the same.
    expect(new Set(files.map((file) => file.toString('base64'))).size).toBe(5);
    expect((await answered(base, { round: next.round, answer: [1, 2, 3] })).status).toBe(409);
    expect((await answered(base, { round: next.round, answer: [100, 20, 30, 40, 50] })).status).toBe(200);
  }, 30_000);

  test('ABX asks as often as was fixed beforehand, of two', async () => {
    const { id } = await draft(client, folder.path, { kind: 'abx' });
    expect(await client.get(at(id))).toMatchObject({ missing: expect.stringContaining('two masters') });
    const { entries } = await client.get<ShootoutDetail>(at(id));
    await client.call('DELETE', `${at(id)}/entries/${entries[2].id}`);
    await opened(client, id, { listeners: 1, rounds: 8 });
    const base = client.url + (await invited(client, id, 'Me', 'here')).path;
    const bytesOf = async (handle: string) =>
      Buffer.from(await (await fetch(`${base}/sounds/${handle}`)).arrayBuffer());
    const votes = await voteAll(base, async (round) => {
      if (round.kind !== 'abx') throw new Error('no ABX');
      return (await bytesOf(round.x)).equals(await bytesOf(round.a)) ? 'a' : 'b';
    });
    expect(votes).toBe(8);
    const results = await client.get<ShootoutResults>(`${at(id)}/results`);
    expect(results.results).toMatchObject({ listeners: [{ result: { correct: 8, heard: true } }] });
  }, 30_000);
});
