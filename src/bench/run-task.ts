import type { Run } from '../audio/run.ts';
import type { KnownFile } from './hashed-file.ts';
import { exactJson, keyJson } from './json.ts';
import type { Pool } from './pool.ts';
import type { ResultKey, Results } from './store/results.ts';
import type { Lanes, Task, TaskInput } from './tasks/task.ts';

/** What heavy work needs: threads to run in, and a place where results are kept (null: nothing is kept). */
export interface Workshop {
  readonly pool: Pool;
  readonly results: Results | null;
  /** Whether other files wait for the threads, so that each had better be content with one. */
  readonly othersWait?: () => boolean;
}

/**
 * The one way to have heavy work done: the kept result when these files were treated so before, otherwise the task
 * is run in the pool and its result kept. Both ways give the same value. Where nothing is kept, the work begins before
 * the files' hashes are known. Rejects as Pool.run does, as the hashes do, and with FILE_CHANGED.
 */
export async function runTask<Options, Output>(
  task: Task<Options, Output>,
  { files, options }: { readonly files: readonly KnownFile[]; readonly options: Options },
  workshop: Workshop,
  run: Run = {},
): Promise<Output> {
  const seen = files.map(({ path, sha256 }) => (typeof sha256 === 'string' ? { path, sha256 } : { path }));
  const input = { files: seen, options };
  return kept(task, { files, options }, workshop.results, run, () => runNow(task, input, workshop, run));
}

/** What was kept under this name, these files and these options; otherwise what `make` gives, which is kept. */
export async function kept<Options, Output>(
  task: Pick<Task<Options, Output>, 'name' | 'version'>,
  { files, options }: { readonly files: readonly KnownFile[]; readonly options: Options },
  results: Results | null,
  run: Run,
  make: () => Promise<Output>,
): Promise<Output> {
  const key = results && (await keyOf(task, files, options));
  const before = key && (await results?.get(key));
  if (before) {
    run.progress?.(1);
    return JSON.parse(before) as Output;
  }
  const json = exactJson(await make());
  // Hashed to the end, measured to the end, and still the same: the result is of these bytes.
  await Promise.all(files.map((file) => file.sha256));
  for (const file of files) await file.verify?.();
  if (key) await results?.put(key, json);
  // There and back also where nothing is kept: both ways give the same value, to the sign of a zero.
  return JSON.parse(json) as Output;
}

function runNow<Options, Output>(
  task: Task<Options, Output>,
  input: TaskInput<Options>,
  { pool, othersWait }: Workshop,
  run: Run,
): Promise<Output> {
  const { lanes } = task;
  const hasRoom = lanes !== undefined && pool.idle >= lanes.run.length && !othersWait?.();
  return hasRoom ? runLanes(task, lanes, input, pool, run) : pool.run(task, input, run);
}

/** One thread a lane; the first that fails stops the others. */
async function runLanes<Options, Output>(
  task: Task<Options, Output>,
  { run: lanes, join }: Lanes<Options, Output>,
  input: TaskInput<Options>,
  pool: Pool,
  run: Run,
): Promise<Output> {
  const stop = new AbortController();
  const signal = run.signal ? AbortSignal.any([run.signal, stop.signal]) : stop.signal;
  const shares = lanes.map(() => 0);
  const parts = lanes.map((_, lane) => {
    const progress = (fraction: number): void => {
      shares[lane] = fraction;
      run.progress?.(shares.reduce((sum, share) => sum + share, 0) / lanes.length);
    };
    return pool.run<Options, unknown>(task, input, { signal, progress }, lane);
  });
  try {
    return join(await Promise.all(parts));
  } catch (error) {
    stop.abort();
    await Promise.allSettled(parts);
    throw error;
  }
}

/** What a result is kept under: a task, or only its name and version where one run of it answers several questions. */
type KeptUnder<Options, Output> = Pick<Task<Options, Output>, 'name' | 'version'> &
  Partial<Pick<Task<Options, Output>, 'run'>>;

/** The kept result when there is one; null otherwise, and nothing is run. `input` needs no paths. */
export async function keptResult<Options, Output>(
  task: KeptUnder<Options, Output>,
  { files, options }: { readonly files: readonly Pick<KnownFile, 'sha256'>[]; readonly options: Options },
  { results }: Pick<Workshop, 'results'>,
): Promise<Output | null> {
  const before = results && (await results.get(await keyOf(task, files, options)));
  return before ? (JSON.parse(before) as Output) : null;
}

async function keyOf(
  task: Pick<Task<never, unknown>, 'name' | 'version'>,
  files: readonly Pick<KnownFile, 'sha256'>[],
  options: unknown,
): Promise<ResultKey> {
  return {
    files: (await Promise.all(files.map(({ sha256 }) => sha256))).join(','),
    task: task.name,
    taskVersion: task.version,
    options: keyJson(options),
  };
}
