import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { CodedError } from '../../audio/coded-error.ts';
import { Pool } from '../../bench/pool.ts';
import { Catalogue } from '../../catalogue/catalogue.ts';
import type { Run } from '../../catalogue/store/runs.ts';
import { Worker } from '../../catalogue/work/worker.ts';

/** The catalogue that the environment names. */
export function openCatalogue(onDatabase?: (isThere: boolean) => void): Promise<Catalogue> {
  return Catalogue.open({ databaseUrl: process.env.DATABASE_URL || undefined, onDatabase });
}

/** Has `use` look at the catalogue; what goes wrong with the database is told in words. */
export async function withCatalogue<T>(use: (catalogue: Catalogue) => Promise<T>): Promise<T> {
  const catalogue = await openCatalogue();
  try {
    return await use(catalogue);
  } catch (error) {
    throw catalogue.explain(error);
  } finally {
    await catalogue.close();
  }
}

/** The run meant by an id, the beginning of one, or 'last'. CodedError NOT_FOUND, USAGE (two begin so). */
export async function findRun({ runs }: Catalogue, text: string): Promise<Run> {
  const all = await runs.all();
  if (text === 'last') {
    const [last] = all;
    if (!last)
      throw new CodedError('NOT_FOUND', 'There is no run yet; “everyroom catalogue check” makes one.');
    return last;
  }
  const found = /^[0-9a-f]{4,}$/.test(text) ? all.filter(({ id }) => id.startsWith(text)) : [];
  if (found.length > 1)
    throw new CodedError('USAGE', `“${text}” begins more than one run; write more of it.`);
  return found[0] ?? runs.get(text);
}

/** Largest song that is fetched: what the server takes in too. */
const maxBytes = 4 * 2 ** 30;
/** A server that sends nothing for so long is given up. */
const idleMs = 30_000;
/** Four gigabytes at a megabyte a second, roughly. */
const totalMs = 60 * 60_000;

export interface WorkerChoice {
  /** Threads; all cores when left out, 0 takes no songs. */
  readonly workers?: number;
  readonly allowPrivate: boolean;
}

/** Has `use` work with a worker whose threads and files go away with it. */
export async function withWorker<T>(
  catalogue: Catalogue,
  { workers, allowPrivate }: WorkerChoice,
  use: (worker: Worker) => Promise<T>,
): Promise<T> {
  const scratch = await mkdtemp(join(tmpdir(), 'everyroom-catalogue-'));
  const pool = new Pool({ size: workers || undefined, scratchPath: scratch });
  try {
    return await use(
      new Worker(catalogue, {
        pool,
        takes: workers !== 0,
        scratch,
        fetching: { allowPrivate, maxBytes, idleMs, totalMs },
        beatMs: catalogue.leaseMs / 3,
        idleMs: 1000,
      }),
    );
  } finally {
    await pool.close();
    await rm(scratch, { recursive: true, force: true });
  }
}
