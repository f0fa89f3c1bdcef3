import { openHome } from '../home.ts';
import { openStore, type Store } from './database.ts';

/** Under what a result is kept. */
export interface ResultKey {
  /** SHA-256 of each input file, joined by commas. */
  readonly files: string;
  readonly task: string;
  readonly taskVersion: number;
  /** JSON with sorted keys. */
  readonly options: string;
}

/** Kept results of tasks, as JSON texts. */
export class Results {
  readonly #store: Store;

  constructor(store: Store) {
    this.#store = store;
  }

  async get(key: ResultKey): Promise<string | null> {
    const row = await this.#store
      .selectFrom('results')
      .select('result')
      .where('files', '=', key.files)
      .where('task', '=', key.task)
      .where('task_version', '=', key.taskVersion)
      .where('options', '=', key.options)
      .executeTakeFirst();
    return row?.result ?? null;
  }

  /** Keeps a result, and drops what older versions of the task said. Never rejects: see below. */
  async put(key: ResultKey, result: string): Promise<void> {
    try {
      await this.#store.transaction().execute(async (tx) => {
        await tx
          .insertInto('results')
          .orReplace()
          .values({
            files: key.files,
            task: key.task,
            task_version: key.taskVersion,
            options: key.options,
            result,
            created_at: new Date().toISOString(),
          })
          .execute();
        await tx
          .deleteFrom('results')
          .where('files', '=', key.files)
          .where('task', '=', key.task)
          .where('task_version', '<', key.taskVersion)
          .execute();
      });
    } catch {
      // The result is at hand. Not being able to keep it (disk full, another process writing) costs time the next
      // time; failing here would cost the person the answer now.
    }
  }

  /** Drops what a task said before `before`. */
  async forget(task: string, before: string): Promise<void> {
    await this.#store
      .deleteFrom('results')
      .where('task', '=', task)
      .where('created_at', '<', before)
      .execute();
  }

  async close(): Promise<void> {
    await this.#store.destroy();
  }
}

/** The kept results of the data folder (the usual one by default), for a process without the server. Throws as openHome and openStore do. */
export async function openResults(homePath?: string): Promise<Results> {
  const home = await openHome(homePath);
  return new Results(openStore(home.databasePath));
}
