import type { Run } from '../audio/run.ts';
import { exactJson, keyJson } from './json.ts';
import type { Pool } from './pool.ts';
import type { ResultKey, Results } from './store/results.ts';
import type { Task, TaskFile, TaskInput } from './tasks/task.ts';

/** What heavy work needs: threads to run in, and a place where results are kept (null: nothing is kept). */
export interface Workshop {
  readonly pool: Pool;
  readonly results: Results | null;
}

/**
 * The one way to have heavy work done: the kept result when these files were treated so before, otherwise the task
 * is run in the pool and its result kept. Both ways give the same value. Rejects as Pool.run does.
 */
export async function runTask<Options, Output>(
  task: Task<Options, Output>,
  input: TaskInput<Options>,
  { pool, results }: Workshop,
  run: Run = {},
): Promise<Output> {
  const key = keyOf(task, input);
  const kept = await results?.get(key);
  if (kept !== undefined && kept !== null) {
    run.progress?.(1);
    return JSON.parse(kept) as Output;
  }
  const json = exactJson(await pool.run(task, input, run));
  await results?.put(key, json);
  return JSON.parse(json) as Output;
}

/** The kept result when there is one; null otherwise, and nothing is run. `input` needs no paths. */
export async function keptResult<Options, Output>(
  task: Task<Options, Output>,
  input: { readonly files: readonly Pick<TaskFile, 'sha256'>[]; readonly options: Options },
  { results }: Pick<Workshop, 'results'>,
): Promise<Output | null> {
  const kept = await results?.get(keyOf(task, input));
  return kept === undefined || kept === null ? null : (JSON.parse(kept) as Output);
}

function keyOf<Options, Output>(
  task: Task<Options, Output>,
  { files, options }: { readonly files: readonly Pick<TaskFile, 'sha256'>[]; readonly options: Options },
): ResultKey {
  return {
    files: files.map(({ sha256 }) => sha256).join(','),
    task: task.name,
    taskVersion: task.version,
    options: keyJson(options),
  };
}
