// Twelve songs at once: all cores against one.
import { cpSync, existsSync, mkdirSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { join } from 'node:path';
import { root } from '../scripts/lib/root.mjs';
import { folder, fourMinutes } from './lib/song.mjs';
import { race, secondsOf, tell } from './lib/time.mjs';

export async function bench() {
  const song = await fourMinutes();
  mkdirSync(join(folder, 'twelve'), { recursive: true });
  const songs = Array.from({ length: 12 }, (_, i) => join(folder, 'twelve', `${i + 1}.wav`));
  for (const copy of songs) if (!existsSync(copy)) cpSync(song, copy);
  const cli = join(root, 'dist/program/main.js');
  const check = (workers) => () =>
    secondsOf(
      process.execPath,
      [cli, 'check', '--no-lossy', '--fresh', '--workers', String(workers), ...songs],
      { worst: 1 },
    );
  const result = await race(check(availableParallelism()), check(1), 3);
  tell(`twelve songs on ${availableParallelism()} cores against one`, result, 'at most 0.6x on two');
}
