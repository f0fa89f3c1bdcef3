import { basename } from 'node:path';
import { CodedError } from '../../audio/coded-error.ts';
import { checkFile } from '../../bench/check-file.ts';
import { hashedFile } from '../../bench/hashed-file.ts';
import type { Pool } from '../../bench/pool.ts';
import { judgeFacts, packFacts } from '../facts.ts';
import type { FetchOptions } from '../sources/fetch-song.ts';
import { localSong } from '../sources/local-song.ts';
import type { Run } from '../store/runs.ts';
import type { TakenSong } from '../store/song-queue.ts';
import type { SongResult } from '../store/work.ts';

export interface CheckTools {
  readonly pool: Pool;
  /** Folder for what is fetched. */
  readonly scratch: string;
  readonly fetching: Omit<FetchOptions, 'signal'>;
  readonly signal: AbortSignal;
  /** What is known of a file's content; null when it must be measured. */
  facts(sha256: string): Promise<Buffer | null>;
}

/**
 * One song of a run, from its source to its verdict. A content that is known is judged, not measured. Rejects with CodedError: what
 * fetching, reading and measuring give, FILE_CHANGED, JOB_CANCELLED.
 */
export async function checkSong(
  { source, name }: TakenSong,
  { profile, kind, lossy }: Pick<Run, 'profile' | 'kind' | 'lossy'>,
  { pool, scratch, fetching, signal, facts }: CheckTools,
): Promise<SongResult> {
  const began = performance.now();
  const local = await localSong(source, scratch, { ...fetching, signal });
  try {
    const file = hashedFile(local.path, { signal });
    const sha256 = await file.sha256;
    const known = await facts(sha256);
    const packed = known ?? (await measured(local.path, sha256));
    await file.verify();
    const report = judgeFacts(packed, { name, kind, profile });
    return { sha256, report, facts: known ? null : packed, tookMs: performance.now() - began };
  } catch (error) {
    throw named(error, local.path, name);
  } finally {
    await local.release();
  }

  async function measured(path: string, sha256: string): Promise<Buffer> {
    // Many songs wait: each is content with one thread, and what threads made is kept by the catalogue alone.
    const workshop = { pool, results: null, othersWait: () => true };
    const checked = await checkFile(path, { name, sha256, kind, profile, lossy, signal }, workshop);
    return packFacts(checked.facts);
  }
}

/** Files that were fetched have names that tell nobody anything. */
function named(error: unknown, path: string, name: string): unknown {
  if (!(error instanceof CodedError) || basename(path) === name) return error;
  const message = error.message.replaceAll(`“${basename(path)}”`, () => `“${name}”`);
  return new CodedError(error.code, message, { cause: error });
}
