// The whole process: start-up, reading, every measurement, rules, text.
import { join } from 'node:path';
import { root } from '../scripts/lib/root.mjs';
import { fourMinutes } from './lib/song.mjs';
import { race, secondsOf, tell } from './lib/time.mjs';

export async function bench() {
  const song = await fourMinutes();
  const cli = join(root, 'dist/program/main.js');
  const result = await race(
    () => secondsOf(process.execPath, [cli, 'check', '--no-lossy', '--fresh', song], { worst: 1 }),
    () => secondsOf('ffmpeg', ['-nostats', '-i', song, '-af', 'ebur128=peak=true', '-f', 'null', '-']),
  );
  tell('check --no-lossy, four minutes, against ffmpeg ebur128=peak=true', result, 'at most 0.8x');
}
