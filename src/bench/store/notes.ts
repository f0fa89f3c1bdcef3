import type { Selectable } from 'kysely';
import { CodedError } from '../../audio/coded-error.ts';
import { newId } from '../ids.ts';
import type { Store } from './database.ts';
import type { NoteMarkRow, NoteRow } from './tables.ts';

export interface NotePlace {
  readonly atSeconds: number;
  readonly endSeconds: number | null;
}

export type KeptNote = Selectable<NoteRow>;
export type NoteMark = Selectable<NoteMarkRow>;

/** Notes in the database. What is deleted is only hidden, until purge. Missing ones: CodedError NOT_FOUND. */
export class Notes {
  readonly #store: Store;

  constructor(store: Store) {
    this.#store = store;
  }

  async get(id: string): Promise<KeptNote> {
    const note = await this.#store
      .selectFrom('notes')
      .selectAll()
      .where('id', '=', id)
      .where('deleted_at', 'is', null)
      .executeTakeFirst();
    if (!note) throw noNote();
    return note;
  }

  /** Written on any of these versions. */
  async writtenOn(versionIds: readonly string[]): Promise<KeptNote[]> {
    return this.#store
      .selectFrom('notes')
      .selectAll()
      .where('version_id', 'in', versionIds)
      .where('deleted_at', 'is', null)
      .orderBy('seq')
      .execute();
  }

  /** What was done about notes on one version, by note. */
  async marksOn(versionId: string): Promise<Map<string, NoteMark>> {
    const rows = await this.#store
      .selectFrom('note_marks')
      .selectAll()
      .where('version_id', '=', versionId)
      .execute();
    return new Map(rows.map((row) => [row.note_id, row]));
  }

  async write(versionId: string, { atSeconds, endSeconds }: NotePlace, text: string): Promise<string> {
    const id = newId();
    await this.#store
      .insertInto('notes')
      .values({
        id,
        version_id: versionId,
        at_seconds: atSeconds,
        end_seconds: endSeconds,
        text,
        created_at: new Date().toISOString(),
        deleted_at: null,
      })
      .execute();
    return id;
  }

  /** All of it or nothing: the note's own words and place, and its mark on a version. */
  async change(
    id: string,
    own: { text?: string; at_seconds?: number; end_seconds?: number | null },
    mark: Omit<NoteMark, 'note_id'> | null,
  ): Promise<void> {
    await this.#store.transaction().execute(async (tx) => {
      if (Object.keys(own).length > 0) await tx.updateTable('notes').set(own).where('id', '=', id).execute();
      if (mark)
        await tx
          .insertInto('note_marks')
          .orReplace()
          .values({ note_id: id, ...mark })
          .execute();
    });
  }

  async delete(id: string): Promise<KeptNote> {
    const note = await this.get(id);
    await this.#store
      .updateTable('notes')
      .set({ deleted_at: new Date().toISOString() })
      .where('id', '=', id)
      .execute();
    return note;
  }

  async restore(id: string): Promise<KeptNote> {
    const { numUpdatedRows } = await this.#store
      .updateTable('notes')
      .set({ deleted_at: null })
      .where('id', '=', id)
      .executeTakeFirst();
    if (numUpdatedRows === 0n) throw noNote();
    return this.get(id);
  }

  /** Ends for good what was deleted before `before`. */
  async purge(before: string): Promise<void> {
    await this.#store.deleteFrom('notes').where('deleted_at', '<', before).execute();
  }
}

function noNote(): CodedError {
  return new CodedError('NOT_FOUND', 'There is no such note.');
}
