import type { Run } from '../audio/run.ts';
import { exactJson, keyJson } from './json.ts';
import type { Pool } from './pool.ts';
import type { Results } from './store/results.ts';
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
  return kept(task, input, results, run, () => pool.run(task, input, run));
}

/** What was kept under this name, these files and these options; otherwise what `make` gives, which is kept. */
export async function kept<Options, Output>(
  { name, version }: Pick<Task<Options, Output>, 'name' | 'version'>,
  { files, options }: TaskInput<Options>,
  results: Results | null,
  run: Run,
  make: () => Promise<Output>,
): Promise<Output> {
  const key = {
    files: files.map((file) => file.sha256).join(','),
    task: name,
    taskVersion: version,
    options: keyJson(options),
  };
  const before = await results?.get(key);
  if (before !== undefined && before !== null) {
    run.progress?.(1);
    return JSON.parse(before) as Output;
  }
  const json = exactJson(await make());
  await results?.put(key, json);
  return JSON.parse(json) as Output;
}
