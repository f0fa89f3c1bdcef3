import type { Run } from '../audio/run.ts';
import { exactJson, keyJson } from './json.ts';
import type { Pool } from './pool.ts';
import type { ResultKey, Results } from './store/results.ts';
import type { Task, TaskInput } from './tasks/task.ts';

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

/** The kept result, without any work; null when there is none. */
export async function keptResult<Options, Output>(
  task: Task<Options, Output>,
  input: TaskInput<Options>,
  { results }: Workshop,
): Promise<Output | null> {
  const kept = await results?.get(keyOf(task, input));
  return kept === undefined || kept === null ? null : (JSON.parse(kept) as Output);
}

function keyOf<Options, Output>(task: Task<Options, Output>, input: TaskInput<Options>): ResultKey {
  return {
    files: input.files.map((file) => file.sha256).join(','),
    task: task.name,
    taskVersion: task.version,
    options: keyJson(input.options),
  };
}
