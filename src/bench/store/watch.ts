import { CodedError } from '../../audio/coded-error.ts';
import { newId } from '../ids.ts';
import { exactJson } from '../json.ts';
import type { Store } from './database.ts';

export interface WatchedFolder {
  readonly id: string;
  readonly path: string;
}

/** A file as it was when it was last looked at. */
export interface FileState {
  readonly name: string;
  readonly bytes: number;
  /** Time of the last change, ms since 1970. */
  readonly changedMs: number;
}

export interface Arrival {
  /** ISO 8601, UTC. */
  readonly at: string;
  readonly fileName: string;
  readonly versionId: string | null;
  readonly songId: string | null;
  readonly songTitle: string | null;
  readonly how: string;
  readonly lines: readonly string[];
}

/** Arrivals that are shown, and kept. */
const mostArrivals = 100;

/** Watched folders in the database, what was dealt with in each, and what came in. */
export class WatchStore {
  readonly #store: Store;

  constructor(store: Store) {
    this.#store = store;
  }

  folders(): Promise<WatchedFolder[]> {
    return this.#store.selectFrom('watch_folders').select(['id', 'path']).orderBy('seq').execute();
  }

  /** Files that lie there now count as dealt with: only what comes later is new. A folder that is watched stays as it is. */
  async add(path: string, there: readonly FileState[]): Promise<void> {
    await this.#store.transaction().execute(async (tx) => {
      const id = newId();
      const { numInsertedOrUpdatedRows } = await tx
        .insertInto('watch_folders')
        .values({ id, path })
        .onConflict((conflict) => conflict.doNothing())
        .executeTakeFirst();
      if (numInsertedOrUpdatedRows === 0n) return;
      for (const { name, bytes, changedMs } of there)
        await tx
          .insertInto('watch_files')
          .values({ watch_id: id, name, bytes, changed_ms: changedMs })
          .execute();
    });
  }

  async remove(id: string): Promise<void> {
    const { numDeletedRows } = await this.#store
      .deleteFrom('watch_folders')
      .where('id', '=', id)
      .executeTakeFirst();
    if (numDeletedRows === 0n) throw new CodedError('NOT_FOUND', 'There is no such watched folder.');
  }

  /** What was dealt with in a folder, by name. */
  async dealtWith(watchId: string): Promise<Map<string, FileState>> {
    const rows = await this.#store
      .selectFrom('watch_files')
      .selectAll()
      .where('watch_id', '=', watchId)
      .execute();
    return new Map(rows.map(({ name, bytes, changed_ms }) => [name, { name, bytes, changedMs: changed_ms }]));
  }

  /** Writes down that a file was dealt with, and what came of it (null: nothing to tell), in one step. */
  async deal(
    watchId: string,
    { name, bytes, changedMs }: FileState,
    told: Pick<Arrival, 'versionId' | 'how' | 'lines'> | null,
  ): Promise<void> {
    await this.#store.transaction().execute(async (tx) => {
      // The folder may have been let go meanwhile.
      const watched = await tx
        .selectFrom('watch_folders')
        .select('id')
        .where('id', '=', watchId)
        .executeTakeFirst();
      if (watched)
        await tx
          .insertInto('watch_files')
          .orReplace()
          .values({ watch_id: watchId, name, bytes, changed_ms: changedMs })
          .execute();
      if (!told) return;
      await tx
        .insertInto('watch_arrivals')
        .values({
          at: new Date().toISOString(),
          file_name: name,
          version_id: told.versionId,
          how: told.how,
          lines: exactJson(told.lines),
        })
        .execute();
      await tx
        .deleteFrom('watch_arrivals')
        .where('seq', 'not in', (query) =>
          query.selectFrom('watch_arrivals').select('seq').orderBy('seq', 'desc').limit(mostArrivals),
        )
        .execute();
    });
  }

  /** Newest first. What came in stays told when its song is deleted, without leading to it. */
  async arrivals(): Promise<Arrival[]> {
    const rows = await this.#store
      .selectFrom('watch_arrivals')
      .leftJoin('versions', (join) =>
        join.onRef('versions.id', '=', 'watch_arrivals.version_id').on('versions.deleted_at', 'is', null),
      )
      .leftJoin('songs', (join) =>
        join.onRef('songs.id', '=', 'versions.song_id').on('songs.deleted_at', 'is', null),
      )
      .select([
        'watch_arrivals.at',
        'watch_arrivals.file_name',
        'watch_arrivals.how',
        'watch_arrivals.lines',
        'versions.id as version_id',
        'songs.id as song_id',
        'songs.title',
      ])
      .orderBy('watch_arrivals.seq', 'desc')
      .execute();
    return rows.map((row) => ({
      at: row.at,
      fileName: row.file_name,
      versionId: row.song_id === null ? null : row.version_id,
      songId: row.song_id,
      songTitle: row.title,
      how: row.how,
      lines: JSON.parse(row.lines) as string[],
    }));
  }
}
