// A record of twelve songs, 45 minutes, in five profiles: how many times faster than it plays, and the memory of all that runs.
import { execFileSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { root } from '../scripts/lib/root.mjs';
import { folder as benchFolder, fourMinutes } from './lib/song.mjs';
import { runTree } from './lib/tree.mjs';

const songs = 12;
const secondsEach = 225;
const profiles = ['hi-res', 'streaming', 'cd', 'vinyl', 'preview-mp3'];

/** Twelve songs of 3:45 at 44.1 kHz and 24 bit, each from another place of the four minutes. */
async function writeRecord() {
  const place = join(benchFolder, 'record');
  const path = join(place, 'record.json');
  if (existsSync(path)) return path;
  mkdirSync(place, { recursive: true });
  const source = await fourMinutes();
  for (let i = 1; i <= songs; i++)
    execFileSync('ffmpeg', [
      ...['-v', 'error', '-y', '-ss', String(i), '-i', source, '-t', String(secondsEach), '-ar', '44100'],
      ...['-c:a', 'pcm_s24le', join(place, `${i}.wav`)],
    ]);
  const song = (_, i) => ({
    title: `Song ${i + 1}`,
    writers: ['Ottilie Brandsen'],
    isrc: `ZZHBR26${String(i + 1).padStart(5, '0')}`,
    source: { file: `${i + 1}.wav` },
    gapSeconds: 0,
    join: i === 3 ? 'joined' : 'gap',
  });
  const record = {
    ...{
      version: 1,
      kind: 'album',
      title: 'Twelve',
      artist: 'Ottilie Brandsen',
      barcode: '2012345678903',
      profiles,
    },
    songs: Array.from({ length: songs }, song),
  };
  writeFileSync(path, JSON.stringify(record));
  return path;
}

export async function bench() {
  const record = await writeRecord();
  const scratch = mkdtempSync(join(tmpdir(), 'everyroom-bench-'));
  try {
    const args = [join(root, 'dist/program/main.js'), 'deliver', record, '-o', join(scratch, 'out')];
    const env = { EVERYROOM_HOME: join(scratch, 'home') };
    const { seconds, cpuSeconds, peakGib } = await runTree(process.execPath, args, { env });
    const playing = songs * secondsEach;
    process.stdout.write(
      `a record of ${songs} songs, ${playing / 60} minutes, ${profiles.length} profiles: ${(playing / seconds).toFixed(1)} times as fast as it plays (target at least 20), ${seconds.toFixed(0)} s, ${cpuSeconds.toFixed(0)} s of processor; memory ${peakGib.toFixed(2)} GiB (target under 1.5)\n`,
    );
  } finally {
    rmSync(scratch, { recursive: true, force: true });
  }
}
