import { mkdirSync } from 'node:fs';
import { mkdir, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { findPostgres, Postgres } from '../../scripts/lib/postgres.mjs';
import { Pool } from '../../src/bench/pool.ts';
import { Catalogue, type CatalogueOptions } from '../../src/catalogue/catalogue.ts';
import { ownEngine } from '../../src/catalogue/engine.ts';
import { openPostgres } from '../../src/catalogue/store/postgres.ts';
import type { Run } from '../../src/catalogue/store/runs.ts';
import type { Adapter } from '../../src/catalogue/store/song-queue.ts';
import { openSqlite } from '../../src/catalogue/store/sqlite.ts';
import { listSongs, songSources } from '../../src/catalogue/work/list-songs.ts';
import { Worker, type WorkerOptions } from '../../src/catalogue/work/worker.ts';
import { writeWavFile } from './cli-sounds.ts';

/** Whether Postgres is here; where it is not, a line says so. */
export const hasPostgres = findPostgres() !== null;
if (!hasPostgres) process.stderr.write('left out: checks against Postgres, which is not installed here\n');

/** Where catalogues can be kept; the same tests run against each. */
export interface Place extends AsyncDisposable {
  /** An empty place for a catalogue of its own. */
  fresh(): Promise<Pick<CatalogueOptions, 'databaseUrl' | 'homePath'>>;
}

export const places: readonly {
  name: string;
  open(): Promise<Place>;
  openAdapter(at: Awaited<ReturnType<Place['fresh']>>): Promise<Adapter>;
}[] = [
  {
    name: 'SQLite',
    open: sqlitePlace,
    openAdapter: async ({ homePath }) => {
      await mkdir(homePath ?? '', { recursive: true });
      return openSqlite({ path: join(homePath ?? '', 'catalogue.db'), pauseMs: 0 });
    },
  },
  ...(hasPostgres
    ? [
        {
          name: 'Postgres',
          open: postgresPlace,
          openAdapter: ({ databaseUrl = '' }: { databaseUrl?: string }) =>
            openPostgres({ url: databaseUrl, pauseMs: 0 }),
        },
      ]
    : []),
];

async function sqlitePlace(): Promise<Place> {
  const folder = await mkdtemp(join(tmpdir(), 'everyroom-catalogue-'));
  let count = 0;
  return {
    fresh: async () => ({ homePath: join(folder, `home${++count}`) }),
    [Symbol.asyncDispose]: () => rm(folder, { recursive: true, force: true }),
  };
}

async function postgresPlace(): Promise<Place> {
  const postgres = await Postgres.start();
  return {
    fresh: async () => ({ databaseUrl: await postgres.database() }),
    [Symbol.asyncDispose]: () => postgres.remove(),
  };
}

/** A pool for all tests of a file, and workers and runs on a catalogue as the command line makes them. */
export class Workshop implements AsyncDisposable {
  readonly pool = new Pool({ size: 2 });
  readonly scratch: string;

  private constructor(scratch: string) {
    this.scratch = scratch;
  }

  static async open(): Promise<Workshop> {
    return new Workshop(await mkdtemp(join(tmpdir(), 'everyroom-songs-')));
  }

  /** A folder with short songs in it, each of its own content. */
  songs(folder: string, names: readonly string[], peak = 0.5): string {
    const path = join(this.scratch, folder);
    mkdirSync(path, { recursive: true });
    for (const [i, name] of names.entries())
      writeWavFile(join(path, name), tone(i, peak), { format: 'int16' });
    return path;
  }

  worker(catalogue: Catalogue, options: Partial<WorkerOptions> = {}): Worker {
    return new Worker(catalogue, {
      pool: this.pool,
      scratch: this.scratch,
      fetching: { allowPrivate: true, maxBytes: 1e8, idleMs: 5000, totalMs: 20_000 },
      beatMs: 200,
      idleMs: 20,
      ...options,
    });
  }

  /** Lists a run, has it worked on until it has ended, and gives it. */
  async check(catalogue: Catalogue, what: string, profile: Run['profile'] = 'streaming'): Promise<Run> {
    const worker = this.worker(catalogue);
    const id = await list(catalogue, what, worker.id, profile);
    await worker.run(async () => (await catalogue.runs.get(id)).endedMs !== null);
    return catalogue.runs.get(id);
  }

  async [Symbol.asyncDispose](): Promise<void> {
    await this.pool.close();
    await rm(this.scratch, { recursive: true, force: true });
  }
}

/** Until something holds that other processes or threads bring about; asked gently, so that they can. */
export async function until(holds: () => Promise<boolean>): Promise<void> {
  while (!(await holds())) await pause(20);
}

/** A run with its list made and no work done. */
export async function list(
  catalogue: Catalogue,
  what: string,
  listedBy = 'nobody',
  profile: Run['profile'] = 'streaming',
): Promise<string> {
  const engine = ownEngine();
  const id = await catalogue.runs.start({ what, profile, kind: 'master', lossy: false, engine, listedBy });
  const sources = await songSources(what, { changedSinceMs: null });
  await listSongs(catalogue, { id, engine }, sources, new AbortController().signal);
  return id;
}

/** Half a second in two channels, no two alike. */
function tone(i: number, peak: number): Float32Array {
  return Float32Array.from(
    { length: 2 * 22_050 },
    (_, n) => peak * Math.sin((2 * Math.PI * (220 + 10 * i) * Math.floor(n / 2)) / 44_100),
  );
}

export { Catalogue };
