import { stat } from 'node:fs/promises';
import { resolve } from 'node:path';
import { CodedError } from '../../audio/coded-error.ts';
import { fileError } from '../../audio/files/file-error.ts';
import { displayName } from '../../bench/display-name.ts';
import { isSoundName } from '../../bench/watch/song-key.ts';
import type { Catalogue } from '../catalogue.ts';
import { readList } from '../sources/read-list.ts';
import { type WalkOptions, walkFolder } from '../sources/walk-folder.ts';
import type { Listed } from '../store/runs.ts';

/** Songs a transaction. */
const batchSongs = 500;

/**
 * Sources of the songs below a folder or in a list. Throws CodedError at once when there is no such place; what is wrong with the
 * list itself is thrown on the way.
 */
export async function songSources(what: string, walk: WalkOptions): Promise<AsyncGenerator<string>> {
  const path = resolve(what);
  let found: Awaited<ReturnType<typeof stat>>;
  try {
    found = await stat(path);
  } catch (error) {
    throw fileError(error, path, 'read');
  }
  if (found.isDirectory()) return walkFolder(path, walk);
  if (isSoundName(displayName(path)))
    throw new CodedError(
      'LIST_INVALID',
      `“${displayName(path)}” is a song; a folder or a list of songs (CSV) is wanted. “everyroom check” takes songs.`,
    );
  return readList(path);
}

/**
 * Puts songs on a run's list as they are found, a few hundred a transaction: the next are looked for when those are on the disk, so
 * memory stays flat however long the list is. Resolves when the list is whole, or broken off by `signal`.
 */
export async function listSongs(
  catalogue: Catalogue,
  run: { readonly id: string; readonly engine: string },
  sources: AsyncIterable<string>,
  signal: AbortSignal,
): Promise<{ listed: number; repeats: number; whole: boolean }> {
  const { runs } = catalogue;
  let seq = 0;
  let repeats = 0;
  let batch: Listed[] = [];
  const put = async (): Promise<void> => {
    const songs = batch;
    batch = [];
    if (songs.length > 0) repeats += await catalogue.patiently(() => runs.list(run.id, run.engine, songs));
  };
  for await (const source of sources) {
    if (signal.aborted) break;
    batch.push({ seq: ++seq, source });
    if (batch.length >= batchSongs) await put();
  }
  await put();
  const whole = !signal.aborted;
  if (whole) await catalogue.patiently(() => runs.endList(run.id, repeats));
  return { listed: seq - repeats, repeats, whole };
}
