import { type Insertable, sql, type Transaction, type Updateable } from 'kysely';
import { CodedError } from '../../audio/coded-error.ts';
import { type WalkNote, type WalkSync, walkNoteSchema } from '../../places/walk-shapes.ts';
import { newId, randomLetters } from '../ids.ts';
import type { Store } from './database.ts';
import type { Tables } from './tables.ts';
import type { WalkNoteRow, WalkRow } from './walk-tables.ts';

/** Excerpts of a walk on the disk, the references first and the song last; equally long and loud. */
export interface WalkSounds {
  /** What they were made of: made anew when that is another. */
  readonly madeOf: string;
  /** Names of files: chance, 26 letters and digits. */
  readonly handles: readonly string[];
  readonly seconds: number;
}

/** A walk as it was set up. */
export interface WalkRecord {
  readonly id: string;
  readonly songId: string;
  readonly songTitle: string;
  readonly version: { readonly id: string; readonly name: string; readonly sha256: string };
  readonly title: string;
  /** What notebooks know it by. */
  readonly notebook: string;
  readonly sounds: WalkSounds | null;
  readonly createdAt: string;
  readonly references: readonly WalkReference[];
  /** In order, those that are deleted left out. */
  readonly stops: readonly WalkStopRecord[];
}

export interface WalkReference {
  /** null once it is gone for good; what was noted of it stays. */
  readonly versionId: string | null;
  readonly name: string;
  readonly songTitle: string;
  readonly sha256: string | null;
}

export interface WalkStopRecord {
  readonly id: string;
  readonly placeId: string | null;
  readonly name: string;
  readonly trust: number;
}

export type KeptNote = WalkNote & { readonly device: string };

/** Trust in a place that was added on the way, until somebody says otherwise. */
const usualTrust = 0.8;
/** More than any walk has; it keeps a notebook gone wild from filling the disk. */
const mostStops = 200;
const mostNotes = 50_000;

/** Walks in the database, as their host sees them. What is deleted is only hidden, until purge. Missing ones: CodedError NOT_FOUND. */
export class WalkStore {
  readonly #store: Store;

  constructor(store: Store) {
    this.#store = store;
  }

  /** Newest first. */
  async list(songId?: string): Promise<WalkRecord[]> {
    let query = this.#rows().orderBy('walks.seq', 'desc');
    if (songId !== undefined) query = query.where('walks.song_id', '=', songId);
    return Promise.all((await query.execute()).map((row) => this.#record(row)));
  }

  async get(id: string): Promise<WalkRecord> {
    const row = await this.#rows().where('walks.id', '=', id).executeTakeFirst();
    if (!row) throw new CodedError('NOT_FOUND', 'There is no such walk.');
    return this.#record(row);
  }

  async add(
    row: Pick<Insertable<WalkRow>, 'song_id' | 'version_id' | 'title' | 'created_at'>,
    referenceIds: readonly string[],
    stops: readonly Omit<WalkStopRecord, 'id'>[],
  ): Promise<string> {
    const id = newId();
    await this.#store.transaction().execute(async (tx) => {
      await tx
        .insertInto('walks')
        .values({ ...row, id, notebook: randomLetters(), sounds: null, deleted_at: null })
        .execute();
      await setReferences(tx, id, referenceIds);
      for (const stop of stops) await insertStop(tx, id, newId(), stop);
    });
    return id;
  }

  async update(
    id: string,
    values: Pick<Updateable<WalkRow>, 'title' | 'sounds' | 'deleted_at'>,
  ): Promise<void> {
    const { numUpdatedRows } = await this.#store
      .updateTable('walks')
      .set(values)
      .where('id', '=', id)
      .executeTakeFirst();
    if (numUpdatedRows === 0n) throw new CodedError('NOT_FOUND', 'There is no such walk.');
  }

