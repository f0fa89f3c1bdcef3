import { setMaxListeners } from 'node:events';
import { type Selectable, sql } from 'kysely';
import { CodedError } from '../audio/coded-error.ts';
import { audioFilePath } from './audio-store.ts';
import { type Checked, checkFile } from './check-file.ts';
import type { BenchEvents } from './events.ts';
import type { Home } from './home.ts';
import { newId } from './ids.ts';
import { keyJson } from './json.ts';
import type { PlacesRoom } from './places/room.ts';
import type { Workshop } from './run-task.ts';
import type { Job, PlacesSettings, SurviveSettings } from './shapes.ts';
import { storageError } from './storage-error.ts';
import type { Store } from './store/database.ts';
import { type LiveProgress, toJob } from './store/jobs.ts';
import { dropOldReports, oldReports, reportRow } from './store/reports.ts';
import { keepSurvival } from './store/survivals.ts';
import type { JobRow } from './store/tables.ts';
import { surviveVersion } from './survive-version.ts';

/** Files checked at the same time. Their round trips fill the cores; more files would only all be late together. */
const filesAtOnce = 2;
/** Shortest time between two progress events of one job. */
const progressMilliseconds = 200;

interface Running {
  readonly stop: AbortController;
  readonly ended: Promise<void>;
}

/** What a job is to do. */
type Wanted =
  | { readonly kind: 'check'; readonly lossy: boolean }
  | { readonly kind: 'survive'; readonly settings: SurviveSettings }
  | { readonly kind: 'places'; readonly settings: PlacesSettings };

/**
 * Checks, survive runs and songs in places, waiting and running. The queue is in the database: what was asked for is done even after a crash. The
 * newest request goes first, because someone is looking at it.
 */
export class JobQueue {
  readonly #home: Home;
  readonly #store: Store;
  readonly #workshop: Workshop;
  readonly #events: BenchEvents;
  readonly #report: (error: unknown) => void;
  readonly #inPlaces: PlacesRoom['work'];
  readonly #live = new Map<string, { stage: string; progress: number }>();
  readonly #running = new Map<string, Running>();
  #pumping: Promise<void> = Promise.resolve();
  #started = false;
  #closed = false;

  constructor(
    home: Home,
    store: Store,
    workshop: Workshop,
    events: BenchEvents,
    /** Told of faults of ours, which a job only names. */
    report: (error: unknown) => void,
    /** Works out a version in places. */
    inPlaces: PlacesRoom['work'],
  ) {
    this.#home = home;
    this.#store = store;
    this.#workshop = workshop;
    this.#events = events;
    this.#report = report;
    this.#inPlaces = inPlaces;
  }

  get live(): LiveProgress {
    return this.#live;
  }

  /** Begins to work, with what the last process left unfinished and what an older Everyroom measured otherwise. */
  async start(): Promise<void> {
    await this.#store
      .updateTable('jobs')
      .set({ state: 'queued', stage: 'waiting' })
      .where('state', '=', 'running')
      .execute();
    // Asked for before they are forgotten, so that a crash between the two loses nothing.
    for (const { versionId, lossy } of await oldReports(this.#store)) await this.enqueue(versionId, lossy);
    await dropOldReports(this.#store);
    this.#started = true;
    this.#pump();
  }

  /** Asks for a check; the unfinished one of that version when there is one. */
  async enqueue(versionId: string, lossy: boolean): Promise<Job> {
    return this.#enqueue(versionId, { kind: 'check', lossy });
  }

  /**
   * Asks for a run with settings. An unfinished one of that version and kind with the same settings is it; one with others
   * is cancelled, because the person has changed their mind. What it had finished is kept and not done again.
   */
  async enqueueRun(versionId: string, wanted: Exclude<Wanted, { kind: 'check' }>): Promise<Job> {
    const before = await this.#unfinishedOf(this.#store, versionId, wanted.kind);
    if (before && before.settings !== keyJson(wanted.settings)) await this.cancel(before.id);
    return this.#enqueue(versionId, wanted);
  }

  async #enqueue(versionId: string, wanted: Wanted): Promise<Job> {
    const { kind } = wanted;
    const { row, added } = await this.#store.transaction().execute(async (tx) => {
      const unfinished = await this.#unfinishedOf(tx, versionId, kind);
      if (unfinished) return { row: unfinished, added: false };
      const row = await tx
        .insertInto('jobs')
        .values({
          id: newId(),
          version_id: versionId,
          kind,
          lossy: kind === 'check' && wanted.lossy ? 1 : 0,
          settings: kind === 'check' ? null : keyJson(wanted.settings),
          state: 'queued',
          stage: 'waiting',
          error_code: null,
          error_message: null,
          created_at: new Date().toISOString(),
        })
        .returningAll()
        .executeTakeFirstOrThrow();
      return { row, added: true };
    });
    const job = toJob(row, this.#live);
    if (added) {
      this.#events.emit('job', job);
      this.#pump();
    }
    return job;
  }

  #unfinishedOf(
    store: Pick<Store, 'selectFrom'>,
    versionId: string,
    kind: Job['kind'],
  ): Promise<Selectable<JobRow> | undefined> {
    return store
      .selectFrom('jobs')
      .selectAll()
      .where('version_id', '=', versionId)
      .where('kind', '=', kind)
      .where('state', 'in', ['queued', 'running'])
      .executeTakeFirst();
  }

