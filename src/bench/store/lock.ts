import { join } from 'node:path';
import Database from 'libsql';
import { CodedError } from '../../audio/coded-error.ts';
import type { Home } from '../home.ts';
import { storageError, systemCode } from '../storage-error.ts';

/**
 * Makes this process the one owner of the data folder's queue and uploads until the returned function is called
 * or the process ends, however it ends: an exclusive SQLite transaction is a lock that the system itself
 * releases, so no stale lock can be left. Throws CodedError STORAGE_IN_USE.
 */
export function lockHome(home: Home): () => void {
  let database: Database.Database | undefined;
  try {
    database = new Database(join(home.path, 'owner.lock'));
    database.exec('BEGIN EXCLUSIVE');
    const held = database;
    return () => held.close();
  } catch (error) {
    database?.close();
    if (systemCode(error).startsWith('SQLITE_BUSY'))
      throw new CodedError(
        'STORAGE_IN_USE',
        `Another Everyroom already works with the data folder ${home.path}. Close it, or set EVERYROOM_HOME to another folder.`,
        { cause: error },
      );
    throw storageError(error, `The data folder ${home.path}`);
  }
}
