import { Kysely, SqliteDialect, sql } from 'kysely';
import Database from 'libsql';
import { storageError } from '../../bench/storage-error.ts';
import { migrations, sqliteDialect } from './migrations.ts';
import { refuseNewer } from './schema.ts';
import type { Adapter, CatalogueDb, SongQueue, TakenSong } from './song-queue.ts';
import type { CatalogueTables } from './tables.ts';

/** How long a process waits for another that writes, ms. */
const busyMilliseconds = 30_000;

export interface SqliteOptions {
  readonly path: string;
  /** Between a try that failed and the next, ms. */
  readonly pauseMs: number;
}

/**
 * A catalogue in one SQLite file: for one machine, any number of processes. CodedError: STORAGE_NEWER, STORAGE_FAILED, DISK_FULL,
 * FILE_NO_PERMISSION.
 */
export function openSqlite({ path, pauseMs }: SqliteOptions): Adapter {
  const what = `The catalogue ${path}`;
  try {
    const database = new Database(path, { timeout: busyMilliseconds });
    try {
      database.pragma('journal_mode = WAL');
      // A power cut may take the last commits back, whole. Their songs are then found unfinished and checked again, so the
      // wait for the disk at every song buys nothing.
      database.pragma('synchronous = NORMAL');
      database.pragma('foreign_keys = ON');
      migrate(database, path);
    } catch (error) {
      database.close();
      throw error;
    }
    const db = new Kysely<CatalogueTables>({ dialect: new SqliteDialect({ database }) });
    return {
      kind: 'sqlite',
      db,
      queue: rowQueue(db),
      pauseMs,
      // One machine, one clock.
      now: () => sql<number>`${Date.now()}`,
      isAway: () => false,
      explain: (error) => storageError(error, what),
      close: () => db.destroy(),
    };
  } catch (error) {
    throw storageError(error, what);
  }
}

function migrate(database: Database.Database, path: string): void {
  // IMMEDIATE takes the write lock first: of two processes that start together the second finds the work done.
  database
    .transaction(() => {
      database.exec('CREATE TABLE IF NOT EXISTS catalogue_schema (version INTEGER NOT NULL) STRICT');
      const rows = database.prepare('SELECT version FROM catalogue_schema').all() as { version: number }[];
      const version = rows[0]?.version ?? 0;
      refuseNewer(version, path);
      if (version === migrations.length) return;
      for (const step of migrations.slice(version))
        for (const statement of step(sqliteDialect)) database.exec(statement);
      database.exec('DELETE FROM catalogue_schema');
      database.exec(`INSERT INTO catalogue_schema VALUES (${migrations.length})`);
    })
    .immediate();
}

/** The songs' own rows are the queue, so that whatever changes them has said it all. */
function rowQueue(db: CatalogueDb): SongQueue {
  const nothing = async (): Promise<void> => {};
  return {
    prepare: nothing,
    newJob: () => '',
    put: nothing,
    settle: nothing,
    again: nothing,
    async take(worker, engine, count) {
      // One statement, so that no two processes are given the same song.
      const { rows } = await sql<TakenSong>`
        UPDATE catalogue_songs SET state = 'working', worker = ${worker}, tries = tries + 1
        WHERE rowid IN (
          SELECT rowid FROM catalogue_songs
          WHERE state = 'waiting' AND try_after_ms <= ${Date.now()}
            AND run_id IN (SELECT id FROM catalogue_runs WHERE engine = ${engine} AND ended_ms IS NULL)
          ORDER BY try_after_ms, run_id, seq LIMIT ${count})
        RETURNING run_id AS "runId", seq, source, name, job, tries`.execute(db);
      return rows;
    },
  };
}