  /** CodedError WALK_STATE once something of a reference was noted. */
  async setReferences(id: string, referenceIds: readonly string[]): Promise<void> {
    await this.#store.transaction().execute(async (tx) => {
      // A write first: a note that comes meanwhile waits for it.
      await tx.deleteFrom('walk_references').where('walk_id', '=', id).execute();
      const noted = await tx
        .selectFrom('walk_notes')
        .select('seq')
        .where('walk_id', '=', id)
        .where('subject', 'not in', ['song', 'place'])
        .executeTakeFirst();
      if (noted)
        throw new CodedError(
          'WALK_STATE',
          'Something was noted of the references already; begin another walk for others.',
        );
      await setReferences(tx, id, referenceIds);
    });
  }

  async addStop(walkId: string, stop: Omit<WalkStopRecord, 'id'>): Promise<string> {
    const id = newId();
    await this.#store.transaction().execute((tx) => insertStop(tx, walkId, id, stop));
    return id;
  }

  async updateStop(
    walkId: string,
    id: string,
    values: { name?: string; place_id?: string | null; deleted_at?: string | null },
  ): Promise<void> {
    const { numUpdatedRows } = await this.#store
      .updateTable('walk_stops')
      .set(values)
      .where('walk_id', '=', walkId)
      .where('id', '=', id)
      .executeTakeFirst();
    if (numUpdatedRows === 0n) throw new CodedError('NOT_FOUND', 'There is no such stop.');
  }

  /** Every note there ever was, in the order in which they came. */
  async notes(walkId: string): Promise<KeptNote[]> {
    const rows = await this.#store
      .selectFrom('walk_notes')
      .selectAll()
      .where('walk_id', '=', walkId)
      .orderBy('seq')
      .execute();
    return rows.map(noteOf);
  }

  /**
   * Takes notes in; when this resolves they are on the disk. What is there already is left as it is, so that the same notes
   * may come again and in any order. A note from the future counts as of now, or it would outlive all that come after it.
   * CodedError WALK_NOTES_INVALID when a note is of a stop or a reference that the walk has not; then none is taken.
   */
  async take(walkId: string, { device, stops, notes }: WalkSync, now: Date): Promise<{ taken: number }> {
    return this.#store.transaction().execute(async (tx) => {
      for (const { id, name } of stops)
        await insertStop(tx, walkId, id, { name, placeId: null, trust: usualTrust }, true);
      const known = new Set(
        (await tx.selectFrom('walk_stops').select('id').where('walk_id', '=', walkId).execute()).map(
          ({ id }) => id,
        ),
      );
      if (known.size > mostStops) throw invalid(`A walk has at most ${mostStops} places.`);
      const references = await countOf(tx, 'walk_references', walkId);
      let taken = 0;
      for (const note of notes) {
        if (!known.has(note.stop)) throw invalid('They speak of a place that is none of this walk’s.');
        const subject = note.what === 'trust' ? 'place' : note.subject;
        if (typeof subject === 'number' && subject >= references)
          throw invalid('They speak of a reference that this walk has not.');
        const at = new Date(Math.min(Date.parse(note.at), now.getTime())).toISOString();
        const { numInsertedOrUpdatedRows } = await tx
          .insertInto('walk_notes')
          .values({
            walk_id: walkId,
            key: note.key,
            stop_id: note.stop,
            subject: String(subject),
            what: note.what,
            value: JSON.stringify(note.value),
            at,
            device,
          })
          .onConflict((conflict) => conflict.columns(['walk_id', 'key']).doNothing())
          .executeTakeFirst();
        taken += Number(numInsertedOrUpdatedRows ?? 0n);
      }
      if (taken > 0 && (await countOf(tx, 'walk_notes', walkId)) > mostNotes)
        throw invalid(`A walk has at most ${mostNotes} notes.`);
      return { taken };
    });
  }

  async links(walkId: string, now: Date): Promise<number> {
    const { count } = await this.#store
      .selectFrom('walk_links')
      .select((e) => e.fn.countAll<number>().as('count'))
      .where('walk_id', '=', walkId)
      .where('expires_at', '>', now.toISOString())
      .executeTakeFirstOrThrow();
    return Number(count);
  }

  /** The walk that a link opens, and what is kept of its secret. */
  async findLink(selector: string): Promise<{ walkId: string; hash: string; expiresAt: string } | null> {
    const row = await this.#store
      .selectFrom('walk_links')
      .innerJoin('walks', 'walks.id', 'walk_links.walk_id')
      .innerJoin('songs', 'songs.id', 'walks.song_id')
      .select(['walk_id', 'hash', 'expires_at'])
      .where('selector', '=', selector)
      .where('walks.deleted_at', 'is', null)
      .where('songs.deleted_at', 'is', null)
      .executeTakeFirst();
    return row ? { walkId: row.walk_id, hash: row.hash, expiresAt: row.expires_at } : null;
  }

  async addLink(walkId: string, selector: string, hash: string, expiresAt: string): Promise<void> {
    await this.#store
      .insertInto('walk_links')
      .values({ walk_id: walkId, selector, hash, expires_at: expiresAt })
      .execute();
  }

  async withdrawLinks(walkId: string): Promise<void> {
    await this.#store.deleteFrom('walk_links').where('walk_id', '=', walkId).execute();
  }

  /** Ends for good what was deleted before `before`; returns the walks that are left. */
  async purge(before: string): Promise<Set<string>> {
    await this.#store.deleteFrom('walks').where('deleted_at', '<', before).execute();
    const rows = await this.#store.selectFrom('walks').select('id').execute();
    return new Set(rows.map(({ id }) => id));
  }

  #rows() {
    return this.#store
      .selectFrom('walks')
      .innerJoin('songs', 'songs.id', 'walks.song_id')
      .innerJoin('versions', 'versions.id', 'walks.version_id')
      .select([
        'walks.id',
        'walks.song_id',
        'walks.title',
        'walks.notebook',
        'walks.sounds',
        'walks.created_at',
        'songs.title as song_title',
        'versions.id as version_id',
        'versions.name as version_name',
        'versions.sha256',
      ])
      .where('walks.deleted_at', 'is', null)
      .where('songs.deleted_at', 'is', null);
  }

  async #record(row: WalkJoined): Promise<WalkRecord> {
    const references = await this.#store
      .selectFrom('walk_references')
      .leftJoin('versions', 'versions.id', 'walk_references.version_id')
      .leftJoin('songs', 'songs.id', 'versions.song_id')
      .select(['versions.id', 'versions.name', 'versions.sha256', 'songs.title'])
      .where('walk_id', '=', row.id)
      .orderBy('position')
      .execute();
    const stops = await this.#store
      .selectFrom('walk_stops')
      .select(['id', 'place_id', 'name', 'trust'])
      .where('walk_id', '=', row.id)
      .where('deleted_at', 'is', null)
      .orderBy('seq')
      .execute();
    return {
      id: row.id,
      songId: row.song_id,
      songTitle: row.song_title,
      version: { id: row.version_id, name: row.version_name, sha256: row.sha256 },
      title: row.title,
      notebook: row.notebook,
      sounds: row.sounds === null ? null : (JSON.parse(row.sounds) as WalkSounds),
      createdAt: row.created_at,
      references: references.map(({ id, name, sha256, title }) => ({
        versionId: id,
        name: name ?? 'a reference that is gone',
        songTitle: title ?? '',
        sha256,
      })),
      stops: stops.map(({ place_id, ...stop }) => ({ ...stop, placeId: place_id })),
    };
  }
}

