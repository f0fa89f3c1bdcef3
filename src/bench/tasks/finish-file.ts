import { open, rename, rm, stat } from 'node:fs/promises';
import { bextBytes, readBext } from '../../audio/bext.ts';
import { latin1 } from '../../audio/byte-source.ts';
import { walkChunks } from '../../audio/chunks.ts';
import { openFileSource } from '../../audio/files/file-source.ts';
import { hashFile } from '../../audio/files/hash-file.ts';
import { openSound } from '../../audio/files/open-sound.ts';
import { readArtworkBytes } from '../../audio/files/read-tags.ts';
import { type CodedTarget, writeCoded } from '../../audio/files/write-coded.ts';
import { writeTags } from '../../audio/files/write-tags.ts';
import { partOfRun, type Run } from '../../audio/run.ts';
import type { PlannedFile } from '../../deliver/planned-file.ts';
import type { DeliveryProfile } from '../../deliver/profiles/profile.ts';
import type { FoundFile } from '../../deliver/proof/contract.ts';
import { FileMeter, type FileReading } from '../../deliver/proof/file-meter.ts';
import { type ArtworkFile, readArtwork } from '../delivery/artwork.ts';
import { SampleDigest } from '../delivery/sample-digest.ts';
import type { Task } from './task.ts';

export interface FinishFileOptions {
  /** A plain WAV file; it is gone afterwards. */
  readonly stagePath: string;
  /** Where the file is made; whoever asked moves it to its place. */
  readonly path: string;
  readonly profile: Pick<DeliveryProfile, 'container' | 'bits' | 'lossy'>;
  readonly tags: PlannedFile['tags'];
  readonly bext: PlannedFile['bext'];
  readonly artwork: ArtworkFile | null;
  /** As measured on the way out. */
  readonly reading: FileReading;
  /** Of the whole record, for players that keep its differences. */
  readonly albumLufs: number | null;
  readonly albumPeakDbtp: number | null;
}

/** ReplayGain 2.0: what players bring songs to, LUFS (from memory). */
const gainReferenceLufs = -18;
/** The library that writes tags knows no larger WAV files. */
const mostTaggedBytes = 2 ** 32 - 2 ** 20;

/**
 * Turns plain sound into the file that is delivered: coded, with its words, flushed; then reads it back from the disk and says
 * what is there. The result says what lies on the disk, so it is not to be kept.
 */
export const finishFileTask: Task<FinishFileOptions, FoundFile> = {
  name: 'finish-file',
  version: 1,
  timeLimitSeconds: 60 * 60,
  async run({ options }, run) {
    const { stagePath, path, profile } = options;
    await rm(path, { force: true });
    if (profile.container === 'WAV') await rename(stagePath, path);
    else {
      await writeCoded(stagePath, path, targetOf(profile), partOfRun(run, 0, 0.6));
      await rm(stagePath);
    }
    if (options.bext) await fillBext(path, options.bext, options.reading);
    await tag(options);
    const file = await open(path, 'r+');
    await file.sync().finally(() => file.close());
    return readBack(path, profile.bits, partOfRun(run, 0.6, 1));
  },
};

function targetOf({ container, lossy }: FinishFileOptions['profile']): CodedTarget {
  if (container === 'FLAC' || container === 'AIFF') return { container };
  if ((container === 'MP3' || container === 'MP4') && lossy) return { container, lossy };
  throw new RangeError(`${container} is not coded`);
}

/** The loudness of the file goes into the room that was left for it. */
async function fillBext(
  path: string,
  bext: NonNullable<PlannedFile['bext']>,
  reading: FileReading,
): Promise<void> {
  const { integratedLufs, rangeLu, truePeakDbtp, maxMomentaryLufs, maxShortTermLufs } = reading;
  const loudness = {
    integratedLufs,
    rangeLu,
    maxTruePeakDbtp: truePeakDbtp,
    maxMomentaryLufs,
    maxShortTermLufs,
  };
  const place = await bextPlace(path);
  if (!place) throw new RangeError('there is no room for a bext chunk');
  const file = await open(path, 'r+');
  try {
    const bytes = bextBytes({ ...bext, loudness });
    await file.write(bytes, 0, bytes.length, place.start);
  } finally {
    await file.close();
  }
}

async function bextPlace(path: string): Promise<{ start: number; size: number } | null> {
  const source = await openFileSource(path);
  try {
    if (!['RIFF', 'RF64'].includes(latin1(await source.read(0, 4), 0, 4))) return null;
    for await (const { id, start, size } of walkChunks(source, 12, true)) {
      if (id === 'bext') return { start, size };
      if (id === 'data') return null;
    }
    return null;
  } finally {
    await source.close();
  }
}

async function tag({
  path,
  tags,
  artwork,
  reading,
  albumLufs,
  albumPeakDbtp,
}: FinishFileOptions): Promise<void> {
  if ((await stat(path)).size > mostTaggedBytes) return;
  const { integratedLufs, truePeakDbtp } = reading;
  const known =
    integratedLufs !== null && truePeakDbtp !== null && albumLufs !== null && albumPeakDbtp !== null;
  const gain = known
    ? {
        trackDb: gainReferenceLufs - integratedLufs,
        trackPeak: 10 ** (truePeakDbtp / 20),
        albumDb: gainReferenceLufs - albumLufs,
        albumPeak: 10 ** (albumPeakDbtp / 20),
      }
    : null;
  await writeTags(path, { ...tags, gain, artwork: artwork && (await readArtwork(artwork)) });
}

async function readBack(path: string, bits: number | null, run: Run): Promise<FoundFile> {
  const sound = await openSound(path, run);
  try {
    const meter = new FileMeter(sound.info.sampleRate, sound.info.channels);
    const digest = bits === null ? null : new SampleDigest(bits, sound.info.channels);
    for await (const block of sound.blocks(partOfRun(run, 0, 0.9))) {
      meter.push(block);
      digest?.push(block);
    }
    const place = await bextPlace(path);
    const source = await openFileSource(path);
    const bext = place && readBext(await source.read(place.start, place.size));
    await source.close();
    return {
      bytes: source.size,
      sha256: await hashFile(path, partOfRun(run, 0.9, 1)),
      info: sound.info,
      tags: await sound.tags(),
      artworkBytes: await readArtworkBytes(path, sound.info.container),
      bext,
      digest: digest?.finish() ?? null,
      reading: meter.finish().reading,
    };
  } finally {
    await sound.close();
  }
}
