import { sql } from 'kysely';
import { CodedError } from '../../audio/coded-error.ts';
import { newId } from '../ids.ts';
import type { Store } from './database.ts';

/** A named set of references, as it is listed. */
export interface ReferenceSet {
  readonly id: string;
  readonly name: string;
  readonly changedAt: string;
  /** In the order in which they were added; those whose version is deleted are hidden until it comes back. */
  readonly members: SetMember[];
}

export interface SetMember {
  readonly versionId: string;
  readonly name: string;
  readonly songTitle: string;
  readonly sha256: string;
  readonly bytes: number;
  readonly checked: boolean;
}

/** Reference sets in the database. What is deleted is only hidden, until purge. Missing ones: CodedError NOT_FOUND. */
export class Sets {
  readonly #store: Store;

  constructor(store: Store) {
    this.#store = store;
  }

  /** By name. */
  async list(): Promise<ReferenceSet[]> {
    const rows = await this.#store
      .selectFrom('reference_sets')
      .select(['id', 'name', 'changed_at'])
      .where('deleted_at', 'is', null)
      .orderBy(sql`name COLLATE NOCASE`)
      .execute();
    const sets = rows.map(
      (row): ReferenceSet => ({
        id: row.id,
        name: row.name,
        changedAt: row.changed_at,
        members: [],
      }),
    );
    const byId = new Map(sets.map((set) => [set.id, set]));
    for (const { setId, ...member } of await this.#members()) byId.get(setId)?.members.push(member);
    return sets;
  }

  async get(id: string): Promise<ReferenceSet> {
    const set = (await this.list()).find((each) => each.id === id);
    if (!set) throw noSet();
    return set;
  }

  /** CodedError REQUEST_INVALID when another set has that name. */
  async make(name: string): Promise<string> {
    const id = newId();
    await this.#store.transaction().execute(async (tx) => {
      await refuseTaken(tx, name, null);
      await tx
        .insertInto('reference_sets')
        .values({ id, name, changed_at: now(), deleted_at: null })
        .execute();
    });
    return id;
  }

  async rename(id: string, name: string): Promise<void> {
    await this.#store.transaction().execute(async (tx) => {
      await refuseTaken(tx, name, id);
      await change(tx, id, { name });
    });
  }

  async delete(id: string): Promise<void> {
    await change(this.#store, id, { deleted_at: now() });
  }

  async restore(id: string): Promise<void> {
    await change(this.#store, id, { deleted_at: null }, true);
  }

  /** Adding what is there changes nothing. */
  async add(id: string, versionId: string): Promise<void> {
    await this.#store.transaction().execute(async (tx) => {
      await change(tx, id, {});
      await tx
        .insertInto('set_members')
        .values({ set_id: id, version_id: versionId })
        .onConflict((conflict) => conflict.doNothing())
        .execute();
    });
  }

  async remove(id: string, versionId: string): Promise<void> {
    await this.#store.transaction().execute(async (tx) => {
      await change(tx, id, {});
      await tx
        .deleteFrom('set_members')
        .where('set_id', '=', id)
        .where('version_id', '=', versionId)
        .execute();
    });
  }

  /** Ends for good what was deleted before `before`. */
  async purge(before: string): Promise<void> {
    await this.#store.deleteFrom('reference_sets').where('deleted_at', '<', before).execute();
  }

  async #members(): Promise<(SetMember & { setId: string })[]> {
    const rows = await this.#store
      .selectFrom('set_members')
      .innerJoin('versions', 'versions.id', 'set_members.version_id')
      .innerJoin('songs', 'songs.id', 'versions.song_id')
      .innerJoin('files', 'files.sha256', 'versions.sha256')
      .leftJoin('reports', 'reports.version_id', 'versions.id')
      .select([
        'set_members.set_id',
        'versions.id',
        'versions.name',
        'versions.sha256',
        'files.bytes',
        'songs.title',
        'reports.made_at',
      ])
      .where('versions.deleted_at', 'is', null)
      .where('songs.deleted_at', 'is', null)
      .orderBy('set_members.seq')
      .execute();
    return rows.map((row) => ({
      setId: row.set_id,
      versionId: row.id,
      name: row.name,
      songTitle: row.title,
      sha256: row.sha256,
      bytes: row.bytes,
      checked: row.made_at !== null,
    }));
  }
}

type Writer = Pick<Store, 'selectFrom' | 'updateTable'>;

async function refuseTaken(tx: Writer, name: string, except: string | null): Promise<void> {
  const taken = await tx
    .selectFrom('reference_sets')
    .select('id')
    .where(sql`name COLLATE NOCASE`, '=', name)
    .where('deleted_at', 'is', null)
    .executeTakeFirst();
  if (taken && taken.id !== except)
    throw new CodedError('REQUEST_INVALID', `There is already a set named “${name}”; choose another name.`);
}

async function change(
  tx: Writer,
  id: string,
  values: { name?: string; deleted_at?: string | null },
  alsoDeleted = false,
): Promise<void> {
  let update = tx
    .updateTable('reference_sets')
    .set({ ...values, changed_at: now() })
    .where('id', '=', id);
  if (!alsoDeleted) update = update.where('deleted_at', 'is', null);
  const { numUpdatedRows } = await update.executeTakeFirst();
  if (numUpdatedRows === 0n) throw noSet();
}

function noSet(): CodedError {
  return new CodedError('NOT_FOUND', 'There is no such reference set.');
}

function now(): string {
  return new Date().toISOString();
}
