import { CodedError } from '../audio/coded-error.ts';

/** The code of a system or SQLite error ('ENOSPC', 'SQLITE_FULL'), '' when it has none. */
export function systemCode(error: unknown): string {
  const code = error instanceof Error ? (error as NodeJS.ErrnoException).code : undefined;
  return typeof code === 'string' ? code : '';
}

/**
 * Turns what the disk or SQLite threw into the sentence a person reads. `what` begins it ('The data folder
 * /home/x/...'). A CodedError is passed on as it is.
 */
export function storageError(error: unknown, what: string): CodedError {
  if (error instanceof CodedError) return error;
  const code = systemCode(error);
  const cause = { cause: error };
  if (code === 'ENOSPC' || code === 'EDQUOT' || code === 'SQLITE_FULL')
    return new CodedError('DISK_FULL', `${what} could not be written: the disk is full.`, cause);
  if (code === 'EACCES' || code === 'EPERM' || code === 'EROFS' || code === 'SQLITE_READONLY')
    return new CodedError('FILE_NO_PERMISSION', `${what} may not be written by this user.`, cause);
  const reason = error instanceof Error ? error.message : String(error);
  return new CodedError('STORAGE_FAILED', `${what} could not be opened or written (${reason}).`, cause);
}
