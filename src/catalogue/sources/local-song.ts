import { mkdtemp, rm, symlink } from 'node:fs/promises';
import { join } from 'node:path';
import { type FetchOptions, fetchSong } from './fetch-song.ts';
import { isAddress, pathOf } from './source-text.ts';

/** A song where readers of files find it. */
export interface LocalSong {
  readonly path: string;
  /** Removes what was fetched or made for it. */
  release(): Promise<void>;
}

/**
 * Brings a song to where it can be read: an address is fetched; a path that is no UTF-8, which readers cannot be told, gets a link.
 * Rejects as fetchSong does.
 */
export async function localSong(source: string, scratch: string, options: FetchOptions): Promise<LocalSong> {
  const path = isAddress(source) ? null : pathOf(source);
  if (typeof path === 'string') return { path, release: async () => {} };
  const folder = await mkdtemp(join(scratch, 'song-'));
  const release = () => rm(folder, { recursive: true, force: true });
  const here = join(folder, 'song');
  try {
    if (path === null) await fetchSong(source, here, options);
    else await symlink(path, here);
    return { path: here, release };
  } catch (error) {
    await release();
    throw error;
  }
}
