import type { Run } from '../../audio/run.ts';

/** A sound file as a task sees it. */
export interface TaskFile {
  readonly path: string;
  /** SHA-256 of its bytes where it was known when the task began: a thread may use what it read of the same bytes before. */
  readonly sha256?: string;
}

/** What a task works on: sound files, and options that must be plain JSON: they are part of the key a result is kept under. */
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
  /** The same work as several threads do it at once, where that is quicker. */
  readonly lanes?: Lanes<Options, Output>;
}

/** Independent parts of a task's work. What comes out is the same as from `Task.run`, to the last bit. */
export interface Lanes<Options, Output> {
  /** One a thread; what they answer may travel between threads (structured clone). */
  readonly run: readonly ((input: TaskInput<Options>, run: Run) => Promise<unknown>)[];
  /** Puts together what the lanes answered, in their order; quick, because it does not run in a thread of its own. */
  join(parts: readonly unknown[]): Output;
}
