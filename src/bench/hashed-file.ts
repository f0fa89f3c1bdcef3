import { stat } from 'node:fs/promises';
import { basename } from 'node:path';
import { CodedError } from '../audio/coded-error.ts';
import { hashFile } from '../audio/files/hash-file.ts';
import type { Run } from '../audio/run.ts';

/** A sound file as heavy work is asked for it: where it lies and what is in it. */
export interface KnownFile {
  readonly path: string;
  /** SHA-256 of its bytes, 64 lower-case hex digits; this, not the path, is what a result is kept under. */
  readonly sha256: string | Promise<string>;
  /** Rejects with CodedError FILE_CHANGED when the file may no longer be what was hashed. Not there for files that never change. */
  readonly verify?: () => Promise<void>;
}

/** Begins to hash a file, which may be read for other things meanwhile. `sha256` rejects as hashFile does. */
export function hashedFile(
  path: string,
  run?: Run,
): KnownFile & { readonly sha256: Promise<string>; readonly verify: () => Promise<void> } {
  const before = writtenAt(path);
  const sha256 = before.then(() => hashFile(path, run));
  // Whoever awaits it is told; nobody may.
  sha256.catch(() => {});
  return {
    path,
    sha256,
    verify: async () => {
      if ((await writtenAt(path)) === (await before)) return;
      throw new CodedError(
        'FILE_CHANGED',
        `“${basename(path)}” was written to while it was read. Wait until it is finished and try again.`,
      );
    },
  };
}

/** Which file it is and when it was written last, to compare; a file that cannot be looked at is told by reading it. */
async function writtenAt(path: string): Promise<string> {
  try {
    const { dev, ino, size, mtimeNs, ctimeNs } = await stat(path, { bigint: true });
    return [dev, ino, size, mtimeNs, ctimeNs].join();
  } catch {
    return '';
  }
}
