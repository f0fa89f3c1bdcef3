import { setMaxListeners } from 'node:events';
import { exitCodes } from './exit-codes.ts';

/** Ctrl-C once: `signal` aborts and the command tidies up. Twice: the process ends at once. `release` gives Ctrl-C back. */
export function untilInterrupted(): { readonly signal: AbortSignal; release(): void } {
  const stop = new AbortController();
  // Every piece of work that runs listens, a format of a file each; all let go when they end.
  setMaxListeners(0, stop.signal);
  const onSignal = (): void => {
    if (stop.signal.aborted) process.exit(exitCodes.interrupted);
    stop.abort();
  };
  process.on('SIGINT', onSignal);
  process.on('SIGTERM', onSignal);
  return {
    signal: stop.signal,
    release: () => {
      process.off('SIGINT', onSignal);
      process.off('SIGTERM', onSignal);
    },
  };
}
