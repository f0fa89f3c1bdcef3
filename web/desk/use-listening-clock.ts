import { useEffect, useEffectEvent, useRef } from 'react';
import { useLevelChanges } from '../api/desk-queries.ts';
import type { DeskPlayer, PlayerState } from './desk-player.ts';

/** How often what was heard is told to the bench, milliseconds. */
const reportEvery = 20_000;
/** A pause this long is a break, after which a reference is offered first, milliseconds (heuristic). */
const breakMilliseconds = 5 * 60_000;

/** When something was last heard at a desk, for as long as this page is open: leaving the screen is no break. */
let lastHeardAt: number | null = null;

/** Minutes of quiet since something was last heard, when that was long enough to be a break; null otherwise. */
export function breakMinutes(): number | null {
  const quiet = lastHeardAt === null ? 0 : Date.now() - lastHeardAt;
  return quiet >= breakMilliseconds ? Math.round(quiet / 60_000) : null;
}

/** Two ears hear two pages once: of several that play, one counts. Runs `begin` when it is this one's turn; returns how to end it. */
function whenOnlyOne(begin: () => void): () => void {
  if (!navigator.locks) {
    begin();
    return () => {};
  }
  const over = new AbortController();
  const ended = new Promise<void>((resolve) => over.signal.addEventListener('abort', () => resolve()));
  navigator.locks
    .request('everyroom-listening-clock', { signal: over.signal }, () => {
      if (over.signal.aborted) return;
      begin();
      return ended;
    })
    // Given up while it waited for its turn.
    .catch(() => {});
  return () => over.abort();
}

/** Tells the bench what was heard, from time to time and whenever playing stops. */
export function useListeningClock(player: DeskPlayer, state: PlayerState['state']): void {
  const { reportExposure } = useLevelChanges();
  const playing = state === 'playing';
  const counts = useRef(false);
  const report = useEffectEvent(() => {
    const heard = player.takeExposure();
    if (!counts.current) return;
    if (heard.seconds <= 0) return;
    lastHeardAt = Date.now();
    reportExposure.mutate({ seconds: Math.min(600, heard.seconds), levelDbfsA: heard.levelDbfsA });
  });
  useEffect(() => {
    if (!playing) return;
    const leave = whenOnlyOne(() => {
      // What another page counted until now is not counted again.
      player.takeExposure();
      counts.current = true;
    });
    const timer = setInterval(report, reportEvery);
    return () => {
      clearInterval(timer);
      lastHeardAt = Date.now();
      report();
      counts.current = false;
      leave();
    };
  }, [player, playing]);
}
