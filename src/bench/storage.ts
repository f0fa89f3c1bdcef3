import { readdir, rm, stat, statfs } from 'node:fs/promises';
import { join } from 'node:path';
import type { Home } from './home.ts';
import { storageError } from './storage-error.ts';
import type { Store } from './store/database.ts';

/** What the data folder holds, in bytes. */
export interface StorageUse {
  readonly audioBytes: number;
  /** Sound made ready for the desk. */
  readonly playbackBytes: number;
  /** Coded passages. */
  readonly passageBytes: number;
  readonly databaseBytes: number;
  /** Of files that only deleted songs and versions still need. */
  readonly deletedBytes: number;
  readonly freeBytes: number;
}

/** What may be cleared: all of it can be made anew. */
export type Clearable = 'playback' | 'passages';

/** How much room the data folder takes, and making some. */
export class StorageRoom {
  readonly #home: Home;
  readonly #store: Store;

  constructor(home: Home, store: Store) {
    this.#home = home;
    this.#store = store;
  }

  async use(): Promise<StorageUse> {
    const { path, audioPath, databasePath, excerptsPath } = this.#home;
    const database = await Promise.all(['', '-wal', '-shm'].map((end) => bytesOf(`${databasePath}${end}`)));
    const disk = await statfs(path);
    return {
      audioBytes: await bytesBelow(audioPath),
      playbackBytes: await bytesBelow(this.#playbackPath),
      passageBytes: await bytesBelow(excerptsPath),
      databaseBytes: database.reduce((sum, bytes) => sum + bytes, 0),
      deletedBytes: await this.#deletedBytes(),
      freeBytes: disk.bavail * disk.bsize,
    };
  }

  async clear(what: readonly Clearable[]): Promise<StorageUse> {
    const paths = { playback: this.#playbackPath, passages: this.#home.excerptsPath };
    for (const each of new Set(what)) await empty(paths[each]);
    return this.use();
  }

  get #playbackPath(): string {
    return join(this.#home.path, 'playback');
  }

  async #deletedBytes(): Promise<number> {
    const { bytes } = await this.#store
      .selectFrom('files')
      .select((e) => e.fn.coalesce(e.fn.sum<number>('bytes'), e.lit(0)).as('bytes'))
      .where('sha256', 'not in', (query) =>
        query
          .selectFrom('versions')
          .innerJoin('songs', 'songs.id', 'versions.song_id')
          .select('versions.sha256')
          .where('versions.deleted_at', 'is', null)
          .where('songs.deleted_at', 'is', null),
      )
      .executeTakeFirstOrThrow();
    return Number(bytes);
  }
}

async function bytesOf(path: string): Promise<number> {
  // What went away between listing and looking takes no room.
  return (await stat(path).catch(() => null))?.size ?? 0;
}

async function bytesBelow(folder: string): Promise<number> {
  const entries = await readdir(folder, { withFileTypes: true, recursive: true }).catch(() => []);
  let bytes = 0;
  for (const entry of entries) if (entry.isFile()) bytes += await bytesOf(join(entry.parentPath, entry.name));
  return bytes;
}

async function empty(folder: string): Promise<void> {
  for (const name of await readdir(folder).catch(() => []))
    try {
      await rm(join(folder, name), { recursive: true, force: true });
    } catch (error) {
      throw storageError(error, `The folder ${folder}`);
    }
}
