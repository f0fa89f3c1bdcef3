// The song that is timed: real music, four minutes, 48 kHz, stereo, 24 bit. Made once from the demo record.
import { execFileSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, renameSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { root } from '../../scripts/lib/root.mjs';
import { step } from '../../scripts/lib/step.mjs';

export const folder = join(root, 'dist/bench');

const ffmpeg = (...args) => execFileSync('ffmpeg', ['-v', 'error', '-y', ...args]);

/** Folder of the demo record, rendered once. */
export async function demoFolder() {
  const path = join(folder, 'demo');
  if (!existsSync(join(path, 'index.json'))) {
    mkdirSync(path, { recursive: true });
    const { renderDemo } = await import(pathToFileURL(join(root, 'dist/demo/render-demo.js')).href);
    await step('playing the demo record (once)', (progress) => renderDemo(path, { progress }));
  }
  return path;
}

/** Path of the four-minute song. */
export async function fourMinutes() {
  const path = join(folder, 'four-minutes.wav');
  if (existsSync(path)) return path;
  const demo = await demoFolder();
  const { songs } = JSON.parse(readFileSync(join(demo, 'index.json'), 'utf8'));
  const masters = songs.flatMap((song) => song.versions.filter((v) => v.kind === 'master').slice(0, 1));
  const inputs = masters.flatMap(({ file }) => ['-i', join(demo, file)]);
  const joined = `${masters.map((_, i) => `[${i}]`).join('')}concat=n=${masters.length}:v=0:a=1,aresample=48000,apad`;
  const partial = `${path}.part.wav`;
  ffmpeg(...inputs, '-filter_complex', joined, '-t', '240', '-c:a', 'pcm_s24le', partial);
  renameSync(partial, path);
  return path;
}

/** The song over and over at another rate, to `seconds`, as RF64. */
export async function long({ rate, seconds }) {
  const path = join(folder, `${rate}-${seconds}.wav`);
  if (existsSync(path)) return path;
  const partial = `${path}.part.wav`;
  ffmpeg(
    '-stream_loop',
    '-1',
    '-i',
    await fourMinutes(),
    '-ar',
    String(rate),
    '-t',
    String(seconds),
    '-c:a',
    'pcm_s24le',
    '-rf64',
    'auto',
    partial,
  );
  renameSync(partial, path);
  return path;
}
