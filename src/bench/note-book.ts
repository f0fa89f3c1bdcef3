import { CodedError } from '../audio/coded-error.ts';
import { carryMoment } from '../compare/carry-moment.ts';
import type { VersionChange } from '../compare/change-result.ts';
import { alignmentAwaited, alignmentFailed, carriedDoubts } from '../judge/carried-words.ts';
import type { BenchEvents } from './events.ts';
import type { KnownChanges } from './known-changes.ts';
import type { Version } from './shapes.ts';
import type { Store } from './store/database.ts';
import { type KeptNote, type NoteMark, type NotePlace, Notes } from './store/notes.ts';
import type { Songs } from './store/songs.ts';

/** A note as it stands on one version. */
export interface Note extends NotePlace {
  readonly id: string;
  /** The version it was written on. */
  readonly versionId: string;
  readonly text: string;
  /** Ticked off on the version that was asked for. */
  readonly done: boolean;
  /** Where it comes from, when it was written on an earlier version. */
  readonly carriedFrom: { versionId: string; name: string; atSeconds: number } | null;
  /** Why its place may be wrong; null when it is right. */
  readonly doubt: string | null;
  readonly createdAt: string;
}

export interface NoteChange {
  readonly text?: string;
  readonly atSeconds?: number;
  readonly endSeconds?: number | null;
  readonly done?: boolean;
}

/** Notes on versions, carried to the later versions of a song by aligning them. */
export class NoteBook {
  readonly #notes: Notes;
  readonly #songs: Songs;
  readonly #changes: KnownChanges;
  readonly #events: BenchEvents;

  constructor(store: Store, songs: Songs, changes: KnownChanges, events: BenchEvents) {
    this.#notes = new Notes(store);
    this.#songs = songs;
    this.#changes = changes;
    this.#events = events;
  }

  /** By time: those written on this version and those written on earlier versions of its song. */
  async of(version: Version): Promise<Note[]> {
    const { versions } = await this.#songs.get(version.songId);
    const upToIt = versions.slice(0, versions.findIndex(({ id }) => id === version.id) + 1);
    const written = await this.#notes.writtenOn(upToIt.map(({ id }) => id));
    const marks = await this.#notes.marksOn(version.id);
    // Aligned once a version, not once a note.
    const changes = new Map<string, Awaited<ReturnType<KnownChanges['known']>>>();
    for (const earlier of upToIt)
      if (earlier.id !== version.id && written.some(({ version_id }) => version_id === earlier.id))
        changes.set(earlier.id, await this.#change(earlier, version));
    const notes = written.map((note) => {
      const from = upToIt.find(({ id }) => id === note.version_id);
      const mark = marks.get(note.id);
      return from === undefined || from.id === version.id
        ? ownNote(note, mark)
        : carriedNote(note, mark, from, version, changes.get(from.id) ?? null);
    });
    return notes.sort((a, b) => a.atSeconds - b.atSeconds);
  }

  async write(version: Version, place: NotePlace, text: string): Promise<Note> {
    refuseBackward(place.atSeconds, place.endSeconds);
    const id = await this.#notes.write(version.id, place, text);
    this.#tell(version.id);
    return ownNote(await this.#notes.get(id), undefined);
  }

  /**
   * Changes a note. Its words are the same on every version; its place and whether it is done belong to `onVersionId`
   * (the version it was written on when left out), so a carried note put right by hand stays there.
   */
  async change(id: string, onVersionId: string | undefined, change: NoteChange): Promise<Note> {
    const note = await this.#notes.get(id);
    const version = await this.#songs.getVersion(onVersionId ?? note.version_id);
    const standing = (await this.of(version)).find((each) => each.id === id);
    if (!standing)
      throw new CodedError('REQUEST_INVALID', 'That note was written on another song or a later version.');
    const place = {
      at_seconds: change.atSeconds ?? standing.atSeconds,
      end_seconds: change.endSeconds === undefined ? standing.endSeconds : change.endSeconds,
    };
    const moved = change.atSeconds !== undefined || change.endSeconds !== undefined;
    if (moved) refuseBackward(place.at_seconds, place.end_seconds);
    const own = version.id === note.version_id;
    const before = (await this.#notes.marksOn(version.id)).get(id);
    const put = own
      ? { at_seconds: null, end_seconds: null }
      : moved
        ? place
        : { at_seconds: before?.at_seconds ?? null, end_seconds: before?.end_seconds ?? null };
    await this.#notes.change(
      id,
      { ...(change.text === undefined ? {} : { text: change.text }), ...(own && moved ? place : {}) },
      { version_id: version.id, done: (change.done ?? standing.done) ? 1 : 0, ...put },
    );
    this.#tell(version.id);
    return (await this.of(version)).find((each) => each.id === id) ?? standing;
  }

  async delete(id: string): Promise<void> {
    this.#tell((await this.#notes.delete(id)).version_id);
  }

  async restore(id: string): Promise<Note> {
    const note = await this.#notes.restore(id);
    this.#tell(note.version_id);
    return ownNote(note, (await this.#notes.marksOn(note.version_id)).get(id));
  }

  /** Ends for good what was deleted before `before`. */
  purge(before: string): Promise<void> {
    return this.#notes.purge(before);
  }

  async #change(from: Version, to: Version): Promise<VersionChange | string | null> {
    if (from.sha256 === to.sha256) return null;
    const known = await this.#changes.known(from, to);
    if (known === null) this.#changes.want(from, to, () => this.#tell(to.id));
    return known;
  }

  #tell(versionId: string): void {
    this.#events.emit('desk', { what: 'notes', versionId });
  }
}

function ownNote(note: KeptNote, mark: NoteMark | undefined): Note {
  return {
    id: note.id,
    versionId: note.version_id,
    atSeconds: note.at_seconds,
    endSeconds: note.end_seconds,
    text: note.text,
    done: mark?.done === 1,
    carriedFrom: null,
    doubt: null,
    createdAt: note.created_at,
  };
}

/** @param change how the versions lie on each other; a sentence when it cannot be found out, null while it is not known */
function carriedNote(
  note: KeptNote,
  mark: NoteMark | undefined,
  from: Version,
  to: Version,
  change: VersionChange | string | null,
): Note {
  const carriedFrom = { versionId: from.id, name: from.name, atSeconds: note.at_seconds };
  const base = { ...ownNote(note, mark), carriedFrom };
  // Put there by hand: nobody knows better.
  if (mark && mark.at_seconds !== null)
    return { ...base, atSeconds: mark.at_seconds, endSeconds: mark.end_seconds };
  if (from.sha256 === to.sha256) return base;
  if (change === null) return { ...base, doubt: alignmentAwaited };
  if (typeof change === 'string') return { ...base, doubt: alignmentFailed(change) };
  const length = to.verdict?.seconds ?? null;
  const at = carryMoment(change, note.at_seconds, length);
  const end = note.end_seconds === null ? null : carryMoment(change, note.end_seconds, length);
  return {
    ...base,
    atSeconds: at.seconds,
    endSeconds: end && Math.max(at.seconds, end.seconds),
    doubt: at.doubt && carriedDoubts[at.doubt],
  };
}

function refuseBackward(atSeconds: number, endSeconds: number | null): void {
  if (endSeconds !== null && endSeconds < atSeconds)
    throw new CodedError('REQUEST_INVALID', 'A note cannot end before it begins.');
}
