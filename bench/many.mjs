// Twelve songs at once: all cores against one. 'One core' is the same command held to one core by taskset: with
// `--workers 1` alone, the main thread and the compiler's threads would still use a second one.
import { cpSync, existsSync, mkdirSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { join } from 'node:path';
import { hasProgram } from '../scripts/lib/debian.mjs';
import { root } from '../scripts/lib/root.mjs';
import { folder, fourMinutes } from './lib/song.mjs';
import { race, secondsOf, tell } from './lib/time.mjs';

export async function bench() {
  const cores = availableParallelism();
  if (!hasProgram('taskset') || cores < 2) {
    process.stdout.write('left out: twelve songs on one core, which needs taskset and a second core\n');
    return;
  }
  const song = await fourMinutes();
  mkdirSync(join(folder, 'twelve'), { recursive: true });
  const songs = Array.from({ length: 12 }, (_, i) => join(folder, 'twelve', `${i + 1}.wav`));
  for (const copy of songs) if (!existsSync(copy)) cpSync(song, copy);
  const check = [join(root, 'dist/program/main.js'), 'check', '--no-lossy', '--fresh', ...songs];
  const result = await race(
    () => secondsOf(process.execPath, check, { worst: 1 }),
    () => secondsOf('taskset', ['-c', '0', process.execPath, ...check], { worst: 1 }),
    3,
  );
  tell(`twelve songs on ${cores} cores against one (taskset)`, result, 'at most 0.6x on two');
}
