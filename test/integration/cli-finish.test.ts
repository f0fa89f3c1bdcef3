import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import { readChain } from '../../src/finish/chain.ts';
import { finishReportSchema } from '../../src/judge/finish-report.ts';
import { seededMix } from '../seeded-sound.ts';
import { everyroom } from './cli-run.ts';

const main = fileURLToPath(new URL('../../dist/program/main.js', import.meta.url));
let folder: string;
let env: Record<string, string>;
let song: string;
let chain: string;
const at = (name: string) => join(folder, name);

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'everyroom-cli-finish-'));
  env = { EVERYROOM_HOME: at('home') };
  song = at('song.wav');
  chain = at('chain.json');
  await writeWav(song, seededMix(3, { sideDb: -8, seconds: 3, sampleRate: 44_100 }), { sampleFormat: 's24' });
});
afterAll(() => rm(folder, { recursive: true }));

/** What lies in the folder that this file did not put there. */
const others = async (): Promise<string[]> =>
  (await readdir(folder)).filter((name) => !['song.wav', 'chain.json', 'home'].includes(name)).toSorted();

test('an example to begin from, every part with its ranges, the schema: what a chain is made with', async () => {
  const { code, stdout, stderr } = await everyroom(['finish', '--example'], { env });
  expect(code).toBe(0);
  await writeFile(chain, stdout);
  const { parts } = readChain(JSON.parse(stdout));
  for (const { id } of parts) expect(stderr).toContain(`${id}: `);
  const listed = await everyroom(['finish', '--parts'], { env });
  expect(listed.stdout).toMatch(/^ {2}ceilingDbtp +−20 to 0 dBTP +default −1 +ceiling$/m);
  expect(listed.stdout).toMatch(/^ {2}bands\[\]\.shape +bell \| low-shelf/m);
  const schema = await everyroom(['finish', '--schema'], { env });
  expect(JSON.parse(schema.stdout)).toEqual(
    JSON.parse(await readFile(new URL('../../docs/chain.schema.json', import.meta.url), 'utf8')),
  );
});

test('a master is written, told in words and figures; never over a file, unless asked to; never over the song', async () => {
  const args = ['finish', song, '--chain', chain, '--loudness', '-11', '-o', at('master.wav')];
  const first = await everyroom(args, { env });
  expect(first.stderr).toBe('finishing song.wav\n');
  expect(first.code).toBe(0);
  expect(first.stdout).toMatch(/^song\.wav → master\.wav\n44\.1 kHz, 24 bits, stereo, 0:03\.0\n/);
  expect(first.stdout).toMatch(/^−1[01]\.\d\d LUFS \(−11\.0 LUFS was asked for\), /m);
  expect(first.stdout).toContain('The limiter turned down in ');
  const bytes = await readFile(at('master.wav'));
  const again = await everyroom([...args, '--json'], { env });
  expect(again).toMatchObject({ code: 2, stdout: '' });
  expect(again.stderr).toContain('“master.wav” is there already and was left alone.');
  expect(again.stderr).toContain('(FILE_EXISTS)');
  expect(Buffer.compare(await readFile(at('master.wav')), bytes)).toBe(0);
  await writeFile(at('master.wav'), 'in the way');
  const forced = await everyroom([...args, '--json', '--force'], { env });
  const { written, ...report } = JSON.parse(forced.stdout);
  expect(written).toBe('master.wav');
  expect(finishReportSchema.parse(report).loudnessLufs).toBe(-11);
  expect(Buffer.compare(await readFile(at('master.wav')), bytes)).toBe(0);
  const over = await everyroom(['finish', song, '--chain', chain, '-o', song, '--force'], { env });
  expect(over.stderr).toContain('“song.wav” is the song itself');
  await rm(at('master.wav'));
  const dry = await everyroom([...args, '--dry-run'], { env });
  expect(dry.stdout).toContain('nothing written, this was a dry run');
  expect(await others()).toEqual([]);
});

test('mistakes are told plainly, and leave nothing', async () => {
  const said = async (text: string, ...more: string[]): Promise<string> => {
    await writeFile(at('bad.json'), text);
    const ran = await everyroom(['finish', song, '--chain', at('bad.json'), '-o', at('x.wav'), ...more], {
      env,
    });
    expect(ran).toMatchObject({ code: 2, stdout: '' });
    return ran.stderr;
  };
  const part = (kind: string, settings: string) =>
    `{"version":1,"parts":[{"kind":"${kind}","settings":${settings}}]}`;
  expect(await said(part('echo', '{}'))).toContain(
    'There is no part of kind “echo”; there are trim, sub-filter,',
  );
  expect(await said(part('limiter', '{"ceilingDbtp":1}'))).toContain(
    '“bad.json”: The ceiling of the limiter is a number from -20 to 0 dBTP, not 1. (CHAIN_INVALID)',
  );
  expect(await said(part('trim', '{"gainDb":NaN}'))).toContain('“bad.json” is no JSON: ');
  expect(await said('{"version":1,"parts":[]}', '--ceiling', '1')).toContain(
    'A ceiling is a number from -20 to 0 dBTP.',
  );
  expect(await said('{"version":1,"parts":[]}', '--loudness', '-3')).toMatch(
    /cannot be brought to −3\.0 LUFS: .*FINISH_UNREACHABLE/,
  );
  await rm(at('bad.json'));
  expect(await others()).toEqual([]);
});

test('a stopped run leaves nothing; a killed one a folder that the next run takes away', async () => {
  await writeWav(at('long.wav'), seededMix(4, { sideDb: -8, seconds: 15, sampleRate: 44_100 }), {
    sampleFormat: 's24',
  });
  const args = ['finish', at('long.wav'), '--chain', chain, '--loudness', '-10', '-o', at('out.wav')];
  for (const signal of ['SIGINT', 'SIGKILL'] as const) {
    const child = spawn(process.execPath, [main, ...args], {
      env: { ...process.env, ...env },
      stdio: 'ignore',
    });
    const ended = once(child, 'close');
    // In the midst of it: sound is being written.
    while (!(await working())) await new Promise((resolve) => setImmediate(resolve));
    child.kill(signal);
    await ended;
    const left = await others();
    expect(left).not.toContain('out.wav');
    if (signal === 'SIGINT') expect(left).toEqual(['long.wav']);
    else
      expect(left).toEqual([expect.stringMatching(/^\.out\.wav\.\d+-[0-9a-f]{8}\.finishing$/), 'long.wav']);
  }
  const { code } = await everyroom(args, { env });
  expect(code).toBe(0);
  expect(await others()).toEqual(['long.wav', 'out.wav']);
});

async function working(): Promise<boolean> {
  for (const name of await readdir(folder))
    if (name.endsWith('.finishing')) return (await readdir(at(name)).catch(() => [])).length > 0;
  return false;
}
