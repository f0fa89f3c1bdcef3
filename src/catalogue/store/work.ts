import { hostname } from 'node:os';
import { sql } from 'kysely';
import { newId } from '../../bench/ids.ts';
import type { FileReport } from '../../judge/file-report.ts';
import type { Runs } from './runs.ts';
import type { Adapter, CatalogueTx, TakenSong } from './song-queue.ts';

/** A song that cannot be done is tried so often in all. */
export const mostTries = 3;

/** What came out of a song. */
export interface SongResult {
  readonly sha256: string;
  readonly report: FileReport;
  /** What was measured, to be kept; null when it was known. */
  readonly facts: Buffer | null;
  readonly tookMs: number;
}

export interface SongFault {
  readonly code: string;
  readonly message: string;
  /** True where another try would end the same way. */
  readonly final: boolean;
  readonly tookMs: number;
}

/** What workers say to the catalogue. Whatever is said here may be said twice. */
export class WorkStore {
  readonly #adapter: Adapter;
  readonly #runs: Runs;
  readonly #leaseMs: number;

  constructor(adapter: Adapter, runs: Runs, leaseMs: number) {
    this.#adapter = adapter;
    this.#runs = runs;
    this.#leaseMs = leaseMs;
  }

  newWorkerId(): string {
    return newId();
  }

  /** A sign of life; the first one makes the worker known. */
  async beat(worker: string, engine: string): Promise<void> {
    const { db, now } = this.#adapter;
    await db
      .insertInto('catalogue_workers')
      .values({
        id: worker,
        machine: hostname(),
        pid: process.pid,
        engine,
        started_ms: now(),
        seen_ms: now(),
      })
      .onConflict((conflict) => conflict.column('id').doUpdateSet({ seen_ms: now() }))
      .execute();
  }

