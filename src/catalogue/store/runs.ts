import { createHash } from 'node:crypto';
import { type Selectable, sql } from 'kysely';
import { CodedError } from '../../audio/coded-error.ts';
import { newId } from '../../bench/ids.ts';
import type { ProfileId } from '../../judge/profiles.ts';
import { sourceName } from '../sources/source-text.ts';
import type { Adapter } from './song-queue.ts';
import type { RunRow } from './tables.ts';

export interface NewRun {
  readonly what: string;
  readonly profile: ProfileId;
  readonly kind: RunRow['kind'];
  readonly lossy: boolean;
  readonly engine: string;
  /** The worker that lists it. */
  readonly listedBy: string;
}

export interface Run extends Omit<NewRun, 'listedBy'> {
  readonly id: string;
  readonly startedMs: number;
  readonly listedMs: number | null;
  readonly endedMs: number | null;
  readonly repeats: number;
  /** True while its list is being made; false also when that was broken off. */
  readonly listing: boolean;
}

/** A song that is put on the list. */
export interface Listed {
  readonly seq: number;
  readonly source: string;
}

/** Runs and the making of their lists. Missing ones: CodedError NOT_FOUND. */
export class Runs {
  readonly #adapter: Adapter;
  readonly #leaseMs: number;

  constructor(adapter: Adapter, leaseMs: number) {
    this.#adapter = adapter;
    this.#leaseMs = leaseMs;
  }

  async start({ what, profile, kind, lossy, engine, listedBy }: NewRun): Promise<string> {
    const { db, queue, now } = this.#adapter;
    await queue.prepare(engine);
    const id = newId();
    await db
      .insertInto('catalogue_runs')
      .values({
        id,
        what,
        profile,
        kind,
        lossy: lossy ? 1 : 0,
        engine,
        started_ms: now(),
        listed_by: listedBy,
        repeats: 0,
      })
      .execute();
    return id;
  }

  /**
   * Puts songs on a run's list and, in the same transaction, on the queue. May be said twice. Gives how many of them were named
   * before under another number; those are left out.
   */
  async list(runId: string, engine: string, songs: readonly Listed[]): Promise<number> {
    const { db, queue, now } = this.#adapter;
    return db.transaction().execute(async (tx) => {
      const rows = songs.map(({ seq, source }) => {
        const name = sourceName(source);
        return { seq, source, source_key: sourceKey(source), name, sort_name: sortName(name) };
      });
      const added = await tx
        .insertInto('catalogue_songs')
        .values(
          rows.map((row) => ({
            ...row,
            run_id: runId,
            state: 'waiting' as const,
            tries: 0,
            job: queue.newJob(),
            try_after_ms: now(),
          })),
        )
        .onConflict((conflict) => conflict.doNothing())
        .returning(['run_id as runId', 'seq', 'job'])
        .execute();
      if (added.length > 0) await queue.put(tx, engine, added);
      if (added.length === songs.length) return 0;
      const { there } = await tx
        .selectFrom('catalogue_songs')
        .select((e) => e.fn.countAll<number>().as('there'))
        .where('run_id', '=', runId)
        .where(
          'seq',
          'in',
          songs.map(({ seq }) => seq),
        )
        .executeTakeFirstOrThrow();
      return songs.length - there;
    });
  }

  /** The list is whole. */
  async endList(runId: string, repeats: number): Promise<void> {
    await this.#adapter.db
      .updateTable('catalogue_runs')
      .set({ listed_ms: this.#adapter.now(), repeats })
      .where('id', '=', runId)
      .execute();
    await this.endIfDone(runId);
  }

  /** Notes the end of a run whose list is whole and of which nothing waits or is worked on. */
  async endIfDone(runId: string): Promise<void> {
    await this.#adapter.db
      .updateTable('catalogue_runs')
      .set({ ended_ms: this.#adapter.now() })
      .where('id', '=', runId)
      .where('ended_ms', 'is', null)
      .where('listed_ms', 'is not', null)
      .where((e) =>
        e.not(
          e.exists(
            e
              .selectFrom('catalogue_songs')
              .select('seq')
              .where('run_id', '=', runId)
              .where('state', 'in', sql<'waiting'>`('waiting', 'working')`),
          ),
        ),
      )
      .execute();
  }

  /** What waits is left undone; what is being worked on ends by itself. */
  async stop(runId: string): Promise<number> {
    await this.get(runId);
    const { numUpdatedRows } = await this.#adapter.db
      .updateTable('catalogue_songs')
      .set({ state: 'stopped' })
      .where('run_id', '=', runId)
      .where('state', '=', sql.lit('waiting'))
      .executeTakeFirstOrThrow();
    await this.#adapter.db
      .updateTable('catalogue_runs')
      .set({ listed_ms: this.#adapter.now() })
      .where('id', '=', runId)
      .where('listed_ms', 'is', null)
      .execute();
    await this.endIfDone(runId);
    return Number(numUpdatedRows);
  }

  /** Newest first. */
  async all(limit = 200): Promise<Run[]> {
    const alive = await this.#alive();
    const rows = await this.#adapter.db
      .selectFrom('catalogue_runs')
      .selectAll()
      .orderBy('started_ms', 'desc')
      .orderBy('id')
      .limit(limit)
      .execute();
    return rows.map((row) => toRun(row, alive));
  }

  /** How many runs have songs left, of this engine and of others. */
  async unfinished(engine: string): Promise<{ own: number; others: number }> {
    const rows = await this.#adapter.db
      .selectFrom('catalogue_runs')
      .select('engine')
      .where('ended_ms', 'is', null)
      .execute();
    const own = rows.filter((row) => row.engine === engine).length;
    return { own, others: rows.length - own };
  }

  async get(runId: string): Promise<Run> {
    const row = await this.#adapter.db
      .selectFrom('catalogue_runs')
      .selectAll()
      .where('id', '=', runId)
      .executeTakeFirst();
    if (!row)
      throw new CodedError('NOT_FOUND', 'There is no such run; “everyroom catalogue runs” lists them.');
    return toRun(row, await this.#alive());
  }

  /** Workers that gave a sign of life lately. */
  async #alive(): Promise<ReadonlySet<string>> {
    const rows = await this.#adapter.db
      .selectFrom('catalogue_workers')
      .select('id')
      .where('ended_ms', 'is', null)
      .where('seen_ms', '>', sql<number>`${this.#adapter.now()} - ${this.#leaseMs}`)
      .execute();
    return new Set(rows.map(({ id }) => id));
  }
}

function toRun(row: Selectable<RunRow>, alive: ReadonlySet<string>): Run {
  return {
    id: row.id,
    what: row.what,
    profile: row.profile as ProfileId,
    kind: row.kind,
    lossy: row.lossy === 1,
    engine: row.engine,
    startedMs: row.started_ms,
    listedMs: row.listed_ms,
    endedMs: row.ended_ms,
    repeats: row.repeats,
    listing: row.listed_ms === null && alive.has(row.listed_by),
  };
}

const sourceKey = (source: string): string => createHash('sha256').update(source).digest('hex').slice(0, 32);

/** A name as it is sorted and searched: 'É' with 'e'. */
export const sortName = (name: string): string => name.normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase();
