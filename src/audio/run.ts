/**
 * How a heavy computation is watched and stopped. Every function that may take longer than a blink takes one
 * of these last; both members are optional so that tests and scripts can leave it out.
 */
export interface Run {
  /** Aborted when the caller no longer wants the result; the computation rejects with `signal.reason` soon after. */
  readonly signal?: AbortSignal;
  /** Told the share of the work that is done, 0..1, never decreasing; cheap to call. */
  progress?(fraction: number): void;
}

/** A Run that reports into the part [from, to] of `run`. */
export function partOfRun(run: Run, from: number, to: number): Run {
  return { signal: run.signal, progress: (fraction) => run.progress?.(from + (to - from) * fraction) };
}