interface WalkJoined extends Omit<WalkRow, 'seq' | 'deleted_at'> {
  readonly song_title: string;
  readonly version_name: string;
  readonly sha256: string;
}

/** A row as a note. */
function noteOf({
  key,
  stop_id,
  subject,
  what,
  value,
  at,
  device,
}: Omit<WalkNoteRow, 'seq' | 'walk_id'>): KeptNote {
  const note = {
    key,
    stop: stop_id,
    what,
    at,
    value: JSON.parse(value),
    ...(subject === 'place' ? {} : { subject: subject === 'song' ? 'song' : Number(subject) }),
  };
  return { ...walkNoteSchema.parse(note), device };
}

type Writer = Transaction<Tables>;

async function setReferences(tx: Writer, id: string, referenceIds: readonly string[]): Promise<void> {
  await tx
    .insertInto('walk_references')
    .values(referenceIds.map((version_id, position) => ({ walk_id: id, position, version_id })))
    .execute();
}

async function insertStop(
  tx: Writer,
  walkId: string,
  id: string,
  { placeId, name, trust }: Omit<WalkStopRecord, 'id'>,
  again = false,
): Promise<void> {
  const insert = tx
    .insertInto('walk_stops')
    .values({ walk_id: walkId, id, place_id: placeId, name, trust, deleted_at: null });
  await (again ? insert.onConflict((c) => c.columns(['walk_id', 'id']).doNothing()) : insert).execute();
}

async function countOf(tx: Writer, table: 'walk_references' | 'walk_notes', walkId: string): Promise<number> {
  const { rows } = await sql<{ count: number }>`
    SELECT count(*) AS count FROM ${sql.table(table)} WHERE walk_id = ${walkId}
  `.execute(tx);
  return Number(rows[0]?.count ?? 0);
}

function invalid(sentence: string): CodedError {
  return new CodedError('WALK_NOTES_INVALID', `These notes cannot be taken in. ${sentence}`);
}