  async leave(worker: string): Promise<void> {
    await this.#adapter.db
      .updateTable('catalogue_workers')
      .set({ ended_ms: this.#adapter.now() })
      .where('id', '=', worker)
      .execute();
  }

  async take(worker: string, engine: string, count: number): Promise<TakenSong[]> {
    await this.#adapter.queue.prepare(engine);
    return this.#adapter.queue.take(worker, engine, count);
  }

  /** What is known of a file's content from earlier, packed; null when it must be measured. */
  async facts(sha256: string, engine: string, lossy: boolean): Promise<Buffer | null> {
    const row = await this.#adapter.db
      .selectFrom('catalogue_facts')
      .select('facts')
      .where('sha256', '=', sha256)
      .where('engine', '=', engine)
      .where('lossy', '=', lossy ? 1 : 0)
      .executeTakeFirst();
    return row?.facts ?? null;
  }

  /** Writes down a song's result, all or nothing. What another worker wrote meanwhile stays. */
  async finish(
    worker: string,
    { engine, lossy }: { engine: string; lossy: boolean },
    song: TakenSong,
    { sha256, report, facts, tookMs }: SongResult,
  ): Promise<void> {
    const { db, now, queue } = this.#adapter;
    const findings = report.findings.flatMap(({ id, severity, title }) =>
      severity === 'fine' ? [] : [{ run_id: song.runId, rule: id, severity, seq: song.seq, title }],
    );
    const count = (severity: string): number => findings.filter((each) => each.severity === severity).length;
    const mendCount = count('mend');
    const lookCount = count('look');
    await db.transaction().execute(async (tx) => {
      if (facts)
        await tx
          .insertInto('catalogue_facts')
          .values({ sha256, engine, lossy: lossy ? 1 : 0, facts, made_ms: now() })
          .onConflict((conflict) => conflict.doNothing())
          .execute();
      const ours = await this.#ofWorker(tx, worker, song)
        .set({
          state: 'done',
          sha256,
          error_code: null,
          error_message: null,
          measured: facts ? 1 : 0,
          took_ms: tookMs,
          ended_ms: now(),
          worst: mendCount > 0 ? 'mend' : lookCount > 0 ? 'look' : 'fine',
          headline: report.headline,
          mend_count: mendCount,
          look_count: lookCount,
          integrated_lufs: report.loudness.integratedLufs,
          true_peak_dbtp: report.peak.truePeakDbtp,
          plr_db: report.peak.plrDb,
          range_lu: report.loudness.rangeLu,
          tilt_db: report.tone.tiltDbPerOctave,
          seconds: report.file.seconds,
        })
        .executeTakeFirstOrThrow();
      if (ours.numUpdatedRows === 0n) return;
      if (findings.length > 0)
        await tx
          .insertInto('catalogue_findings')
          .values(findings)
          .onConflict((c) => c.doNothing())
          .execute();
      await queue.settle(tx, engine, [song]);
    });
    await this.#runs.endIfDone(song.runId);
  }

  /** Writes down that a song could not be done: it waits for its next try, or has failed. */
  async fail(worker: string, engine: string, song: TakenSong, fault: SongFault): Promise<void> {
    const { db, now, queue, pauseMs } = this.#adapter;
    const failed = fault.final || song.tries >= mostTries;
    const reason = { error_code: fault.code, error_message: fault.message };
    await db.transaction().execute(async (tx) => {
      const ours = await this.#ofWorker(tx, worker, song)
        .set(
          failed
            ? { ...reason, state: 'failed', took_ms: fault.tookMs, ended_ms: now() }
            : { ...reason, state: 'waiting', worker: null, try_after_ms: sql`${now()} + ${pauseMs}` },
        )
        .executeTakeFirstOrThrow();
      if (ours.numUpdatedRows === 0n) return;
      if (failed) await queue.settle(tx, engine, [song]);
      else await queue.again(tx, engine, [song]);
    });
    if (failed) await this.#runs.endIfDone(song.runId);
  }

  /** Puts back songs of workers that gave no sign of life for the length of a lease; gives how many. */
  async reclaim(): Promise<number> {
    const gone = sql<string>`(SELECT id FROM catalogue_workers
      WHERE ended_ms IS NULL AND seen_ms > ${this.#adapter.now()} - ${this.#leaseMs})`;
    return this.#putBack('not in', gone);
  }

  /** Puts back what a worker is said to have in hand and has not: the answer to its taking was lost. */
  async letGo(worker: string, inHand: readonly TakenSong[]): Promise<number> {
    return this.#putBack('=', sql<string>`${worker}`, inHand);
  }

  async #putBack(
    is: '=' | 'not in',
    workers: ReturnType<typeof sql<string>>,
    except: readonly TakenSong[] = [],
  ): Promise<number> {
    const { db, queue, now, pauseMs } = this.#adapter;
    const failed = {
      state: 'failed',
      error_code: 'WORKER_LOST',
      error_message: lost,
      ended_ms: now(),
    } as const;
    const again = {
      state: 'waiting',
      worker: null,
      try_after_ms: sql<number>`${now()} + ${pauseMs}`,
    } as const;
    const ended = await db.transaction().execute(async (tx) => {
      const change = (set: typeof failed | typeof again, tries: '<' | '>=') =>
        tx
          .updateTable('catalogue_songs')
          .set(set)
          .where('state', '=', sql.lit('working'))
          .where('worker', is, workers)
          .where('tries', tries, mostTries)
          .where((e) => e.and(except.map(({ runId, seq }) => e.not(e.and({ run_id: runId, seq })))))
          .returning(['run_id as runId', 'seq', 'job'])
          .execute();
      const over = await change(failed, '>=');
      const back = await change(again, '<');
      const runIds = [...new Set([...over, ...back].map(({ runId }) => runId))];
      if (runIds.length === 0) return { runIds, count: 0 };
      const runs = await tx
        .selectFrom('catalogue_runs')
        .select(['id', 'engine'])
        .where('id', 'in', runIds)
        .execute();
      for (const { id, engine } of runs) {
        const ofRun = ({ runId }: { runId: string }) => runId === id;
        if (over.some(ofRun)) await queue.settle(tx, engine, over.filter(ofRun));
        if (back.some(ofRun)) await queue.again(tx, engine, back.filter(ofRun));
      }
      return { runIds, count: over.length + back.length };
    });
    for (const runId of ended.runIds) await this.#runs.endIfDone(runId);
    return ended.count;
  }

  /** The song's row, as long as it is this worker's in this try. */
  #ofWorker(tx: CatalogueTx, worker: string, { runId, seq, tries }: TakenSong) {
    return tx
      .updateTable('catalogue_songs')
      .where('run_id', '=', runId)
      .where('seq', '=', seq)
      .where('state', '=', 'working')
      .where('worker', '=', worker)
      .where('tries', '=', tries);
  }
}

const lost = `The program that checked it died ${mostTries} times.`;
