import { once } from 'node:events';
import { mkdtempSync } from 'node:fs';
import { rm } from 'node:fs/promises';
import { availableParallelism, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { MessageChannel } from 'node:worker_threads';
import { Piscina } from 'piscina';
import { CodedError } from '../audio/coded-error.ts';
import type { Run } from '../audio/run.ts';
import { storageError } from './storage-error.ts';
import type { TaskAnswer, TaskMessage } from './task-message.ts';
import type { Task, TaskInput } from './tasks/task.ts';

export interface PoolOptions {
  /** Worker threads at most; the machine's cores by default. */
  readonly size?: number;
  /** Folder in which each run gets a folder for its temporary files; the system's by default. */
  readonly scratchPath?: string;
  /** How long an idle thread is kept for the next task, ms; 20 s when left out. */
  readonly idleMilliseconds?: number;
  /** The built worker (tests put their own here). */
  readonly workerPath?: string;
}

/** A run that waits for a thread. */
interface Waiting {
  begin(): void;
  giveUp(error: CodedError): void;
}

// Threads load built JavaScript also when this file itself runs as TypeScript (tests).
const builtWorkerPath = fileURLToPath(
  import.meta.url.endsWith('.ts')
    ? new URL('../../dist/src/bench/task-worker.js', import.meta.url)
    : new URL('./task-worker.js', import.meta.url),
);

/** Idle threads are kept this long for the next task, then their memory is given back. */
const usualIdleMilliseconds = 20_000;

/**
 * How long a task has to stop by itself, ms; then its thread is ended, even inside WebAssembly that never returns. Node 20
 * can abort the whole process when a thread is ended while V8 compiles for it in the background (seen under load:
 * an assertion in NodePlatform::ForIsolate), and a thread that stays is at hand for the next task.
 */
const graceMilliseconds = 1000;

/** The worker threads in which all heavy work is done. */
export class Pool {
  readonly size: number;
  readonly #threads: Piscina<TaskMessage, TaskAnswer>;
  readonly #scratchPath: string;
  readonly #workerPath: string;
  /** Threads that have nothing to do. */
  #free: number;
  /** What threads are doing, by what stops it. */
  readonly #running = new Map<AbortController, Promise<unknown>>();
  /** Runs that wait for a thread, in the order in which they were asked for. */
  #waiting: Waiting[] = [];

  constructor(options: PoolOptions = {}) {
    this.size = Math.max(1, options.size ?? availableParallelism());
    this.#free = this.size;
    this.#scratchPath = options.scratchPath ?? tmpdir();
    this.#workerPath = options.workerPath ?? builtWorkerPath;
    this.#threads = new Piscina({
      minThreads: 0,
      maxThreads: this.size,
      idleTimeout: options.idleMilliseconds ?? usualIdleMilliseconds,
      // Piscina's other modes put a thread to sleep between tasks, and with it whatever is still being tidied there.
      atomics: 'disabled',
    });
    // A thread that dies between tasks is replaced; the run it belonged to, if any, is told by its own rejection.
    this.#threads.on('error', () => {});
  }

  /** Threads for which nothing has been asked. */
  get idle(): number {
    return this.#free;
  }

  /**
   * Runs one task in a thread, after those asked for earlier. When `run.signal` aborts, the task stops by itself or, a
   * second later, its thread is ended. Rejects, after its temporary files are gone, with CodedError:
   * the task's own code, JOB_CANCELLED, JOB_TIMED_OUT, JOB_CRASHED, or INTERNAL for a fault of ours.
   *
   * @param lane the one of the task's lanes to run; null: all of the task
   */
  async run<Options, Output>(
    task: Pick<Task<Options, Output>, 'name' | 'timeLimitSeconds'>,
    input: TaskInput<Options>,
    run: Run = {},
    lane: number | null = null,
  ): Promise<Output> {
    if (run.signal?.aborted) throw cancelled();
    // Not even a turn of the queue is lost where a thread is free: it starts before whatever the caller does next.
    if (this.#free > 0) this.#free--;
    else await this.#turn(run.signal);
    const closing = new AbortController();
    const signal = run.signal ? AbortSignal.any([run.signal, closing.signal]) : closing.signal;
    const running = this.#runNow(
      task,
      input,
      { signal, progress: (fraction) => run.progress?.(fraction) },
      lane,
    );
    this.#running.set(closing, running);
    try {
      return await running;
    } finally {
      this.#running.delete(closing);
      this.#free++;
      this.#waiting.shift()?.begin();
    }
  }

  /**
   * Waits for a thread. Piscina is never given more than it has threads for: it starts a thread when it is given
   * something to do, not when one died, so that what waited in it would wait for ever once all threads had died.
   */
  #turn(signal: AbortSignal | undefined): Promise<void> {
    return new Promise((resolve, reject) => {
      const leave = (): void => {
        this.#waiting = this.#waiting.filter((each) => each !== waiting);
        reject(cancelled());
      };
      const waiting: Waiting = {
        begin: () => {
          signal?.removeEventListener('abort', leave);
          this.#free--;
          resolve();
        },
        giveUp: (error) => {
          signal?.removeEventListener('abort', leave);
          reject(error);
        },
      };
      signal?.addEventListener('abort', leave, { once: true });
      this.#waiting.push(waiting);
    });
  }

  async #runNow<Options, Output>(
    task: Pick<Task<Options, Output>, 'name' | 'timeLimitSeconds'>,
    input: TaskInput<Options>,
    run: Run,
    lane: number | null,
  ): Promise<Output> {
    const scratchPath = this.#makeScratch();
    const { port1: ours, port2: theirs } = new MessageChannel();
    const threadLeft = once(ours, 'close');
    let settled = false;
    let timer: NodeJS.Timeout | undefined;
    let grace: NodeJS.Timeout | undefined;
    const unwanted = new Int32Array(new SharedArrayBuffer(Int32Array.BYTES_PER_ELEMENT));
    ours.on('message', (fraction: number) => {
      if (settled || grace) return;
      // A worker speaks as soon as it begins: waiting for a thread does not count as being stuck.
      timer ??= setTimeout(() => stop.abort(timedOut(task.timeLimitSeconds)), task.timeLimitSeconds * 1000);
      run.progress?.(fraction);
    });
    const stop = new AbortController();
    const cancel = (): void => {
      Atomics.store(unwanted, 0, 1);
      grace ??= setTimeout(() => stop.abort(cancelled()), graceMilliseconds);
    };
    run.signal?.addEventListener('abort', cancel);
    // It may have come while the folder was made.
    if (run.signal?.aborted) cancel();
    try {
      const answer = await this.#threads.run(
        { task: task.name, input, lane, scratchPath, stop: unwanted, port: theirs },
        // Named with each run, not once for the pool: threads that cannot load it would be started again for ever.
        { filename: this.#workerPath, transferList: [theirs], signal: stop.signal },
      );
      if (grace) throw cancelled();
      if (answer.ok) return answer.output as Output;
      const error = new CodedError(answer.code, answer.message);
      if (answer.stack) error.stack = answer.stack;
      throw error;
    } catch (error) {
      if (stop.signal.aborted) throw stop.signal.reason;
      if (error instanceof CodedError) throw error;
      // The thread is dead, or lives but could not even load the worker; then nobody there will close the other end.
      ours.close();
      throw grace ? cancelled() : crashed(error);
    } finally {
      settled = true;
      clearTimeout(timer);
      clearTimeout(grace);
      run.signal?.removeEventListener('abort', cancel);
      // Our end closes when the thread has closed or lost its own: only then is nobody left to write files. When
      // the run never reached a thread, `theirs` is still here and has to be closed; otherwise this does nothing.
      theirs.close();
      await threadLeft;
      await rm(scratchPath, { recursive: true, force: true, maxRetries: 3 });
    }
  }

  /** At once, so that the thread starts before whatever the caller does next. */
  #makeScratch(): string {
    try {
      return mkdtempSync(join(this.#scratchPath, 'task-'));
    } catch (error) {
      throw storageError(error, `The folder for temporary files ${this.#scratchPath}`);
    }
  }

  /** Stops what is running, which rejects with JOB_CANCELLED, and ends the threads. */
  async close(): Promise<void> {
    for (const { giveUp } of this.#waiting.splice(0)) giveUp(cancelled());
    const running = [...this.#running];
    for (const [closing] of running) closing.abort();
    await Promise.allSettled(running.map(([, ended]) => ended));
    await this.#threads.destroy();
  }
}

function cancelled(): CodedError {
  return new CodedError('JOB_CANCELLED', 'The work was cancelled.');
}

function timedOut(seconds: number): CodedError {
  return new CodedError(
    'JOB_TIMED_OUT',
    `The work did not end within ${Math.ceil(seconds / 60)} minutes and was stopped.`,
  );
}

function crashed(cause: unknown): CodedError {
  const reason = cause instanceof Error ? cause.message : String(cause);
  const memory =
    cause instanceof Error && (cause as NodeJS.ErrnoException).code === 'ERR_WORKER_OUT_OF_MEMORY';
  return new CodedError(
    'JOB_CRASHED',
    memory ? 'The work needed more memory than there is.' : `The worker doing the work died (${reason}).`,
    { cause },
  );
}
