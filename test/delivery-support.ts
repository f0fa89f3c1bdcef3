import { readFile, writeFile } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { writeWav } from '../src/audio/files/write-sound.ts';
import { slicePcm } from '../src/audio/pcm.ts';
import type { DeliverOptions } from '../src/bench/delivery/deliver.ts';
import { type ReleaseRecord, readRecord } from '../src/deliver/record/record.ts';
import { music } from './integration/server-support.ts';

/** The smallest PNG there is: one pixel. */
const pixel = Buffer.from(
  'iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNkYPhfDwAChwGA60e6kgAAAABJRU5ErkJggg==',
  'base64',
);

/** One piece of music, cut in two in the middle, and another song: written beside a picture. */
export async function writeSongs(folder: string): Promise<void> {
  const whole = music(9, { gain: 0.7 });
  const middle = 200_001;
  const end = whole.channels[0].length;
  const parts = {
    one: slicePcm(whole, 0, middle),
    two: slicePcm(whole, middle, end),
    three: music(4.3, { gain: 0.3 }),
  };
  for (const [name, pcm] of Object.entries(parts))
    await writeWav(join(folder, `${name}.wav`), pcm, { sampleFormat: 's24' });
  await writeFile(join(folder, 'cover.png'), pixel);
}

/** A record of those songs: the two halves joined, then a gap. */
export function recordOf(more: Partial<Record<keyof ReleaseRecord, unknown>> = {}): ReleaseRecord {
  const song = (title: string, file: string, i: number, rest: object = {}) => ({
    ...{ title, writers: ['Ottilie Brandsen', 'Bram Askew'], isrc: `ZZHBR260000${i}`, source: { file } },
    ...rest,
  });
  return readRecord({
    version: 1,
    kind: 'ep',
    title: 'Lanterns: Low/Water',
    artist: 'Ottilie Brändsen',
    barcode: '2012345678903',
    label: 'Harbour Row',
    catalogNumber: 'HBR 014',
    genre: 'Folk',
    copyright: '2026 Harbour Row',
    language: 'en',
    releaseDate: '2026-11-27',
    songs: [
      song('Ferry Light', 'one.wav', 1),
      song('Ferry Light, ebb', 'two.wav', 2, { join: 'joined' }),
      song('Quiet Machinery', 'three.wav', 3, { gapSeconds: 0.5, explicit: 'clean' }),
    ],
    ...more,
  });
}

/** A record's options, its files looked for in `folder`. */
export function lookingIn(folder: string, record: ReleaseRecord): DeliverOptions {
  return {
    record,
    artworkPath: record.artwork && resolve(folder, record.artwork.file),
    locate: async (source) => {
      if (!('file' in source)) throw new Error('a file is wanted');
      return { path: resolve(folder, source.file), name: source.file };
    },
  };
}

/** The checksums of a delivery, by name. */
export async function sumsOf(folder: string): Promise<Record<string, string>> {
  const lines = (await readFile(join(folder, 'SHA256SUMS'), 'utf8')).trimEnd().split('\n');
  return Object.fromEntries(lines.map((line) => [line.slice(66), line.slice(0, 64)]));
}