  /** The newest run of a version, whatever became of it. */
  async newest(versionId: string, kind: Job['kind']): Promise<Job | null> {
    const row = await this.#store
      .selectFrom('jobs')
      .selectAll()
      .where('version_id', '=', versionId)
      .where('kind', '=', kind)
      .orderBy('seq', 'desc')
      .executeTakeFirst();
    return row ? toJob(row, this.#live) : null;
  }

  async get(id: string): Promise<Job> {
    return toJob(await this.#row(id), this.#live);
  }

  /** Queued and running, in the order in which they come. */
  async unfinished(): Promise<Job[]> {
    const rows = await this.#store
      .selectFrom('jobs')
      .selectAll()
      .where('state', 'in', ['queued', 'running'])
      .orderBy('state', 'desc')
      .orderBy('seq', 'desc')
      .execute();
    return rows.map((row) => toJob(row, this.#live));
  }

  /** Stops a job whatever it is doing; one that has ended stays as it is. When this resolves its work has stopped. */
  async cancel(id: string): Promise<Job> {
    // The row decides: whoever moves it out of queued or running first, this or the finish, has won.
    const cancelled = await this.#store
      .updateTable('jobs')
      .set({
        state: 'cancelled',
        stage: 'cancelled',
        error_code: 'JOB_CANCELLED',
        error_message: sql<string>`CASE kind WHEN 'check' THEN 'The check was cancelled.' ELSE 'The run was cancelled.' END`,
      })
      .where('id', '=', id)
      .where('state', 'in', ['queued', 'running'])
      .returningAll()
      .executeTakeFirst();
    if (!cancelled) return this.get(id);
    const running = this.#running.get(id);
    running?.stop.abort();
    await running?.ended;
    return this.#tell(cancelled);
  }

  async cancelOfVersion(versionId: string): Promise<void> {
    const rows = await this.#store
      .selectFrom('jobs')
      .select('id')
      .where('version_id', '=', versionId)
      .where('state', 'in', ['queued', 'running'])
      .execute();
    for (const { id } of rows) await this.cancel(id);
  }

  /** Stops the work; unfinished jobs stay in the queue for the next start. */
  async close(): Promise<void> {
    this.#closed = true;
    for (const { stop } of this.#running.values()) stop.abort();
    await this.#pumping;
    await Promise.all([...this.#running.values()].map(({ ended }) => ended));
  }

  #pump(): void {
    this.#pumping = this.#pumping.then(() => this.#startNext()).catch((error) => this.#report(error));
  }

  async #startNext(): Promise<void> {
    while (this.#started && !this.#closed && this.#running.size < filesAtOnce) {
      const row = await this.#store
        .updateTable('jobs')
        .set({ state: 'running', stage: 'starting' })
        .where('seq', '=', (query) =>
          query
            .selectFrom('jobs')
            .select((e) => e.fn.max('seq').as('seq'))
            .where('state', '=', 'queued'),
        )
        .returningAll()
        .executeTakeFirst();
      if (!row) return;
      const stop = new AbortController();
      // One listener a format and encode: a number that is no leak.
      setMaxListeners(0, stop.signal);
      if (this.#closed) stop.abort();
      this.#live.set(row.id, { stage: row.stage, progress: 0 });
      const ended = this.#work(row, stop.signal)
        .catch((error) => this.#report(error))
        .finally(() => {
          this.#live.delete(row.id);
          this.#running.delete(row.id);
          this.#pump();
        });
      this.#running.set(row.id, { stop, ended });
      this.#tell(row);
    }
  }

  async #work(row: Selectable<JobRow>, signal: AbortSignal): Promise<void> {
    try {
      const version = await this.#store
        .selectFrom('versions')
        .select(['name', 'kind', 'sha256'])
        .where('id', '=', row.version_id)
        .executeTakeFirstOrThrow();
      let toldAt = 0;
      const options = {
        name: version.name,
        sha256: version.sha256,
        signal,
        onProgress: (stage: string, progress: number) => {
          this.#live.set(row.id, { stage, progress });
          if (Date.now() - toldAt < progressMilliseconds) return;
          toldAt = Date.now();
          this.#tell(row);
        },
      };
      const path = audioFilePath(this.#home, version.sha256);
      if (row.kind === 'survive') await this.#survive(row, path, options);
      else if (row.kind === 'places') await this.#places(row, options);
      else
        await this.#finish(
          row,
          await checkFile(path, { ...options, kind: version.kind, lossy: row.lossy === 1 }, this.#workshop),
        );
    } catch (error) {
      if (signal.aborted) return;
      await this.#fail(row, error);
    }
  }

  async #survive(
    row: Selectable<JobRow>,
    path: string,
    options: Parameters<typeof surviveVersion>[2],
  ): Promise<void> {
    const settings = JSON.parse(row.settings ?? '') as SurviveSettings;
    const told = (): boolean => this.#events.emit('survive', row.version_id);
    const report = await surviveVersion(path, settings, options, this.#workshop, async (partial) => {
      await keepSurvival(this.#store, row.version_id, { settings, report: partial, complete: false });
      told();
    });
    const done = await this.#store.transaction().execute(async (tx) => {
      const ended = await this.#markDone(tx, row.id);
      if (ended) await keepSurvival(tx, row.version_id, { settings, report, complete: true });
      return ended;
    });
    if (!done) return;
    this.#tell(done);
    told();
  }

  async #places(row: Selectable<JobRow>, options: Parameters<PlacesRoom['work']>[2]): Promise<void> {
    const settings = JSON.parse(row.settings ?? '') as PlacesSettings;
    const keep = await this.#inPlaces(row.version_id, settings, options);
    const done = await this.#store.transaction().execute(async (tx) => {
      const ended = await this.#markDone(tx, row.id);
      if (ended) await keep(tx);
      return ended;
    });
    if (!done) return;
    this.#tell(done);
    this.#events.emit('places', { versionId: row.version_id });
  }

  async #finish(row: Selectable<JobRow>, { facts }: Checked): Promise<void> {
    const done = await this.#store.transaction().execute(async (tx) => {
      const ended = await this.#markDone(tx, row.id);
      if (ended)
        await tx.insertInto('reports').orReplace().values(reportRow(row.version_id, facts)).execute();
      return ended;
    });
    if (!done) return;
    this.#tell(done);
    this.#events.emit('songs');
  }

  /** The row as it then is; undefined when the job was cancelled before. */
  #markDone(tx: Pick<Store, 'updateTable'>, id: string): Promise<Selectable<JobRow> | undefined> {
    return tx
      .updateTable('jobs')
      .set({ state: 'done', stage: 'done' })
      .where('id', '=', id)
      .where('state', '=', 'running')
      .returningAll()
      .executeTakeFirst();
  }

  async #fail(row: Selectable<JobRow>, cause: unknown): Promise<void> {
    const error = jobError(cause);
    if (error.code === 'INTERNAL' || error.code === 'JOB_CRASHED') this.#report(cause);
    const failed = await this.#store
      .updateTable('jobs')
      .set({ state: 'failed', stage: 'failed', error_code: error.code, error_message: error.message })
      .where('id', '=', row.id)
      .where('state', '=', 'running')
      .returningAll()
      .executeTakeFirst();
    if (failed) this.#tell(failed);
  }

  #tell(row: Selectable<JobRow>): Job {
    const job = toJob(row, this.#live);
    this.#events.emit('job', job);
    return job;
  }

  async #row(id: string): Promise<Selectable<JobRow>> {
    const row = await this.#store.selectFrom('jobs').selectAll().where('id', '=', id).executeTakeFirst();
    if (!row) throw new CodedError('NOT_FOUND', 'There is no such job.');
    return row;
  }
}

function jobError(cause: unknown): CodedError {
  if (cause instanceof CodedError) return cause;
  const stored = storageError(cause, 'The result');
  if (stored.code !== 'STORAGE_FAILED') return stored;
  return new CodedError('INTERNAL', 'A fault in Everyroom itself stopped the work.', { cause });
}
