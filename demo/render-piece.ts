import { join } from 'node:path';
import { writeWav } from '../src/audio/files/write-sound.ts';
import type { Run } from '../src/audio/run.ts';
import { goodTake } from './mastering/takes.ts';
import { pcmOf } from './mixing/stereo.ts';
import { references } from './references/index.ts';
import { finished, referenceFile, renderingsOf } from './renderings.ts';
import { songs } from './songs/index.ts';

/** Every piece of the demo, longest work first, so that two workers end at about the same time. */
export const pieceIds: readonly string[] = [...songs, ...references].map((piece) => piece.id);

/** Plays one piece and writes all its files into `folder`. */
export async function renderPiece(id: string, folder: string, run: Run = {}): Promise<void> {
  const song = songs.find((piece) => piece.id === id);
  const piece = song ?? references.find((reference) => reference.id === id);
  if (!piece) throw new RangeError(`no piece of the id '${id}'`);
  const files = song
    ? renderingsOf(song).map(({ version, finish }) => ({ file: version.file, finish }))
    : [{ file: referenceFile(piece), finish: goodTake(piece.needs) }];
  const mix = piece.mix();
  // Playing takes about as long as finishing twice.
  const steps = files.length + 2;
  run.progress?.(2 / steps);
  for (const [i, { file, finish }] of files.entries()) {
    run.signal?.throwIfAborted();
    const sound = finished(mix, piece.sampleRate, finish);
    await writeWav(join(folder, file), pcmOf(sound, piece.sampleRate), { sampleFormat: 's24' });
    run.progress?.((i + 3) / steps);
  }
}
