import { randomUUID } from 'node:crypto';
import { CompiledQuery, sql } from 'kysely';
import type PgBoss from 'pg-boss';
import type { CatalogueDb, CatalogueTx, SongQueue, TakenSong } from './song-queue.ts';

interface JobData {
  readonly runId: string;
  readonly seq: number;
}

/**
 * Songs on pg-boss, a queue for each engine. How often a song is tried, and when its worker counts as dead, is decided by the
 * songs' rows, not by pg-boss: its own limits are set so wide that they never speak first.
 */
export class BossQueue implements SongQueue {
  readonly #db: CatalogueDb;
  readonly #boss: PgBoss;
  readonly #pauseSeconds: number;
  readonly #made = new Map<string, Promise<void>>();

  constructor(db: CatalogueDb, boss: PgBoss, pauseMs: number) {
    this.#db = db;
    this.#boss = boss;
    this.#pauseSeconds = Math.round(pauseMs / 1000);
  }

  async prepare(engine: string): Promise<void> {
    const name = queueName(engine);
    let made = this.#made.get(name);
    if (!made) {
      made = this.#boss.createQueue(name, {
        name,
        policy: 'standard',
        retryLimit: 100,
        retryDelay: this.#pauseSeconds,
        retryBackoff: false,
        expireInSeconds: 23 * 60 * 60,
        // A list may lie for months before anybody works on it.
        retentionMinutes: 365 * 24 * 60,
      });
      this.#made.set(name, made);
      made.catch(() => this.#made.delete(name));
    }
    await made;
  }

  newJob(): string {
    return randomUUID();
  }

  async put(...[tx, engine, songs]: Parameters<SongQueue['put']>): Promise<void> {
    const name = queueName(engine);
    const jobs = songs.map(({ runId, seq, job }) => ({ id: job, name, data: { runId, seq } }));
    await this.#boss.insert(jobs, { db: within(tx) });
  }

  async take(worker: string, engine: string, count: number): Promise<TakenSong[]> {
    const name = queueName(engine);
    return this.#db.transaction().execute(async (tx) => {
      const db = within(tx);
      const jobs = await this.#boss.fetch<JobData>(name, { batchSize: count, priority: false, db });
      // pg-boss keeps what went wrong in fetching to itself.
      if (db.error) throw db.error;
      if (jobs.length === 0) return [];
      const ids = jobs.map(({ id }) => id);
      const { rows } = await sql<TakenSong>`
        UPDATE catalogue_songs s SET state = 'working', worker = ${worker}, tries = tries + 1
        FROM unnest(${ids}::text[], ${jobs.map(({ data }) => data.runId)}::text[], ${jobs.map(({ data }) => data.seq)}::bigint[])
          AS j(id, run_id, seq)
        WHERE s.run_id = j.run_id AND s.seq = j.seq AND s.job = j.id AND s.state IN ('waiting', 'working')
        RETURNING s.run_id AS "runId", s.seq, s.source, s.name, s.job, s.tries`.execute(tx);
      // Of a run that was stopped or deleted, or ended by somebody who was thought dead.
      const wanted = new Set(rows.map(({ job }) => job));
      const stale = ids.filter((id) => !wanted.has(id));
      if (stale.length > 0) await this.#boss.complete(name, many(stale), {}, { db });
      return rows;
    });
  }

  async settle(...[tx, engine, songs]: Parameters<SongQueue['settle']>): Promise<void> {
    const ids = songs.map(({ job }) => job);
    await this.#boss.complete(queueName(engine), many(ids), {}, { db: within(tx) });
  }

  async again(...[tx, engine, songs]: Parameters<SongQueue['again']>): Promise<void> {
    const ids = songs.map(({ job }) => job);
    await this.#boss.fail(queueName(engine), many(ids), {}, { db: within(tx) });
  }
}

/** Typed for one id where more than ids is given; it takes many all the same. */
const many = (ids: readonly string[]): string => ids as unknown as string;

/** pg-boss takes letters, digits, '_' and '-'. */
const queueName = (engine: string): string => `catalogue-${engine.replace(/[^\w-]/g, '_')}`;

/** Has pg-boss speak inside a transaction of ours. */
function within(tx: CatalogueTx): PgBoss.Db & { error: unknown } {
  const db = {
    error: undefined as unknown,
    executeSql: async (text: string, values: unknown[]) => {
      try {
        return { rows: (await tx.executeQuery(CompiledQuery.raw(text, values))).rows };
      } catch (error) {
        db.error = error;
        throw error;
      }
    },
  };
  return db;
}
