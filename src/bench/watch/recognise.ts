import { CodedError } from '../../audio/coded-error.ts';
import type { VersionChange } from '../../compare/change-result.ts';
import { envelopeLikeness } from '../../compare/envelope-likeness.ts';
import type { Traces } from '../../measure/measurement.ts';
import type { Song, Version } from '../shapes.ts';
import { songKey } from './song-key.ts';

export interface Recognised {
  /** The song it is a version of, and its last version; null: a new song. */
  readonly song: Song | null;
  readonly last: Version | null;
  /** What changed since that last version. */
  readonly change: VersionChange | null;
  /** How it was recognised, or why not; a sentence. */
  readonly how: string;
}

export interface RecogniseTools {
  /** What there is of a version's sound over time; null before it was checked. */
  traces(version: Version): Promise<Traces | null>;
  /** What changed from a version to the new file. CodedError when the version's file cannot be read. */
  change(from: Version): Promise<VersionChange>;
}

/** Compared in earnest at most, of songs that the name points to and of songs that only sound alike. */
const mostNamed = 4;
const mostAlike = 3;
/** Envelopes less alike than this are not worth comparing in earnest (heuristic). */
const alikeFrom = 0.4;
/** Without a name that fits, this much of the sound must be found again (heuristic; changeBetween asks for 0.35). */
const similarFrom = 0.6;
/** The best must be this much more similar than the next, or it is not clear which song it is (heuristic). */
const clearBy = 0.15;

interface Candidate {
  readonly song: Song;
  readonly last: Version;
}

/**
 * Finds the song that a new file is a version of: by its name, confirmed by its sound; without a fitting name by its sound
 * alone. Where that is not clear it is a new song, because a version in the wrong song misleads longer. Heuristic.
 */
export async function recognise(
  file: { readonly name: string; readonly traces: Traces },
  songs: readonly Song[],
  tools: RecogniseTools,
): Promise<Recognised> {
  const candidates = songs.flatMap((song): Candidate[] => {
    const last = song.versions.findLast(({ kind }) => kind !== 'reference');
    return last ? [{ song, last }] : [];
  });
  const key = songKey(file.name);
  const isNamed = ({ song }: Candidate) =>
    [song.title, ...song.versions.map(({ name }) => name)].some((name) => songKey(name) === key);
  const named = candidates.filter(isNamed);
  const byName = await compared(named.slice(0, mostNamed), tools);
  const fitting = byName.filter(({ change }) => change.same !== null);
  const [best, next] = fitting;
  if (best && (!next || best.change.similarity - next.change.similarity >= clearBy))
    return {
      ...best,
      how: `Taken as the next version of “${best.song.title}”: by its name, and its sound bears it out.`,
    };
  if (best) return unclear(fitting);
  const rest = await alikeTo(
    file.traces,
    candidates.filter((candidate) => !named.includes(candidate)),
    tools,
  );
  const similar = (await compared(rest, tools)).filter(
    ({ change }) => change.same !== null && change.similarity >= similarFrom,
  );
  const [nearest, second] = similar;
  if (nearest && (!second || nearest.change.similarity - second.change.similarity >= clearBy))
    return {
      ...nearest,
      how: `Taken as the next version of “${nearest.song.title}”: by its sound alone; its name does not say so.`,
    };
  if (nearest) return unclear(similar);
  const how =
    named.length > 0
      ? `Made a new song: it is named like “${named[0].song.title}”, but what that plays is not found in it. Move it there if it belongs there.`
      : 'Made a new song: neither its name nor its sound is like a song on the bench.';
  return { song: null, last: null, change: null, how };
}

function unclear(found: readonly Candidate[]): Recognised {
  const titles = found.slice(0, 3).map(({ song }) => `“${song.title}”`);
  return {
    song: null,
    last: null,
    change: null,
    how: `Made a new song: it could be a version of ${titles.join(' or of ')}. Move it where it belongs.`,
  };
}

/** Most similar first. */
async function compared(candidates: readonly Candidate[], { change }: RecogniseTools) {
  const all: (Candidate & { change: VersionChange })[] = [];
  for (const { song } of candidates) {
    const since = await sinceLastReadable(song, change);
    if (since) all.push({ song, ...since });
  }
  return all.sort((a, b) => b.change.similarity - a.change.similarity);
}

/** What changed since the last version that can be read: a broken file on the bench is no reason to refuse a whole one. */
async function sinceLastReadable({ versions }: Song, change: RecogniseTools['change']) {
  for (const last of versions.toReversed()) {
    if (last.kind === 'reference') continue;
    try {
      return { last, change: await change(last) };
    } catch (error) {
      if (!isUnreadable(error)) throw error;
    }
  }
  return null;
}

function isUnreadable(error: unknown): boolean {
  if (!(error instanceof CodedError)) return false;
  const { code } = error;
  return code.startsWith('SOUND_') || ['FILE_NOT_FOUND', 'FILE_EMPTY', 'FILE_READ_FAILED'].includes(code);
}

/** Those that rise and fall most like the file. */
async function alikeTo(
  { loudness }: Traces,
  candidates: readonly Candidate[],
  { traces }: RecogniseTools,
): Promise<Candidate[]> {
  const ranked: { candidate: Candidate; likeness: number }[] = [];
  for (const candidate of candidates) {
    const other = await newestTraces(candidate.song, traces);
    if (!other) continue;
    const likeness = envelopeLikeness(loudness.stepPowers, other.loudness.stepPowers);
    if (likeness >= alikeFrom) ranked.push({ candidate, likeness });
  }
  return ranked
    .sort((a, b) => b.likeness - a.likeness)
    .slice(0, mostAlike)
    .map(({ candidate }) => candidate);
}

/** The last version may be waiting for its check; how the song rises and falls is known from the one before. */
async function newestTraces({ versions }: Song, traces: RecogniseTools['traces']): Promise<Traces | null> {
  for (const version of versions.toReversed()) {
    const found = version.kind === 'reference' ? null : await traces(version);
    if (found) return found;
  }
  return null;
}
