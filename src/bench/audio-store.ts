import { createHash } from 'node:crypto';
import { constants } from 'node:fs';
import { access, copyFile, type FileHandle, mkdir, open, readdir, rename, rm, stat } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { CodedError } from '../audio/coded-error.ts';
import { hashFile } from '../audio/files/hash-file.ts';
import type { Home } from './home.ts';
import { newId } from './ids.ts';
import { storageError } from './storage-error.ts';

/** A file in the store. */
export interface KeptFile {
  readonly sha256: string;
  readonly bytes: number;
}

/** Where the file with these bytes lies. Throws RangeError for anything but 64 hex digits: no other text becomes a path. */
export function audioFilePath(home: Home, sha256: string): string {
  if (!/^[0-9a-f]{64}$/.test(sha256)) throw new RangeError('not a SHA-256');
  return join(home.audioPath, sha256.slice(0, 2), sha256);
}

/**
 * Streams bytes to the disk, hashing on the way, and keeps them under their hash. When this resolves the file is
 * on the disk for good; when it rejects (stream broken off, larger than `maxBytes`, disk full) nothing is left.
 * Throws CodedError FILE_TOO_LARGE, DISK_FULL, FILE_NO_PERMISSION, STORAGE_FAILED; what the stream throws passes.
 */
export async function keepStream(
  home: Home,
  stream: AsyncIterable<Uint8Array>,
  maxBytes: number,
): Promise<KeptFile> {
  const path = join(home.incomingPath, newId());
  const hash = createHash('sha256');
  let bytes = 0;
  try {
    const file = await writing(open(path, 'wx', 0o600));
    try {
      // One chunk at a time: the sender waits while the disk is busy.
      for await (const chunk of stream) {
        bytes += chunk.length;
        if (bytes > maxBytes) throw tooLarge(maxBytes);
        hash.update(chunk);
        await writing(writeAll(file, chunk));
      }
      await writing(file.sync());
    } finally {
      await file.close();
    }
    const sha256 = hash.digest('hex');
    await writing(settle(home, path, sha256));
    return { sha256, bytes };
  } catch (error) {
    await rm(path, { force: true });
    throw error;
  }
}

/** A copy that is not in the store yet: to be looked at, then kept or dropped. */
export interface StagedFile extends KeptFile {
  readonly path: string;
}

/** Copies a file that lies elsewhere (a true copy: what its owner does to it later must not reach the store). */
export async function stageCopy(home: Home, source: string): Promise<StagedFile> {
  const path = join(home.incomingPath, newId());
  try {
    // Shares the blocks on file systems that can.
    await writing(copyFile(source, path, constants.COPYFILE_EXCL | constants.COPYFILE_FICLONE));
    const file = await writing(open(path, 'r+'));
    try {
      await writing(file.sync());
    } finally {
      await file.close();
    }
    const sha256 = await hashFile(path);
    const { size: bytes } = await stat(path);
    return { path, sha256, bytes };
  } catch (error) {
    await rm(path, { force: true });
    throw error;
  }
}

/** Puts a staged copy in the store, where it lies for good. */
export async function keepStaged(home: Home, { path, sha256, bytes }: StagedFile): Promise<KeptFile> {
  await writing(settle(home, path, sha256));
  return { sha256, bytes };
}

/** Keeps a copy of a file that lies elsewhere. */
export async function keepCopy(home: Home, source: string): Promise<KeptFile> {
  const staged = await stageCopy(home, source);
  try {
    return await keepStaged(home, staged);
  } catch (error) {
    await rm(staged.path, { force: true });
    throw error;
  }
}

/** Removes every stored file whose hash is not wanted. Only for the process that owns the folder, before it takes uploads. */
export async function sweepAudio(home: Home, wanted: ReadonlySet<string>): Promise<void> {
  for (const folder of await readdir(home.audioPath)) {
    const names = await readdir(join(home.audioPath, folder)).catch(() => []);
    for (const name of names)
      if (!wanted.has(name)) await rm(join(home.audioPath, folder, name), { recursive: true, force: true });
  }
}

export function tooLarge(maxBytes: number): CodedError {
  return new CodedError(
    'FILE_TOO_LARGE',
    `The file is larger than the limit of ${(maxBytes / 2 ** 30).toPrecision(3)} GiB (${maxBytes} bytes). EVERYROOM_MAX_BYTES sets another.`,
  );
}

async function writeAll(file: FileHandle, chunk: Uint8Array): Promise<void> {
  for (let at = 0; at < chunk.length; ) at += (await file.write(chunk, at)).bytesWritten;
}

/** Moves a finished file to its place; both folders are flushed too, or the name could be lost with the power. */
async function settle(home: Home, path: string, sha256: string): Promise<void> {
  const place = audioFilePath(home, sha256);
  const there = await access(place).then(
    () => true,
    () => false,
  );
  if (there) return rm(path);
  await mkdir(dirname(place), { recursive: true, mode: 0o700 });
  await rename(path, place);
  await syncFolder(dirname(place));
  await syncFolder(home.audioPath);
}

async function syncFolder(path: string): Promise<void> {
  // Windows cannot open a folder as a file and does not need it.
  if (process.platform === 'win32') return;
  const folder = await open(path, 'r');
  try {
    await folder.sync();
  } finally {
    await folder.close();
  }
}

async function writing<T>(step: Promise<T>): Promise<T> {
  try {
    return await step;
  } catch (error) {
    throw storageError(error, 'The file');
  }
}
