import type { MessagePort } from 'node:worker_threads';
import type { ErrorCode } from '../audio/coded-error.ts';
import type { TaskInput } from './tasks/task.ts';

/** What the pool sends to a worker thread. */
export interface TaskMessage {
  readonly task: string;
  readonly input: TaskInput<unknown>;
  /** Which of the task's lanes to run; null: all of the task. */
  readonly lane: number | null;
  /** An empty folder of this run's own; the pool removes it however the run ends. */
  readonly scratchPath: string;
  /** One number in shared memory; not 0 as soon as the result is no longer wanted. */
  readonly stop: Int32Array;
  /** Takes the progress, a number 0..1 a message; the first, as soon as the work begins, starts the clock of the time limit. */
  readonly port: MessagePort;
}

/** What comes back. Errors are sent as data because a thrown one would lose its code on the way. */
export type TaskAnswer =
  | { readonly ok: true; readonly output: unknown }
  | {
      readonly ok: false;
      readonly code: ErrorCode;
      readonly message: string;
      readonly stack: string | undefined;
    };
