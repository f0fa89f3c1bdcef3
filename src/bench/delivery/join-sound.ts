import { createHash } from 'node:crypto';
import { mkdir, rename, rm, stat } from 'node:fs/promises';
import { join } from 'node:path';
import type { Run } from '../../audio/run.ts';
import { planAlbum } from '../../deliver/assembly/album-plan.ts';
import type { ReleaseRecord } from '../../deliver/record/record.ts';
import { newId } from '../ids.ts';
import { exactJson } from '../json.ts';
import type { Workshop } from '../run-task.ts';
import { type Assembled, type AssembleOptions, assembleTask } from '../tasks/assemble.ts';
import type { GatheredSong } from './gather.ts';
import { makeReady } from './make-ready.ts';

/** How much is heard before and after a join, seconds. */
const heardSeconds = 10;

/**
 * The end of a song and the beginning of the next, as they meet on the record: a WAV file among those that can be made anew.
 * Resolves to where it lies. A chain hears only this excerpt.
 */
export async function joinSound(
  record: ReleaseRecord,
  songs: readonly [GatheredSong, GatheredSong],
  first: number,
  folder: string,
  workshop: Workshop,
  run: Run,
): Promise<string> {
  const [before, after] = [record.songs[first], record.songs[first + 1]];
  const overlap = after.join === 'crossfade' ? after.crossfadeSeconds : 0;
  const lengths = songs.map(({ song }) => song.measured.measurement.seconds);
  const kept = heardSeconds + overlap;
  const pair = [
    {
      ...before,
      cutHeadSeconds: Math.max(before.cutHeadSeconds, lengths[0] - before.cutTailSeconds - kept),
      fadeInSeconds: 0,
      join: 'gap' as const,
    },
    {
      ...after,
      cutTailSeconds: Math.max(after.cutTailSeconds, lengths[1] - after.cutHeadSeconds - kept),
      fadeOutSeconds: 0,
    },
  ];
  const key = createHash('sha256')
    .update(exactJson({ pair, hashes: songs.map(({ song }) => song.sha256), task: assembleTask.version }))
    .digest('hex');
  const path = join(folder, `join-${key.slice(0, 32)}.wav`);
  if (await stat(path).catch(() => null)) return path;
  const work = join(folder, `.${newId()}`);
  await mkdir(work, { recursive: true });
  try {
    const ready = await makeReady({ ...record, songs: pair }, { songs, artwork: null }, work, workshop, run);
    const sounds = ready.map(({ song }) => song);
    const sampleRate = Math.max(...sounds.map((sound) => sound.sampleRate));
    const plan = planAlbum(
      pair.map((song, i) => ({ ...song, ...sounds[i] })),
      { sampleRate },
    );
    const peak = Math.max(...sounds.map(({ truePeakDbtp }, i) => (truePeakDbtp ?? -100) + pair[i].gainDb));
    const options: AssembleOptions = {
      plan,
      // Both by the same, so that nothing is cut off and their difference stays.
      gainsDb: pair.map(({ gainDb }) => gainDb + Math.min(0, -1 - peak)),
      bits: 24,
      dithered: true,
      seed: record.seed,
      cuts: [{ from: 0, to: plan.frames, bext: null, path: join(work, 'join.wav') }],
    };
    const files = sounds.map((sound) => ({ path: sound.path }));
    await workshop.pool.run<AssembleOptions, Assembled[]>(assembleTask, { files, options }, run);
    await rename(join(work, 'join.wav'), path);
    return path;
  } finally {
    await rm(work, { recursive: true, force: true });
  }
}
