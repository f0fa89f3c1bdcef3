import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtemp, readdir, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { readSound } from '../../src/audio/files/read-sound.ts';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import { frameCount } from '../../src/audio/pcm.ts';
import { surviveRunSchema } from '../../src/survive/survive-report.ts';
import { loudMusic } from '../conformance/lossy-sound.ts';
import { everyroom } from './cli-run.ts';

const main = fileURLToPath(new URL('../../dist/src/cli/main.js', import.meta.url));

describe('everyroom survive', () => {
  let folder: string;
  let song: string;
  let env: Record<string, string>;

  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'everyroom-survive-'));
    env = { EVERYROOM_HOME: join(folder, 'home') };
    song = join(folder, 'song.wav');
    await writeWav(song, loudMusic(40), { sampleFormat: 'f32' });
  });

  afterAll(() => rm(folder, { recursive: true }));

  test('text: the quick answer first, a table, words and moments; the decoded sound kept; code 1 when something is over', async () => {
    const kept = join(folder, 'kept');
    const args = ['survive', song, '--formats', 'mp3-128,vorbis-q2', '--keep', kept];
    const { code, stdout, stderr } = await everyroom(args, { env });
    expect(code).toBe(1);
    const told = stderr.split('\n');
    expect(told[0]).toBe('coding song.wav in 2 formats');
    expect(told[1]).toMatch(/^Estimate from twelve passages, \d+ % of the song: /);
    expect(stdout).toMatch(/^Both formats decode above 0\.0 dBTP/m);
    expect(stdout).toMatch(/◆ MP3 128 +128 +\+\d\.\d\d /);
    expect(stdout).toContain('What decides');
    expect(stdout).toContain('-b:a 128k');
    const files = (await readdir(kept)).toSorted();
    expect(files).toEqual(['song (MP3 128).wav', 'song (Vorbis 96).wav']);
    const { info, pcm } = await readSound(join(kept, files[0]));
    expect(info).toMatchObject({ codec: 'PCM float', sampleRate: 44_100, channels: 2 });
    expect(frameCount(pcm)).toBe(40 * 44_100);
  });

  test('text of a ceiling: what survives, what decides, a row a format', async () => {
    const short = join(folder, 'short.wav');
    await writeWav(short, loudMusic(3), { sampleFormat: 'f32' });
    const { stdout } = await everyroom(['survive', short, '--formats', 'opus-160,sbc', '--find-ceiling'], {
      env,
    });
    // Lines are broken where the words fall.
    const words = stdout.replace(/\s+/g, ' ');
    expect(words).toMatch(/A ceiling of [−+]\d\.\d\d dBTP survives everything you chose: turn it down by \d/);
    expect(words).toMatch(/(Opus 160|SBC 328) decides\. A last encode/);
    expect(stdout).toMatch(
      /^ {2}SBC 328 +\d\.\d\d dB +[−+]\d\.\d\d dBTP +[−+]?\d\.\d\d dBTP +\d\.\d\d dB +\d+$/m,
    );
  });

  test('JSON is the report and nothing else; code 0 when nothing is over the limit', async () => {
    const args = ['survive', song, '--formats', 'vorbis-q2', '--limit', '6', '--find-ceiling', '--json'];
    const { code, stdout } = await everyroom(args, { env });
    expect(code).toBe(0);
    const run = surviveRunSchema.parse(JSON.parse(stdout));
    expect(run.files[0].ceiling).toMatchObject({ limitDbfs: 6, trimDb: 0, decidedBy: null, verified: true });
  });

  test('a bad format, a bad limit and a missing file are told in a sentence; code 2', async () => {
    const bad = await everyroom(['survive', song, '--formats', 'aac-97x'], { env });
    expect([bad.code, bad.stdout]).toEqual([2, '']);
    expect(bad.stderr).toContain('“aac-97x” is no format that can be tried');
    expect((await everyroom(['survive', song, '--limit', 'loud'], { env })).code).toBe(2);
    const missing = await everyroom(['survive', join(folder, 'none.wav'), '--formats', 'sbc', '--json'], {
      env,
    });
    expect(missing.code).toBe(2);
    expect(surviveRunSchema.parse(JSON.parse(missing.stdout)).failed[0].code).toBe('FILE_NOT_FOUND');
  });

  test('killed in the middle, it has kept what it finished', async () => {
    const list = 'mp3-192,mp3-320,opus-96,opus-128';
    const child = spawn(process.execPath, [main, 'survive', song, '--formats', list, '--json'], {
      env: { ...process.env, ...env },
      stdio: ['ignore', 'ignore', 'pipe'],
    });
    let said = '';
    child.stderr.setEncoding('utf8').on('data', (text: string) => {
      said += text;
      if (said.match(/^ {2}(MP3|Opus) \d+: /gm)) child.kill('SIGKILL');
    });
    await once(child, 'close');
    const finished = [...said.matchAll(/^ {2}((?:MP3|Opus) \d+): (.*)$/gm)].map(([, format]) => format);
    expect(finished.length).toBeGreaterThan(0);
    // What is at hand comes before anything that must still be coded.
    const again = await everyroom(['survive', song, '--formats', list, '--json'], { env });
    const order = [...again.stderr.matchAll(/^ {2}((?:MP3|Opus) \d+): /gm)].map(([, format]) => format);
    expect(order.slice(0, finished.length).toSorted()).toEqual(finished.toSorted());
    expect(surviveRunSchema.parse(JSON.parse(again.stdout)).files[0].formats.length).toBe(4);
  });
});
