import { sql } from 'kysely';
import { CodedError } from '../../audio/coded-error.ts';
import type { FileReport } from '../../judge/file-report.ts';
import { judgeFacts } from '../facts.ts';
import type { Run, Runs } from '../store/runs.ts';
import type { CatalogueDb } from '../store/song-queue.ts';
import type { SongState } from '../store/tables.ts';
import type { FaultCount, RuleCount, RunCounts, RunningWorker } from './answers.ts';
import { type Comparison, compareRuns } from './compare-runs.ts';
import { type Middle, middlesOf } from './middles.ts';
import { type CatalogueSong, type SongPage, type SongQuery, songPage, toSong } from './song-page.ts';

/** How long an answer about a run that still changes is good enough, ms. */
const freshMs = 2000;
const mostRemembered = 64;

/** Looking at runs: what the terminal prints and the page shows. Missing runs and songs: CodedError NOT_FOUND. */
export class Looking {
  readonly #db: CatalogueDb;
  readonly #runs: Runs;
  /** Answers that take the whole run to find out. */
  readonly #remembered = new Map<string, { readonly atMs: number; readonly answer: Promise<unknown> }>();

  constructor(db: CatalogueDb, runs: Runs) {
    this.#db = db;
    this.#runs = runs;
  }

  async counts(runId: string): Promise<RunCounts> {
    const rows = await this.#db
      .selectFrom('catalogue_songs')
      .select((e) => ['state', 'worst', 'measured', e.fn.countAll<number>().as('songs')])
      .where('run_id', '=', runId)
      .groupBy(['state', 'worst', 'measured'])
      .execute();
    const sum = (wanted: (row: (typeof rows)[number]) => boolean): number =>
      rows.reduce((total, row) => total + (wanted(row) ? row.songs : 0), 0);
    const inState = (state: SongState): number => sum((row) => row.state === state);
    return {
      total: sum(() => true),
      waiting: inState('waiting'),
      working: inState('working'),
      done: inState('done'),
      failed: inState('failed'),
      stopped: inState('stopped'),
      mend: sum(({ worst }) => worst === 'mend'),
      look: sum(({ worst }) => worst === 'look'),
      fine: sum(({ worst }) => worst === 'fine'),
      measured: sum(({ measured }) => measured === 1),
    };
  }

  /** What rules had to say more than 'fine', by how many songs it is said of. */
  rules(run: Run): Promise<RuleCount[]> {
    return this.#remember(run, 'rules', async () => {
      const counted = await this.#db
        .selectFrom('catalogue_findings')
        .select((e) => [
          'rule',
          'severity',
          e.fn.countAll<number>().as('songs'),
          e.fn.min<number>('seq').as('first'),
        ])
        .where('run_id', '=', run.id)
        .groupBy(['rule', 'severity'])
        .execute();
      const rules = counted.map(async ({ rule, severity, songs, first }) => {
        // Asked for one song, not for all: the counting needs nothing but the index.
        const { title } = await this.#db
          .selectFrom('catalogue_findings')
          .select('title')
          .where('run_id', '=', run.id)
          .where('rule', '=', rule)
          .where('severity', '=', severity)
          .where('seq', '=', first)
          .executeTakeFirstOrThrow();
        return { rule, severity, songs, title };
      });
      const weight = ({ severity }: RuleCount): number => (severity === 'mend' ? 0 : 1);
      return (await Promise.all(rules)).sort(
        (a, b) => weight(a) - weight(b) || b.songs - a.songs || (a.rule < b.rule ? -1 : 1),
      );
    });
  }

  /** Why songs failed, by how many did. */
  async faults(runId: string): Promise<FaultCount[]> {
    return this.#db
      .selectFrom('catalogue_songs')
      .select((e) => [
        sql<string>`COALESCE(error_code, 'INTERNAL')`.as('code'),
        e.fn.countAll<number>().as('songs'),
      ])
      .where('run_id', '=', runId)
      .where('state', '=', 'failed')
      .groupBy('code')
      .orderBy('songs', 'desc')
      .orderBy('code')
      .execute();
  }

  /** Machines that work on a run now. */
  async workers(runId: string): Promise<RunningWorker[]> {
    return this.#db
      .selectFrom('catalogue_songs')
      .innerJoin('catalogue_workers', 'catalogue_workers.id', 'catalogue_songs.worker')
      .select((e) => ['machine', e.fn.countAll<number>().as('songs')])
      .where('run_id', '=', runId)
      .where('state', '=', sql.lit('working'))
      .groupBy('machine')
      .orderBy('machine')
      .execute();
  }

  /** Where the middle of the catalogue lies, figure by figure, and how many songs lie far off. */
  middles(run: Run): Promise<Middle[]> {
    return this.#remember(run, 'middles', () => middlesOf(this.#db, run.id));
  }

  /** A page of a run's songs. REQUEST_INVALID for a cursor that is none. */
  async songs(run: Run, query: SongQuery): Promise<SongPage> {
    const middles = query.outlier === undefined ? [] : await this.middles(run);
    return songPage(this.#db, run.id, query, middles);
  }

  async song(runId: string, seq: number): Promise<CatalogueSong> {
    const row = await this.#db
      .selectFrom('catalogue_songs')
      .selectAll()
      .where('run_id', '=', runId)
      .where('seq', '=', seq)
      .executeTakeFirst();
    if (!row) throw new CodedError('NOT_FOUND', 'There is no such song in this run.');
    return toSong(row);
  }

  /** The verdict on a song, judged now; null before it was checked. */
  async report(run: Run, song: CatalogueSong): Promise<FileReport | null> {
    if (song.sha256 === null) return null;
    const row = await this.#db
      .selectFrom('catalogue_facts')
      .select('facts')
      .where('sha256', '=', song.sha256)
      .where('engine', '=', run.engine)
      .where('lossy', '=', run.lossy ? 1 : 0)
      .executeTakeFirst();
    return row ? judgeFacts(row.facts, { name: song.name, kind: run.kind, profile: run.profile }) : null;
  }

  /** What got better and what worse from an earlier run to a later one. */
  compare(before: Run, after: Run): Promise<Comparison> {
    const answer = async () => ({
      ...(await compareRuns(this.#db, before.id, after.id)),
      rulesBefore: await this.rules(before),
      rulesAfter: await this.rules(after),
    });
    return before.endedMs === null ? answer() : this.#remember(after, `compared with ${before.id}`, answer);
  }

  /** For ever once a run has ended, for a moment before. */
  #remember<T>(run: Run, what: string, ask: () => Promise<T>): Promise<T> {
    const key = `${run.id} ${what} ${run.endedMs}`;
    const before = this.#remembered.get(key);
    if (before && (run.endedMs !== null || performance.now() - before.atMs < freshMs))
      return before.answer as Promise<T>;
    const answer = ask();
    answer.catch(() => this.#remembered.delete(key));
    this.#remembered.delete(key);
    this.#remembered.set(key, { atMs: performance.now(), answer });
    for (const oldest of this.#remembered.keys()) {
      if (this.#remembered.size <= mostRemembered) break;
      this.#remembered.delete(oldest);
    }
    return answer;
  }

  /** The run, for those who know only its id. */
  run(id: string): Promise<Run> {
    return this.#runs.get(id);
  }
}
