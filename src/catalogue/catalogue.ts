import { join } from 'node:path';
import { openHome } from '../bench/home.ts';
import { Looking } from './looking/looking.ts';
import { type PatienceOptions, patiently } from './store/patience.ts';
import { Runs } from './store/runs.ts';
import type { Adapter } from './store/song-queue.ts';
import { openSqlite } from './store/sqlite.ts';
import { WorkStore } from './store/work.ts';

export interface CatalogueOptions extends Partial<PatienceOptions> {
  /** postgres://…; without it the catalogue is a SQLite file in the data folder. */
  readonly databaseUrl?: string;
  /** The data folder; the usual one by default. */
  readonly homePath?: string;
  /** How long a worker may give no sign of life before its songs are given to others, ms. */
  readonly leaseMs?: number;
  /** Between a try that failed and the next, ms. */
  readonly pauseMs?: number;
}

const usualLeaseMs = 30_000;
const usualPauseMs = 5000;
const usualPatienceMs = 10 * 60_000;

/** A catalogue of songs and its checks, in SQLite or Postgres: who works on it and who looks at it says the same to both. */
export class Catalogue {
  readonly runs: Runs;
  readonly work: WorkStore;
  readonly looking: Looking;
  readonly kind: Adapter['kind'];
  readonly leaseMs: number;
  readonly #adapter: Adapter;
  readonly #patience: PatienceOptions;

  private constructor(adapter: Adapter, options: CatalogueOptions) {
    this.#adapter = adapter;
    this.kind = adapter.kind;
    this.leaseMs = options.leaseMs ?? usualLeaseMs;
    this.#patience = { patienceMs: usualPatienceMs, ...options };
    this.runs = new Runs(adapter, this.leaseMs);
    this.work = new WorkStore(adapter, this.runs, this.leaseMs);
    this.looking = new Looking(adapter.db, this.runs);
  }

  /**
   * Opens the catalogue, making or migrating its tables. CodedError: DATABASE_UNREACHABLE, DATABASE_REFUSED, STORAGE_NEWER,
   * STORAGE_FAILED, DISK_FULL, FILE_NO_PERMISSION, USAGE.
   */
  static async open(options: CatalogueOptions = {}): Promise<Catalogue> {
    const pauseMs = options.pauseMs ?? usualPauseMs;
    return new Catalogue(await adapterFor(options, pauseMs), options);
  }

  /** Does what needs the database, waiting while it is away. */
  patiently<T>(work: () => Promise<T>): Promise<T> {
    return patiently(this.#adapter, this.#patience, work);
  }

  /** What an error of the database is to a person. */
  explain(error: unknown): unknown {
    return this.#adapter.explain(error);
  }

  async close(): Promise<void> {
    await this.#adapter.close();
  }
}

async function adapterFor({ databaseUrl, homePath }: CatalogueOptions, pauseMs: number): Promise<Adapter> {
  if (databaseUrl === undefined)
    return openSqlite({ path: join((await openHome(homePath)).path, 'catalogue.db'), pauseMs });
  // Loaded only where there is one: most who start the page have no Postgres.
  const { openPostgres } = await import('./store/postgres.ts');
  return openPostgres({ url: databaseUrl, pauseMs });
}
