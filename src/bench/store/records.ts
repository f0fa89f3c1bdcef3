import type { Selectable } from 'kysely';
import { CodedError } from '../../audio/coded-error.ts';
import { type ReleaseRecord, readRecord } from '../../deliver/record/record.ts';
import { newId } from '../ids.ts';
import type { Store } from './database.ts';
import type { DeliveryRow, RecordRow, ReviewRow } from './record-tables.ts';

/** A record on the bench. */
export interface KeptRecord {
  readonly id: string;
  readonly record: ReleaseRecord;
  readonly artwork: { readonly sha256: string; readonly name: string } | null;
  readonly createdAt: string;
  readonly changedAt: string;
}

/** What somebody said of a version. */
export interface Review {
  readonly id: string;
  readonly versionId: string;
  readonly sha256: string;
  readonly what: ReviewRow['what'];
  readonly by: string;
  readonly text: string;
  readonly atSeconds: number | null;
  readonly at: string;
}

/** Records, deliveries and reviews in the database. What is deleted is only hidden, until purge. Missing ones: CodedError NOT_FOUND. */
export class RecordStore {
  readonly #store: Store;

  constructor(store: Store) {
    this.#store = store;
  }

  /** The one changed last first. */
  async list(): Promise<KeptRecord[]> {
    const rows = await this.#store
      .selectFrom('records')
      .selectAll()
      .where('deleted_at', 'is', null)
      .orderBy('changed_at', 'desc')
      .orderBy('seq', 'desc')
      .execute();
    return rows.map(keptRecord);
  }

  async get(id: string): Promise<KeptRecord> {
    const row = await this.#store
      .selectFrom('records')
      .selectAll()
      .where('id', '=', id)
      .where('deleted_at', 'is', null)
      .executeTakeFirst();
    if (!row) throw new CodedError('NOT_FOUND', 'There is no such record.');
    return keptRecord(row);
  }

  async add(record: ReleaseRecord, at: string): Promise<string> {
    const id = newId();
    await this.#store
      .insertInto('records')
      .values({
        id,
        data: JSON.stringify(record),
        artwork_sha256: null,
        artwork_name: null,
        created_at: at,
        changed_at: at,
        deleted_at: null,
      })
      .execute();
    return id;
  }

  /** Also takes back a deletion (`deleted_at` null). */
  async update(
    id: string,
    values: Partial<
      Pick<RecordRow, 'data' | 'artwork_sha256' | 'artwork_name' | 'changed_at' | 'deleted_at'>
    >,
  ): Promise<void> {
    const { numUpdatedRows } = await this.#store
      .updateTable('records')
      .set(values)
      .where('id', '=', id)
      .executeTakeFirst();
    if (numUpdatedRows === 0n) throw new CodedError('NOT_FOUND', 'There is no such record.');
  }

  /** Forgets what was deleted before; resolves to the pictures that are still wanted. */
  async purge(before: string): Promise<string[]> {
    await this.#store.deleteFrom('records').where('deleted_at', '<', before).execute();
    const rows = await this.#store.selectFrom('records').select('artwork_sha256').execute();
    return rows.flatMap(({ artwork_sha256 }) => artwork_sha256 ?? []);
  }

  async addDelivery(row: Pick<DeliveryRow, 'record_id' | 'folder' | 'data' | 'created_at'>): Promise<string> {
    const id = newId();
    const rest = { state: 'running' as const, result: null, error_code: null, error_message: null };
    await this.#store
      .insertInto('deliveries')
      .values({ ...row, ...rest, id })
      .execute();
    return id;
  }

  /** Newest first. */
  deliveries(recordId: string): Promise<Selectable<DeliveryRow>[]> {
    return this.#store
      .selectFrom('deliveries')
      .selectAll()
      .where('record_id', '=', recordId)
      .orderBy('seq', 'desc')
      .execute();
  }

  async delivery(id: string): Promise<Selectable<DeliveryRow>> {
    const row = await this.#store
      .selectFrom('deliveries')
      .selectAll()
      .where('id', '=', id)
      .executeTakeFirst();
    if (!row) throw new CodedError('NOT_FOUND', 'There is no such delivery.');
    return row;
  }

  async updateDelivery(
    id: string,
    values: Partial<Pick<DeliveryRow, 'state' | 'result' | 'error_code' | 'error_message' | 'data'>>,
  ): Promise<void> {
    await this.#store.updateTable('deliveries').set(values).where('id', '=', id).execute();
  }

  /** What was under way when the program ended stands still now, and can be gone on with. */
  async stopRunning(): Promise<void> {
    await this.#store
      .updateTable('deliveries')
      .set({ state: 'stopped' })
      .where('state', '=', 'running')
      .execute();
  }

  async addReview(review: Omit<Review, 'id'>): Promise<string> {
    const id = newId();
    const { versionId, sha256, what, by, text, atSeconds, at } = review;
    await this.#store
      .insertInto('reviews')
      .values({ id, version_id: versionId, sha256, what, by, text, at_seconds: atSeconds, created_at: at })
      .execute();
    return id;
  }

  /** Of a version, oldest first. */
  async reviews(versionId: string): Promise<Review[]> {
    const rows = await this.#store
      .selectFrom('reviews')
      .selectAll()
      .where('version_id', '=', versionId)
      .orderBy('seq')
      .execute();
    return rows.map(review);
  }

  /** The newest word of approval on any version of a song: approved, or withdrawn; null where there is none. */
  async lastApproval(songId: string): Promise<Review | null> {
    const row = await this.#store
      .selectFrom('reviews')
      .innerJoin('versions', 'versions.id', 'reviews.version_id')
      .selectAll('reviews')
      .where('versions.song_id', '=', songId)
      .where('reviews.what', '!=', 'wish')
      .orderBy('reviews.seq', 'desc')
      .executeTakeFirst();
    return row ? review(row) : null;
  }

  async addLink(link: {
    selector: string;
    version_id: string;
    hash: string;
    name: string;
    note: string;
    expires_at: string;
  }): Promise<void> {
    await this.#store.insertInto('review_links').values(link).execute();
  }

  findLink(selector: string) {
    return this.#store
      .selectFrom('review_links')
      .selectAll()
      .where('selector', '=', selector)
      .executeTakeFirst();
  }

  async withdrawLinks(versionId: string): Promise<void> {
    await this.#store.deleteFrom('review_links').where('version_id', '=', versionId).execute();
  }
}

function keptRecord(row: Selectable<RecordRow>): KeptRecord {
  const { id, data, artwork_sha256: sha256, artwork_name: name, created_at, changed_at } = row;
  return {
    id,
    record: readRecord(JSON.parse(data)),
    artwork: sha256 === null ? null : { sha256, name: name ?? 'artwork' },
    createdAt: created_at,
    changedAt: changed_at,
  };
}

function review(row: Selectable<ReviewRow>): Review {
  const { id, sha256, what, by, text } = row;
  return {
    ...{ id, sha256, what, by, text },
    versionId: row.version_id,
    atSeconds: row.at_seconds,
    at: row.created_at,
  };
}
