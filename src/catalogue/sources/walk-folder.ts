import type { Dirent } from 'node:fs';
import { opendir, stat } from 'node:fs/promises';
import { sep } from 'node:path';
import { fileError } from '../../audio/files/file-error.ts';
import { isSoundName } from '../../bench/watch/song-key.ts';
import { sourceOfPath } from './source-text.ts';

export interface WalkOptions {
  /** Only files that were written to since, ms; null: all. */
  readonly changedSinceMs: number | null;
  /** Told of folders inside that could not be read; the walk goes on. */
  onUnread?(path: string, error: unknown): void;
}

/**
 * Sound files below a folder, told by their endings, folder by folder and by name within each. Hidden ones are passed over, links
 * to files are followed, links to folders are not: they could lead round in a circle. Names are bytes until they are known to be text.
 * Throws CodedError when the folder itself cannot be read.
 */
export async function* walkFolder(path: string, options: WalkOptions): AsyncGenerator<string> {
  yield* walk(Buffer.from(path), options, true);
}

async function* walk(folder: Buffer, options: WalkOptions, isTop: boolean): AsyncGenerator<string> {
  let entries: Dirent[];
  try {
    entries = await entriesOf(folder);
  } catch (error) {
    if (isTop) throw fileError(error, folder.toString(), 'read');
    options.onUnread?.(folder.toString(), error);
    return;
  }
  const folders: Buffer[] = [];
  for (const entry of entries) {
    const name = bytesOf(entry);
    if (name[0] === hidden) continue;
    const path = Buffer.concat([folder, Buffer.from(sep), name]);
    if (entry.isDirectory()) folders.push(path);
    else if ((entry.isFile() || entry.isSymbolicLink()) && isSoundName(name.toString('latin1'))) {
      if (await isWanted(path, options)) yield sourceOfPath(path);
    }
  }
  for (const inside of folders) yield* walk(inside, options, false);
}

const hidden = '.'.charCodeAt(0);

async function entriesOf(folder: Buffer): Promise<Dirent[]> {
  const entries: Dirent[] = [];
  // Typed for text; with this encoding the names come as bytes.
  const opened = await opendir(folder as unknown as string, { encoding: 'buffer' as BufferEncoding });
  for await (const entry of opened) entries.push(entry);
  return entries.sort((a, b) => Buffer.compare(bytesOf(a), bytesOf(b)));
}

const bytesOf = (entry: Dirent): Buffer => entry.name as unknown as Buffer;

/** What cannot be looked at is listed: its check then says why. */
async function isWanted(path: Buffer, { changedSinceMs }: WalkOptions): Promise<boolean> {
  const found = await stat(path).catch(() => null);
  if (found && !found.isFile()) return false;
  return changedSinceMs === null || !found || found.mtimeMs >= changedSinceMs;
}
