import { basename } from 'node:path';
import { CodedError } from '../../audio/coded-error.ts';
import { hashFile } from '../../audio/files/hash-file.ts';
import type { Run } from '../../audio/run.ts';
import type { DeliveryProfile } from '../../deliver/profiles/profile.ts';
import type { RecordSong, ReleaseRecord, SoundSource } from '../../deliver/record/record.ts';
import type { Artwork } from '../../deliver/record/record-check.ts';
import { hashedFile } from '../hashed-file.ts';
import { runTask, type Workshop } from '../run-task.ts';
import { type Measured, measureTask } from '../tasks/measure.ts';
import { type ArtworkFile, lookAtArtwork } from './artwork.ts';

/** Where a sound lies, as whoever keeps it says. */
export interface LocatedSound {
  readonly path: string;
  /** As people call it. */
  readonly name: string;
  /** Where it is known and the file never changes. */
  readonly sha256?: string;
}

export type Locate = (source: SoundSource) => Promise<LocatedSound>;

/** A sound of the record, read and measured. */
export interface GatheredSound extends LocatedSound {
  readonly sha256: string;
  readonly measured: Measured;
  readonly verify?: () => Promise<void>;
}

export interface GatheredSong {
  readonly song: GatheredSound;
  readonly instrumental: GatheredSound | null;
  readonly clean: GatheredSound | null;
  readonly stems: readonly GatheredSound[];
}

export interface Gathered {
  readonly songs: readonly GatheredSong[];
  readonly artwork: {
    readonly look: Artwork;
    readonly file: ArtworkFile | null;
    readonly sha256: string;
  } | null;
}

/**
 * Finds, hashes and measures all that a record is made of; what was measured before is not measured again. Rejects with
 * CodedError naming the song: FILE_NOT_FOUND, SOUND_NOT_RECOGNISED, SOUND_TOO_MANY_CHANNELS, ...
 */
export async function gather(
  record: ReleaseRecord,
  profiles: readonly DeliveryProfile[],
  locate: Locate,
  artworkPath: string | null,
  workshop: Workshop,
  run: Run,
): Promise<Gathered> {
  const wants = (shape: DeliveryProfile['shape']) => profiles.some((profile) => profile.shape === shape);
  const extras = (song: RecordSong) =>
    (wants('variants') ? [song.instrumental, song.clean] : []).filter((source) => source !== null).length +
    (wants('stems') ? song.stems.length : 0);
  const total = record.songs.reduce((sum, song) => sum + 1 + extras(song), 0);
  let done = 0;
  const sound = async (source: SoundSource, title: string): Promise<GatheredSound> => {
    const found = await gatherSound(await locate(source), title, workshop, run);
    run.progress?.(++done / total);
    return found;
  };
  const songs = await Promise.all(
    record.songs.map(async (song) => ({
      song: await sound(song.source, song.title),
      instrumental:
        wants('variants') && song.instrumental
          ? await sound(song.instrumental, `${song.title}, instrumental`)
          : null,
      clean: wants('variants') && song.clean ? await sound(song.clean, `${song.title}, clean`) : null,
      stems: wants('stems')
        ? await Promise.all(song.stems.map(({ name, source }) => sound(source, `${song.title}, ${name}`)))
        : [],
    })),
  );
  if (artworkPath === null) return { songs, artwork: null };
  const look = await lookAtArtwork(artworkPath);
  const file = look.mimeType && { path: artworkPath, mimeType: look.mimeType };
  return { songs, artwork: { look, file, sha256: await hashFile(artworkPath, run) } };
}

async function gatherSound(
  located: LocatedSound,
  title: string,
  workshop: Workshop,
  run: Run,
): Promise<GatheredSound> {
  try {
    const known = located.sha256 === undefined ? hashedFile(located.path, { signal: run.signal }) : null;
    const file = known ?? { path: located.path, sha256: located.sha256 as string };
    const measured = await runTask(measureTask, { files: [file], options: {} }, workshop, {
      signal: run.signal,
    });
    if (measured.measurement.channels > 2)
      throw new CodedError(
        'SOUND_TOO_MANY_CHANNELS',
        `“${located.name}” has ${measured.measurement.channels} channels; a record is delivered in two.`,
      );
    return { ...located, sha256: await file.sha256, verify: known?.verify, measured };
  } catch (error) {
    if (!(error instanceof CodedError) || error.code === 'JOB_CANCELLED') throw error;
    const message = error.message.replaceAll(basename(located.path), () => located.name);
    throw new CodedError(error.code, `“${title}”: ${message}`, { cause: error });
  }
}
