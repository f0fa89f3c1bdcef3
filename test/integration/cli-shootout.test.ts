import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import type { ShootoutDetail, ShootoutResults } from '../../src/server/shootout-api.ts';
import { everyroom } from './cli-run.ts';
import { scratchFolder } from './server-support.ts';
import { mixAndMasters, voteAll } from './shootout-support.ts';

const main = fileURLToPath(new URL('../../dist/src/cli/main.js', import.meta.url));

test('a whole shoot-out by script: made, packed, taken back, opened, voted over HTTP, told, revealed, learned from', async () => {
  await using folder = await scratchFolder();
  const env = { EVERYROOM_HOME: join(folder.path, 'home') };
  const run = (...args: string[]) => everyroom(['shootout', ...args], { env });
  const json = async <T>(...args: string[]): Promise<T> => {
    const { code, stdout, stderr } = await run(...args, '--json');
    if (code !== 0) throw new Error(`${args.join(' ')}: ${code} ${stderr}`);
    return JSON.parse(stdout) as T;
  };
  const path = (name: string) => join(folder.path, name);
  const { mix, masters } = mixAndMasters();
  await writeWav(path('Harbour.wav'), mix, { sampleFormat: 's16' });
  for (const { file, pcm } of masters) await writeWav(path(file), pcm, { sampleFormat: 's16' });

  const made = await json<ShootoutDetail>(
    'new',
    path('Harbour.wav'),
    '--section',
    '1-4.5',
    '--section',
    '6-9.5',
  );
  expect(made).toMatchObject({ title: 'Harbour', state: 'draft', entries: [] });
  const packed = await run('pack', 'Harbour', path('out'), '--wishes', 'Keep the room.');
  expect(packed).toMatchObject({ code: 0, stderr: '' });
  expect(packed.stdout).toMatch(/SHA256SUMS and brief\.txt are in\s/);
  expect(await readFile(path('out/brief.txt'), 'utf8')).toContain('Keep the room.');

  const files = [path(masters[0].file), path('Harbour.wav'), path(masters[1].file)];
  const taken = await run('take', made.id.slice(0, 6), ...files, '--yours');
  expect(taken.stdout).toMatch(/^Quietwater final 3\.wav is a master by Quietwater final 3\./);
  expect(taken).toMatchObject({
    code: 2,
    stderr: expect.stringMatching(/^Harbour\.wav: .+ \(MASTER_REFUSED\)\n$/),
  });
  const rounds = await run('rounds', 'Harbour', '--listeners', '3', '--rounds', '8', '--open');
  expect(rounds.stdout).toMatch(/eight rounds each for three listeners/i);
  expect(rounds.stdout).toContain('“Harbour” is open for votes.');

  // Shared from a terminal of its own until Ctrl-C; voted by script.
  const sharing = spawn(
    process.execPath,
    [main, 'shootout', 'share', 'Harbour', '--here', '--listener', 'Ilka', '--json'],
    {
      env: { ...process.env, ...env },
      stdio: ['ignore', 'pipe', 'inherit'],
    },
  );
  try {
    let text = '';
    for await (const part of sharing.stdout.setEncoding('utf8')) {
      text += part;
      if (text.endsWith('}\n')) break;
    }
    const { links } = JSON.parse(text) as { links: { name: string; url: string }[] };
    expect(links).toMatchObject([{ name: 'Ilka' }]);
    expect(await voteAll(links[0].url, () => 'tie')).toBe(8);

    // Beside it: through it.
    await writeFile(path('no-votes.json'), '{}');
    expect(await run('votes', 'Harbour', path('no-votes.json'))).toMatchObject({
      code: 2,
      stdout: '- Ilka: 8 of 8 rounds\n',
      stderr: expect.stringContaining('VOTE_FILE_INVALID'),
    });
    expect((await run('lessons', 'Harbour')).stderr).toContain('SHOOTOUT_STATE');
    const open = await run('results', 'Harbour');
    expect(open.stdout).toMatch(/^No winner: eight votes of one listener do not tell these masters apart\./);
    expect(open.stdout).not.toContain('Quietwater');
    const revealed = await json<ShootoutResults>('reveal', 'Harbour');
    expect(revealed.names.map(({ name }) => name).sort()).toEqual(['Quietwater final 3', 'driven_v2']);
    const lessons = await run('lessons', 'Harbour');
    expect(lessons.stdout).toMatch(/^What Quietwater final 3 did and driven_v2 did not:\n· /);
    expect((await run('show', 'nothing')).stderr).toMatch(
      /There is no shoot-out “nothing”\. There are: “Harbour”/,
    );
    const exited = once(sharing, 'exit');
    sharing.kill('SIGINT');
    expect((await exited)[0]).toBe(0);
  } finally {
    sharing.kill('SIGKILL');
  }
}, 120_000);
