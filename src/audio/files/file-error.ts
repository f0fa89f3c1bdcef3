import { basename } from 'node:path';
import { CodedError, type ErrorCode } from '../coded-error.ts';

/** What was being done with the file when the system refused. */
type FileAction = 'read' | 'write';

const reasons: Readonly<Record<string, [ErrorCode, string]>> = {
  ENOENT: ['FILE_NOT_FOUND', 'does not exist. Check the name and the folder.'],
  ENOTDIR: ['FILE_NOT_FOUND', 'does not exist: part of its path is a file, not a folder.'],
  ENAMETOOLONG: ['FILE_NOT_FOUND', 'has a longer name than this system allows.'],
  ELOOP: ['FILE_NOT_FOUND', 'is a link that leads back to itself.'],
  EISDIR: ['FILE_IS_DIRECTORY', 'is a folder, not a sound file.'],
  EACCES: ['FILE_NO_PERMISSION', 'may not be opened by this user. Change its permissions or move it.'],
  EPERM: ['FILE_NO_PERMISSION', 'may not be opened by this user. Change its permissions or move it.'],
  EROFS: ['FILE_NO_PERMISSION', 'lies on a disk that can only be read. Choose another folder.'],
  ENOSPC: ['DISK_FULL', 'could not be written: the disk is full. Make room and try again.'],
  EDQUOT: ['DISK_FULL', 'could not be written: your share of the disk is used up. Make room and try again.'],
  EFBIG: ['DISK_FULL', 'could not be written: it is larger than a file on this disk can be.'],
};

/**
 * Turns what the file system throws into an error for a person, naming the file by its base name. Errors that are
 * for a person already, and those of a cancelled run, pass unchanged.
 */
export function fileError(error: unknown, path: string, action: FileAction): unknown {
  if (error instanceof CodedError || !(error instanceof Error) || !('code' in error)) return error;
  if (typeof error.code !== 'string' || error.name === 'AbortError') return error;
  const name = basename(path);
  const known = reasons[error.code];
  if (known) return new CodedError(known[0], `“${name}” ${known[1]}`, { cause: error });
  return action === 'write'
    ? new CodedError(
        'FILE_WRITE_FAILED',
        `“${name}” could not be written (${error.code}). Try another folder or disk.`,
        { cause: error },
      )
    : new CodedError(
        'FILE_READ_FAILED',
        `“${name}” could not be read to its end (${error.code}). Copy it to another disk and try again.`,
        { cause: error },
      );
}
