import { execFile } from 'node:child_process';
import { mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { renderPiece } from '../../demo/render-piece.ts';
import { outside } from '../outside.ts';

const run = promisify(execFile);
const ffmpeg = outside('ffmpeg');
// The player threads exist only compiled.
const { demoIndex, renderDemo } = (await import(
  new URL('../../dist/demo/render-demo.js', import.meta.url).href
)) as typeof import('../../demo/render-demo.ts');

let folder: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'everyroom-demo-'));
});
afterEach(() => rm(folder, { recursive: true, force: true }));

test('the index names three songs with a mix, a good master and one of each fault, and five references', () => {
  const index = demoIndex();
  expect(index.songs).toHaveLength(3);
  expect(index.references).toHaveLength(5);
  for (const song of index.songs) {
    expect(song.versions.map((v) => v.kind)).toEqual(['mix', 'master', 'master', 'master', 'master']);
    const faults = song.versions.filter((v) => v.kind === 'master').map((v) => v.note.fault);
    expect(new Set(faults)).toEqual(new Set([null, 'overs', 'bassy', 'thin']));
    for (const { name, file } of song.versions)
      expect(name + file).not.toMatch(/over|bass|thin|good|fault|bad/i);
  }
  // No take number stands for the same thing in every song.
  for (const take of [1, 2, 3, 4])
    expect(new Set(index.songs.map((song) => song.versions[take].note.fault)).size).toBeGreaterThan(1);
});

test('stopped half way, it leaves nothing behind and touches nothing else', async () => {
  await writeFile(join(folder, 'mine.txt'), 'kept');
  const stop = new AbortController();
  const rendering = renderDemo(folder, {
    signal: stop.signal,
    progress: () => stop.abort(new Error('enough')),
  });
  await expect(rendering).rejects.toThrow('enough');
  expect(await readdir(folder)).toEqual(['mine.txt']);
  expect(await readFile(join(folder, 'mine.txt'), 'utf8')).toBe('kept');
});

test.skipIf(!ffmpeg)('a reference as written: 24 bit, 48 kHz, loudness and true peak by ffmpeg', async () => {
  await renderPiece('orchard-in-november', folder);
  const file = join(folder, 'Ila Fennwick - Orchard in November.wav');
  const { stderr } = await run('ffmpeg', [
    '-hide_banner',
    '-nostats',
    '-i',
    file,
    '-af',
    'ebur128=peak=true:framelog=verbose',
    '-f',
    'null',
    '-',
  ]);
  expect(stderr).toMatch(/pcm_s24le.*48000 Hz, 2 channels|pcm_s24le.*48000 Hz, stereo/);
  const summary = stderr.slice(stderr.indexOf('Summary:'));
  const lufs = Number(/I:\s+(-?[\d.]+) LUFS/.exec(summary)?.[1]);
  const dbtp = Number(/Peak:\s+(-?[\d.]+) dBFS/.exec(summary)?.[1]);
  expect(lufs).toBeGreaterThan(-16.8);
  expect(lufs).toBeLessThan(-16.2);
  expect(dbtp).toBeGreaterThan(-1.7);
  expect(dbtp).toBeLessThan(-1.2);
});
