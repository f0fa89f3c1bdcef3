import { Kysely, SqliteDialect } from 'kysely';
import Database from 'libsql';
import { CodedError } from '../../audio/coded-error.ts';
import { storageError } from '../storage-error.ts';
import { migrations } from './migrations.ts';
import type { Tables } from './tables.ts';

export type Store = Kysely<Tables>;

/**
 * Opens the SQLite file, making or migrating it. What was answered as done is on the disk even when the power
 * goes the next moment (WAL with synchronous=FULL); several processes may have it open (server and command line).
 * Throws CodedError: STORAGE_NEWER, STORAGE_FAILED, DISK_FULL, FILE_NO_PERMISSION.
 */
export function openStore(path: string, steps: readonly string[] = migrations): Store {
  try {
    const database = new Database(path, { timeout: 10_000 });
    try {
      database.pragma('journal_mode = WAL');
      database.pragma('synchronous = FULL');
      database.pragma('foreign_keys = ON');
      migrate(database, path, steps);
    } catch (error) {
      database.close();
      throw error;
    }
    return new Kysely<Tables>({ dialect: new SqliteDialect({ database }) });
  } catch (error) {
    throw storageError(error, `The database ${path}`);
  }
}

function migrate(database: Database.Database, path: string, steps: readonly string[]): void {
  if (schemaOf(database) === steps.length) return;
  // IMMEDIATE takes the write lock first: of two processes that start together the second finds the work done.
  database
    .transaction(() => {
      const schema = schemaOf(database);
      if (schema > steps.length)
        throw new CodedError(
          'STORAGE_NEWER',
          `The data in ${path} was written by a newer Everyroom (schema ${schema}, this one knows ${steps.length}). Update Everyroom, or set EVERYROOM_HOME to another folder.`,
        );
      for (const step of steps.slice(schema)) database.exec(step);
      database.exec(`PRAGMA user_version = ${steps.length}`);
    })
    .immediate();
}

function schemaOf(database: Database.Database): number {
  const [row] = database.prepare('PRAGMA user_version').all() as { user_version: number }[];
  return row?.user_version ?? 0;
}
