import { readdir, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { CodedError } from '../../audio/coded-error.ts';
import type { Run } from '../../audio/run.ts';
import type { Place } from '../../places/place.ts';
import { countingNotes, stopsNow } from '../../places/walk-notes.ts';
import type { WalkNote, WalkStopNow } from '../../places/walk-shapes.ts';
import { randomLetters } from '../ids.ts';
import { type KeptNote, type WalkRecord, type WalkStopRecord, WalkStore } from '../store/walks.ts';
import { solvedWalk, type WalkCorrection } from './correction.ts';
import { Notebooks } from './notebooks.ts';
import { predictedWalk, type WalkPredictions } from './predictions.ts';
import type { WalkTools } from './walk-tools.ts';

export interface NewWalkStop {
  readonly placeId: string | null;
  readonly name?: string;
  readonly trust: number;
}

/** A walk with what counts now. */
export interface WalkNow extends Omit<WalkRecord, 'stops' | 'sounds' | 'notebook'> {
  readonly stops: readonly (WalkStopNow &
    Pick<WalkStopRecord, 'placeId'> & { readonly notes: number; readonly lastAt: string | null })[];
  readonly links: number;
}

/** Who writes at the desk, in the history of notes. */
const deskDevice = 'thisbench';

/** Walks from the first place to the correction, for their host. */
export class Walks {
  readonly notebooks: Notebooks;
  readonly #store: WalkStore;
  readonly #tools: WalkTools;

  constructor(tools: WalkTools) {
    this.#tools = tools;
    this.#store = new WalkStore(tools.store);
    this.notebooks = new Notebooks(tools, this.#store);
  }

  async list(songId?: string): Promise<WalkNow[]> {
    return Promise.all((await this.#store.list(songId)).map((walk) => this.#now(walk)));
  }

  async get(id: string): Promise<WalkNow> {
    return this.#now(await this.#store.get(id));
  }

  /** CodedError NOT_FOUND; REQUEST_INVALID for a reference that is the song, or twice. */
  async make(wanted: {
    versionId: string;
    referenceIds: readonly string[];
    title?: string;
    stops: readonly NewWalkStop[];
  }): Promise<WalkNow> {
    const version = await this.#tools.songs.getVersion(wanted.versionId);
    const song = await this.#tools.songs.get(version.songId);
    await this.#mustBeReferences(wanted.referenceIds, version.id);
    const stops: Omit<WalkStopRecord, 'id'>[] = [];
    for (const stop of wanted.stops) stops.push(await this.#planned(stop));
    const id = await this.#store.add(
      {
        song_id: song.id,
        version_id: version.id,
        title: wanted.title ?? song.title,
        created_at: this.#tools.now().toISOString(),
      },
      wanted.referenceIds,
      stops,
    );
    return this.#changed(id);
  }

  /** CodedError WALK_STATE for other references once something was noted of them. */
  async change(id: string, { title, referenceIds }: { title?: string; referenceIds?: readonly string[] }) {
    const { version } = await this.#store.get(id);
    if (referenceIds) {
      await this.#mustBeReferences(referenceIds, version.id);
      await this.#store.setReferences(id, referenceIds);
    }
    if (title !== undefined) await this.#store.update(id, { title });
    return this.#changed(id);
  }

  async delete(id: string): Promise<void> {
    await this.#store.get(id);
    await this.#store.update(id, { deleted_at: this.#tools.now().toISOString() });
    this.#tools.told(id);
  }

  async restore(id: string): Promise<WalkNow> {
    await this.#store.update(id, { deleted_at: null });
    return this.#changed(id);
  }

  /** Ends for good what was deleted before `before`, and removes excerpts that nobody needs. */
  async purge(before: string): Promise<void> {
    const wanted = await this.#store.purge(before);
    const { walksPath } = this.#tools.home;
    for (const name of await readdir(walksPath))
      if (!wanted.has(name)) await rm(join(walksPath, name), { recursive: true, force: true });
  }

  async addStop(id: string, stop: NewWalkStop): Promise<WalkNow> {
    await this.#store.get(id);
    await this.#store.addStop(id, await this.#planned(stop));
    return this.#changed(id);
  }

  /** Trust is a note like every other: what is said later, here or there, counts. */
  async changeStop(
    id: string,
    stopId: string,
    { name, placeId, trust }: { name?: string; placeId?: string | null; trust?: number },
  ): Promise<WalkNow> {
    await this.#store.get(id);
    if (placeId) await this.#place(placeId);
    if (name !== undefined || placeId !== undefined)
      await this.#store.updateStop(id, stopId, { name, place_id: placeId });
    if (trust !== undefined) {
      const at = this.#tools.now().toISOString();
      const note: WalkNote = { what: 'trust', key: randomLetters(), stop: stopId, at, value: trust };
      await this.notebooks.take(id, { device: deskDevice, stops: [], notes: [note] });
    }
    return this.#changed(id);
  }

  async deleteStop(id: string, stopId: string): Promise<WalkNow> {
    return this.#hideStop(id, stopId, this.#tools.now().toISOString());
  }

  async restoreStop(id: string, stopId: string): Promise<WalkNow> {
    return this.#hideStop(id, stopId, null);
  }

  /** Every note there ever was, the newest first, and which of them count. */
  async history(id: string, stopId?: string): Promise<(KeptNote & { readonly counts: boolean })[]> {
    await this.#store.get(id);
    const notes = await this.#store.notes(id);
    const counting = new Set([...countingNotes(notes).values()].map(({ key }) => key));
    return notes
      .filter(({ stop }) => stopId === undefined || stop === stopId)
      .map((note) => ({ ...note, counts: counting.has(note.key) }))
      .sort((a, b) => Date.parse(b.at) - Date.parse(a.at));
  }

  /** Solved from what counts now. @param refused bands that are left out, from 0 */
  async correction(id: string, refused: ReadonlySet<number>, run: Run = {}): Promise<WalkCorrection> {
    const walk = await this.#store.get(id);
    const notes = await this.#store.notes(id);
    return solvedWalk(this.#tools, walk, notes, refused, run);
  }

  /** What every place would hear after a correction. */
  async predictions(id: string, refused: ReadonlySet<number>, run: Run = {}): Promise<WalkPredictions> {
    return predictedWalk(this.#tools, await this.correction(id, refused, run), run);
  }

  async #hideStop(id: string, stopId: string, deletedAt: string | null): Promise<WalkNow> {
    await this.#store.get(id);
    await this.#store.updateStop(id, stopId, { deleted_at: deletedAt });
    return this.#changed(id);
  }

  async #planned({ placeId, name, trust }: NewWalkStop): Promise<Omit<WalkStopRecord, 'id'>> {
    const place = placeId === null ? null : await this.#place(placeId);
    const called = name ?? place?.name;
    if (called === undefined)
      throw new CodedError('REQUEST_INVALID', 'A place that is not in the library needs a name.');
    return { placeId, name: called, trust };
  }

  async #place(placeId: string): Promise<Place> {
    const place = (await this.#tools.places()).find(({ id }) => id === placeId);
    if (!place) throw new CodedError('NOT_FOUND', 'There is no such place.');
    return place;
  }

  async #mustBeReferences(ids: readonly string[], versionId: string): Promise<void> {
    for (const id of ids) await this.#tools.songs.getVersion(id);
    if (new Set([...ids, versionId]).size <= ids.length)
      throw new CodedError(
        'REQUEST_INVALID',
        'References of a walk are other sounds than the song, and each is named once.',
      );
  }

  async #changed(id: string): Promise<WalkNow> {
    this.#tools.told(id);
    return this.get(id);
  }

  async #now({ sounds: _, notebook: __, ...walk }: WalkRecord): Promise<WalkNow> {
    const notes = await this.#store.notes(walk.id);
    const links = await this.#store.links(walk.id, this.#tools.now());
    const now = stopsNow(walk.stops, walk.references.length, notes);
    const stops = walk.stops.map(({ placeId }, i) => {
      const own = notes.filter(({ stop }) => stop === now[i].id);
      const lastAt = own.reduce<string | null>(
        (last, { at }) => (last === null || at > last ? at : last),
        null,
      );
      return { ...now[i], placeId, notes: own.length, lastAt };
    });
    return { ...walk, stops, links };
  }
}
