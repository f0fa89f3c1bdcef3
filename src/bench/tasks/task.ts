import type { Run } from '../../audio/run.ts';

/** A sound file as a task gets it: where it lies and what is in it. */
export interface TaskFile {
  readonly path: string;
  /** SHA-256 of its bytes, 64 lower-case hex digits; this, not the path, is what a result is kept under. */
  readonly sha256: string;
}

/** What a task works on. Options must be plain JSON: they are part of the key a result is kept under. */
export interface TaskInput<Options> {
  readonly files: readonly TaskFile[];
  readonly options: Options;
}

/**
 * A heavy computation that runs in a worker thread. Its output is plain JSON and depends on nothing but the bytes
 * of the files, the options and `version`; so it is kept and never computed twice. To add one: write it here,
 * enter it in registry.ts, call it through runTask.
 */
export interface Task<Options, Output> {
  /** Stable, kebab-case. */
  readonly name: string;
  /** Raised by whoever changes what the task answers; results under an older number are then forgotten. */
  readonly version: number;
  /** Seconds after which a run counts as stuck and is stopped; waiting for a thread is not counted. */
  readonly timeLimitSeconds: number;
  run(input: TaskInput<Options>, run: Run): Promise<Output>;
}
