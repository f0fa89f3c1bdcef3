import { copyFile, mkdir, readdir, readFile, rename, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Job } from '../../src/server/api.ts';
import type { ReferenceSet, Standing, Watch } from '../../src/server/keeping-api.ts';
import { startServer } from '../../src/server/start.ts';
import { everyroom, type Ran } from './cli-run.ts';
import { Client, scratchFolder, writeMusic } from './server-support.ts';
import { hits } from './song-support.ts';

type Scratch = Awaited<ReturnType<typeof scratchFolder>>;

describe('reference sets from the terminal', () => {
  let folder: Scratch;
  const at = (name: string) => join(folder.path, name);
  /** Two machines: two data folders that know nothing of each other. */
  const on =
    (machine: 'here' | 'there') =>
    (command: string, ...args: string[]) =>
      everyroom([...command.split(' '), ...args], { env: { EVERYROOM_HOME: at(machine) } });
  const [here, there] = [on('here'), on('there')];
  const done = async (run: Promise<Ran>): Promise<string> => {
    const { code, stdout, stderr } = await run;
    expect(stderr).not.toMatch(/\([A-Z_]+\)/);
    expect(code).toBe(0);
    return stdout;
  };
  const refused = async (run: Promise<Ran>, code: string): Promise<string> => {
    const ran = await run;
    expect(ran).toMatchObject({ code: 2, stdout: '' });
    expect(ran.stderr).toContain(`(${code})`);
    expect(ran.stderr).not.toMatch(/at .*\.js|undefined/);
    return ran.stderr;
  };

  beforeAll(async () => {
    folder = await scratchFolder();
    for (const seed of [1, 2, 3]) await writeMusic(at(`ref ${seed}.wav`), hits(3, { seed, bassGain: 0.3 }));
    await writeMusic(at('song.wav'), hits(3, { seed: 9, bassGain: 1 }));
  });
  afterAll(() => folder[Symbol.asyncDispose]());

  test('are made, filled, shown, and tell where a song stands', async () => {
    expect(await done(here('references list'))).toContain('There is no reference set yet');
    await done(here('references make', 'Evenings'));
    await refused(here('references add', 'Mornings', at('ref 1.wav')), 'NOT_FOUND');
    const filled = await here('references add', 'Evenings', at('ref 1.wav'), at('none.wav'), at('ref 2.wav'));
    expect(filled).toMatchObject({ code: 2, stdout: '“Evenings” holds two references.\n' });
    expect(filled.stderr).toContain('“none.wav” does not exist');
    // The same bytes again are the same reference.
    await copyFile(at('ref 1.wav'), at('again.wav'));
    expect(await done(here('references add', 'evenings', at('again.wav')))).toContain('two references');

    const text = await done(here('references show', 'Evenings'));
    expect(text).toMatch(/^loudness LUFS( +−\d+\.\d){5}$/m);
    expect(text).toMatch(/^1000 Hz( +−\d+\.\d){5}$/m);
    const standing = await done(here('standing', at('song.wav'), '--set', 'Evenings'));
    expect(standing).toMatch(/^song\.wav\nagainst “Evenings”, at equal loudness\n/);
    expect(standing).toMatch(/· Between \d+(\.\d)? and \d+ Hz you are \d+ dB above any of your references\./);
    for (const line of standing.split('\n')) expect(line.length).toBeLessThanOrEqual(80);
    const json = JSON.parse(
      await done(here('standing', '--json', '--set', 'Evenings', at('song.wav'))),
    ) as Standing;
    expect(json.whole.against.figures.plrDb.count).toBe(2);
    expect(json.headline).toContain('Two references can hardly say');
    await refused(here('standing', at('none.wav'), '--set', 'Evenings'), 'FILE_NOT_FOUND');
  });

  test('travel as a folder and are the same there; what was changed on the way is refused whole', async () => {
    await done(here('references export', 'Evenings', at('stick')));
    expect((await readdir(at('stick'))).sort()).toEqual(['01 ref 1.wav', '02 ref 2.wav', 'set.json']);
    expect((await readdir(folder.path)).filter((name) => name.endsWith('.part'))).toEqual([]);
    expect(await done(there('references import', at('stick')))).toBe(
      'Took in “Evenings” with two references.\n',
    );
    const shown = async (machine: typeof here) => {
      const { whole, loudest, references } = JSON.parse(
        await done(machine('references show', 'Evenings', '--json')),
      );
      return { whole, loudest, hashes: references.map(({ sha256 }: { sha256: string }) => sha256) };
    };
    expect(await shown(there)).toEqual(await shown(here));
    expect(await done(there('references import', at('stick')))).toContain('“Evenings (2)”');
    await refused(here('references export', 'Evenings', at('stick')), 'REQUEST_INVALID');

    const bytes = await readFile(at('stick/02 ref 2.wav'));
    bytes[5000] ^= 1;
    await writeFile(at('stick/02 ref 2.wav'), bytes);
    expect(await refused(there('references import', at('stick')), 'SET_INVALID')).toContain(
      '“02 ref 2.wav” is not the file that its list names',
    );
    // Nothing of the refused one came in.
    const { sets } = JSON.parse(await done(there('references list', '--json')));
    expect(sets).toHaveLength(2);
    expect(await readdir(join(at('there'), 'audio'))).toHaveLength(2);
  });

  test('are kept beside a running server, which takes the files in and measures them', async () => {
    const watchHome = at('user');
    const server = await startServer({
      port: 0,
      home: at('here'),
      bench: { userHome: watchHome, watchTiming: { scanMs: 200 } },
    });
    const client = new Client(server.url);
    try {
      expect(await done(here('references add', 'Evenings', at('ref 3.wav')))).toContain('three references');
      // It also codes them; nobody here waits for that.
      for (const { id } of (await client.get<{ jobs: Job[] }>('/api/jobs')).jobs)
        await client.call('POST', `/api/jobs/${id}/cancel`);
      const [set] = (await client.get<{ sets: ReferenceSet[] }>('/api/sets')).sets;
      expect(set.members.map(({ name }) => name)).toEqual(['ref 1.wav', 'ref 2.wav', 'ref 3.wav']);
      await done(here('references remove', 'Evenings', 'ref 1'));
      await refused(here('references remove', 'Evenings', 'ref 1'), 'NOT_FOUND');
      expect((await client.get<ReferenceSet>(`/api/sets/${set.id}`)).members).toHaveLength(2);
      await done(here('references remove', 'Evenings'));
      expect((await client.call('GET', `/api/sets/${set.id}`)).status).toBe(404);

      await mkdir(join(watchHome, 'bounces'), { recursive: true });
      expect(await done(here('watch list'))).toContain('No folder is watched');
      await done(here('watch add', join(watchHome, 'bounces')));
      expect((await client.get<Watch>('/api/watch')).folders).toMatchObject([
        { path: join(watchHome, 'bounces') },
      ]);
      await refused(here('watch add', at('here/audio')), 'REQUEST_INVALID');
      await rename(join(watchHome, 'bounces'), join(watchHome, 'gone'));
      expect(await done(here('watch list'))).toContain('(not there now)');
      await done(here('watch remove', join(watchHome, 'bounces')));
      expect((await client.get<Watch>('/api/watch')).folders).toEqual([]);
    } finally {
      await server.close();
    }
  });
});
