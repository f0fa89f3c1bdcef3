import { createHash } from 'node:crypto';
import { rename, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { CodedError } from '../../audio/coded-error.ts';
import { hashFile } from '../../audio/files/hash-file.ts';
import { partOfRun, type Run } from '../../audio/run.ts';
import { framesAtRate } from '../../deliver/assembly/album-plan.ts';
import { framesLeft } from '../../deliver/assembly/ready-blocks.ts';
import type { ReadySong, ReadySound } from '../../deliver/delivery-plan.ts';
import type { RecordSong, ReleaseRecord } from '../../deliver/record/record.ts';
import { emptyChain } from '../../finish/chain.ts';
import { renderedRate } from '../../finish/render.ts';
import type { Measurement } from '../../measure/measurement.ts';
import { exactJson } from '../json.ts';
import { runTask, type Workshop } from '../run-task.ts';
import { measureTask } from '../tasks/measure.ts';
import { readySongsTask } from '../tasks/ready-songs.ts';
import type { Gathered, GatheredSound } from './gather.ts';

/** A sound that can go into the record as it is. */
export interface ReadyFile extends ReadySound {
  readonly path: string;
  readonly measurement: Measurement;
}

/** What is known of the record before anything is made: cuts counted, chains not yet heard. */
export function foreseen(record: ReleaseRecord, gathered: Gathered): ReadySong<ReadyFile>[] {
  return gathered.songs.map(({ song, instrumental, clean, stems }, i) => {
    const { measurement } = song.measured;
    const { from, to } = leftOf(record.songs[i], song);
    const sampleRate = renderedRate(record.songs[i].chain ?? emptyChain, measurement.sampleRate);
    return {
      song: {
        ...asItIs(song),
        sampleRate,
        frames: framesAtRate(to - from, measurement.sampleRate, sampleRate),
        exactBits: isPlain(record.songs[i]) ? asItIs(song).exactBits : null,
      },
      instrumental: instrumental && asItIs(instrumental),
      clean: clean && asItIs(clean),
      stems: stems.map(asItIs),
    };
  });
}

/** Makes every song ready, in files of `folder` that are found again by a later run; what needs nothing stays where it is. */
export async function makeReady(
  record: ReleaseRecord,
  gathered: Gathered,
  folder: string,
  workshop: Workshop,
  run: Run,
): Promise<ReadySong<ReadyFile>[]> {
  const groups = treatedTogether(record, gathered);
  const shares = groups.map(() => 0);
  const ready = await Promise.all(
    groups.map((group, g) =>
      readyGroup(record, gathered, group, folder, workshop, {
        signal: run.signal,
        progress: (fraction) => {
          shares[g] = fraction;
          run.progress?.(shares.reduce((sum, share) => sum + share, 0) / groups.length);
        },
      }),
    ),
  );
  const songs = ready.flat();
  return gathered.songs.map(({ instrumental, clean, stems }, i) => ({
    song: songs[i],
    instrumental: instrumental && asItIs(instrumental),
    clean: clean && asItIs(clean),
    stems: stems.map(asItIs),
  }));
}

const isPlain = ({
  chain,
  cutHeadSeconds,
  cutTailSeconds,
  fadeInSeconds,
  fadeOutSeconds,
}: RecordSong): boolean =>
  (chain === null || chain.parts.every(({ bypassed }) => bypassed)) &&
  cutHeadSeconds + cutTailSeconds + fadeInSeconds + fadeOutSeconds === 0;

function asItIs({ path, measured: { info, measurement } }: GatheredSound): ReadyFile {
  // A mono file is put on two channels: its samples stay what they are.
  const whole = info.codec === 'PCM' || info.codec === 'FLAC' || info.codec === 'ALAC';
  return {
    path,
    measurement,
    sampleRate: measurement.sampleRate,
    frames: measurement.frames,
    exactBits: whole ? info.bitDepth : null,
    integratedLufs: measurement.loudness.integratedLufs,
    truePeakDbtp: measurement.peak.truePeakDbtp,
  };
}

/** Songs that are joined and go through one and the same chain are treated as one sound: its memory crosses the boundary. */
function treatedTogether(record: ReleaseRecord, gathered: Gathered): number[][] {
  const groups: number[][] = [];
  for (const [i, song] of record.songs.entries()) {
    const last = groups.at(-1);
    const before = record.songs[i - 1];
    const together =
      last !== undefined &&
      song.join === 'joined' &&
      song.chain !== null &&
      exactJson(song.chain) === exactJson(before.chain) &&
      gathered.songs[i].song.measured.measurement.sampleRate ===
        gathered.songs[i - 1].song.measured.measurement.sampleRate;
    if (together) last.push(i);
    else groups.push([i]);
  }
  return groups;
}

async function readyGroup(
  record: ReleaseRecord,
  gathered: Gathered,
  group: readonly number[],
  folder: string,
  workshop: Workshop,
  run: Run,
): Promise<ReadyFile[]> {
  const sounds = group.map((i) => gathered.songs[i].song);
  const songs = group.map((i) => record.songs[i]);
  if (songs.every(isPlain)) return sounds.map(asItIs);
  for (const [k, song] of songs.entries()) {
    const { from, to } = leftOf(song, sounds[k]);
    if (to <= from)
      throw new CodedError(
        'RECORD_INVALID',
        `The cuts of “${song.title}” leave nothing of it; make them shorter.`,
      );
  }
  const options = songs.map((song, k) => {
    const { cutHeadSeconds, cutTailSeconds, fadeInSeconds, fadeInShape, fadeOutSeconds, fadeOutShape } = song;
    const ends = { cutHeadSeconds, cutTailSeconds, fadeInSeconds, fadeInShape, fadeOutSeconds, fadeOutShape };
    return { ...ends, frames: sounds[k].measured.measurement.frames };
  });
  const { chain } = songs[0];
  const key = createHash('sha256')
    .update(
      exactJson({
        version: readySongsTask.version,
        chain,
        options,
        files: sounds.map(({ sha256 }) => sha256),
      }),
    )
    .digest('hex')
    .slice(0, 24);
  const paths = group.map((_, k) => join(folder, `ready-${key}-${k}.wav`));
  const there = await Promise.all(paths.map((path) => stat(path).catch(() => null)));
  if (there.some((each) => each === null)) {
    const files = sounds.map(({ path }) => ({ path }));
    const outPaths = paths.map((path) => `${path}.making`);
    const task = { songs: options.map((each, k) => ({ ...each, outPath: outPaths[k] })), chain };
    await workshop.pool.run(readySongsTask, { files, options: task }, partOfRun(run, 0, 0.8));
    for (const [k, path] of paths.entries()) await rename(outPaths[k], path);
  }
  return Promise.all(
    paths.map(async (path) => {
      const sha256 = await hashFile(path, { signal: run.signal });
      const { measurement } = await runTask(
        measureTask,
        { files: [{ path, sha256 }], options: {} },
        workshop,
        { signal: run.signal },
      );
      return {
        path,
        measurement,
        sampleRate: measurement.sampleRate,
        frames: measurement.frames,
        exactBits: null,
        integratedLufs: measurement.loudness.integratedLufs,
        truePeakDbtp: measurement.peak.truePeakDbtp,
      };
    }),
  );
}

function leftOf(song: RecordSong, { measured: { measurement } }: GatheredSound) {
  return framesLeft(song, measurement.frames, measurement.sampleRate);
}
