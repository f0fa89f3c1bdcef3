import { setTimeout as pause } from 'node:timers/promises';
import type { Adapter } from './song-queue.ts';

export interface PatienceOptions {
  /** How long a database may be away before the work gives up, ms. */
  readonly patienceMs: number;
  /** Told when the database goes away (false) and when it is back (true). */
  onDatabase?(isThere: boolean): void;
}

const firstPauseMs = 200;
const longestPauseMs = 5000;

/**
 * Does what needs the database, again and again while that is away, as when it is restarted. `work` must be fit to be done twice:
 * the answer to what was done may be what got lost. Rejects with what the adapter makes of the error (DATABASE_UNREACHABLE).
 */
export async function patiently<T>(
  adapter: Adapter,
  { patienceMs, onDatabase }: PatienceOptions,
  work: () => Promise<T>,
): Promise<T> {
  const since = performance.now();
  let wasAway = false;
  for (let pauseMs = firstPauseMs; ; pauseMs = Math.min(longestPauseMs, pauseMs * 2)) {
    try {
      const answer = await work();
      if (wasAway) onDatabase?.(true);
      return answer;
    } catch (error) {
      if (!adapter.isAway(error) || performance.now() - since > patienceMs) throw adapter.explain(error);
      if (!wasAway) onDatabase?.(false);
      wasAway = true;
      await pause(pauseMs);
    }
  }
}
