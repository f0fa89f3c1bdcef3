import { CodedError } from '../../audio/coded-error.ts';
import { partOfRun } from '../../audio/run.ts';
import type { PlaceLevel, PlacesReport } from '../../judge/places-report.ts';
import { type FileInPlaces, placesReportOf } from '../../judge/places-report-of.ts';
import type { Place } from '../../places/place.ts';
import { hashedFile } from '../hashed-file.ts';
import type { Workshop } from '../run-task.ts';
import type { LeadChoice } from '../tasks/lead-bands.ts';
import { effectsOfSong, type HashedFile, type LeadFile, type PlaceAndLevel } from './effects.ts';

/** A sound file as it is named by a person. */
export interface NamedFile {
  readonly path: string;
  readonly name: string;
  /** SHA-256 of its bytes where it is known already. */
  readonly sha256?: string;
}

export interface SongPlacesOptions {
  readonly song: NamedFile;
  readonly references: readonly NamedFile[];
  /** What the references are called together. */
  readonly setName: string | null;
  readonly places: readonly Place[];
  readonly level: PlaceLevel;
  /** A file of the lead alone, or of all but the lead. */
  readonly lead: (LeadChoice & { readonly file: NamedFile }) | null;
  readonly signal?: AbortSignal;
  /** Told what is being done, for people, and the share of the whole that is done (0..1, never decreasing). */
  onProgress?(stage: string, fraction: number): void;
}

/** The level at which a place is listened in, dB(A). */
export function levelIn(place: Place, level: PlaceLevel): number {
  if (level === 'talk-over') return place.levels.talkOverDba;
  return level === 'loud' ? place.levels.loudDba : level;
}

/**
 * A song in places against references there: the terminal and the server both call this. A reference that cannot be read is
 * named and left out. Rejects with CodedError: what reading the song or its lead gives, JOB_CANCELLED and the like.
 */
export async function songInPlaces(options: SongPlacesOptions, workshop: Workshop): Promise<PlacesReport> {
  const { song, references, places, level, signal, lead } = options;
  const wanted = places.map((place): PlaceAndLevel => ({ place, levelDba: levelIn(place, level) }));
  const files = [song, ...references];
  const shares = files.map(() => 0);
  let furthest = 0;
  const run = (i: number) => ({
    signal,
    progress: (fraction: number) => {
      shares[i] = fraction;
      furthest = Math.max(furthest, shares.reduce((sum, share) => sum + share, 0) / files.length);
      const heard = shares.filter((share) => share >= 1).length;
      options.onProgress?.(
        files.length === 1 ? 'listening' : `listening, ${heard} of ${files.length} songs done`,
        furthest,
      );
    },
  });
  const inPlaces = async (file: NamedFile, i: number, told: LeadFile | null): Promise<FileInPlaces> => {
    const known = await known256(file, partOfRun(run(i), 0, 0.1));
    const { seconds, effects } = await effectsOfSong(
      known,
      told,
      wanted,
      workshop,
      partOfRun(run(i), 0.1, 1),
    );
    return { file: { name: file.name, sha256: known.sha256, seconds }, heard: effects };
  };
  const leftOut: { name: string; reason: string }[] = [];
  const own = (async () => {
    const leadFile = lead && { how: lead.how, file: await known256(lead.file, { signal }) };
    return inPlaces(song, 0, leadFile);
  })();
  const others = references.map(async (file, i) => {
    try {
      return [await inPlaces(file, i + 1, null)];
    } catch (error) {
      if (signal?.aborted || !(error instanceof CodedError) || error.code === 'INTERNAL') throw error;
      leftOut.push({ name: file.name, reason: error.message });
      run(i + 1).progress(1);
      return [];
    }
  });
  // All have ended when this rejects: nobody is left to work on files that may be gone.
  const ended = await Promise.allSettled([own.then((one) => [one]), ...others]);
  const failed = ended.find((each) => each.status === 'rejected');
  if (failed) throw failed.reason;
  const [[first], ...rest] = ended.map((each) => (each as PromiseFulfilledResult<FileInPlaces[]>).value);
  return placesReportOf({
    song: first,
    references: rest.flat(),
    leftOut,
    setName: options.setName,
    level,
    leadFrom: lead?.how ?? 'guess',
    places,
  });
}

async function known256(
  { path, sha256 }: NamedFile,
  run: Parameters<typeof hashedFile>[1],
): Promise<HashedFile> {
  if (sha256 !== undefined) return { path, sha256 };
  const file = hashedFile(path, run);
  return { ...file, sha256: await file.sha256 };
}
