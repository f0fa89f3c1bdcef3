import { type RawBuilder, type Selectable, sql } from 'kysely';
import { CodedError } from '../../audio/coded-error.ts';
import { noFigure } from '../store/migrations.ts';
import { sortName } from '../store/runs.ts';
import type { CatalogueDb } from '../store/song-queue.ts';
import type { SongRow, SongState } from '../store/tables.ts';
import type { Middle, OutlierFigure } from './middles.ts';
import { type SongSort, songSorts } from './song-sorts.ts';

/** A song of a run, as it is listed. null stands where a figure does not exist, or not yet. */
export interface CatalogueSong {
  readonly seq: number;
  readonly source: string;
  readonly name: string;
  readonly state: SongState;
  readonly tries: number;
  readonly sha256: string | null;
  readonly error: { readonly code: string; readonly message: string } | null;
  /** Measured in this run, or known from before. */
  readonly measured: boolean | null;
  readonly tookSeconds: number | null;
  readonly endedMs: number | null;
  readonly worst: 'mend' | 'look' | 'fine' | null;
  readonly headline: string | null;
  readonly mendCount: number | null;
  readonly lookCount: number | null;
  readonly integratedLufs: number | null;
  readonly truePeakDbtp: number | null;
  readonly plrDb: number | null;
  readonly rangeLu: number | null;
  readonly tiltDbPerOctave: number | null;
  readonly seconds: number | null;
}

export interface SongQuery {
  readonly sort: SongSort;
  readonly descending: boolean;
  readonly limit: number;
  /** The cursor of the page before; and of the page after, to go back. At most one of them. */
  readonly after?: string;
  readonly before?: string;
  readonly state?: SongState;
  readonly worst?: 'mend' | 'look' | 'fine';
  /** Only songs of which this rule says more than 'fine'. */
  readonly rule?: string;
  /** Only songs that failed so. */
  readonly code?: string;
  /** Only songs that lie far from the catalogue's middle by this figure. */
  readonly outlier?: OutlierFigure;
  /** Only songs with this in their name, whatever its case and accents. */
  readonly text?: string;
}

export interface SongPage {
  readonly songs: CatalogueSong[];
  /** All songs that the query is about, on every page. */
  readonly total: number;
  /** Cursors of the neighbouring pages; null at the ends. */
  readonly next: string | null;
  readonly previous: string | null;
}

/**
 * One page of a run's songs. Pages are found by where the last one ended, never by counting rows off from the beginning, so the
 * last of 100,000 costs what the first does.
 */
export async function songPage(
  db: CatalogueDb,
  runId: string,
  query: SongQuery,
  middles: readonly Middle[],
): Promise<SongPage> {
  const { sort, limit } = query;
  const value = sortValue(sort);
  const back = query.before !== undefined;
  const from = cursorOf(query.before ?? query.after, sort);
  const down = query.descending !== back;
  const wanted = filtered(db, runId, query, middles);
  let page = wanted.selectAll().limit(limit + 1);
  if (from) {
    // Said so that the index is entered where the last page ended.
    const past = sql.raw(down ? '<' : '>');
    page = page.where(
      sql<boolean>`${value} ${past}= ${from.value} AND (${value} ${past} ${from.value} OR seq ${past} ${from.seq})`,
    );
  }
  const direction = down ? 'desc' : 'asc';
  const rows = await page.orderBy(value, direction).orderBy('seq', direction).execute();
  const more = rows.length > limit;
  const shown = rows.slice(0, limit);
  if (back) shown.reverse();
  const { total } = await wanted.select((e) => e.fn.countAll<number>().as('total')).executeTakeFirstOrThrow();
  const cursor = (row: Selectable<SongRow> | undefined): string | null =>
    row ? cursorText(row, sort) : null;
  return {
    songs: shown.map(toSong),
    total,
    next: back || more ? cursor(shown.at(-1)) : null,
    previous: (back ? more : from !== null) ? cursor(shown[0]) : null,
  };
}

/**
 * The songs that the query is about. Each filter is a list of places, found in an index of its own: while the songs are gone through in
 * their order, a look into a list costs a hundredth of a look at the song.
 */
function filtered(db: CatalogueDb, runId: string, query: SongQuery, middles: readonly Middle[]) {
  const { state, worst, code, text, rule, outlier } = query;
  const ofRun = db.selectFrom('catalogue_songs').select('seq').where('run_id', '=', runId);
  let songs = db.selectFrom('catalogue_songs').where('run_id', '=', runId);
  const only = (places: typeof ofRun): void => {
    songs = songs.where('seq', 'in', places);
  };
  if (state) only(ofRun.where('state', '=', state));
  if (worst) only(ofRun.where('state', '=', 'done').where('worst', '=', worst));
  if (code) only(ofRun.where('state', '=', 'failed').where('error_code', '=', code));
  if (text) only(ofRun.where(sql<boolean>`sort_name LIKE ${`%${likeText(sortName(text))}%`} ESCAPE '!'`));
  if (rule)
    songs = songs.where('seq', 'in', (e) =>
      e.selectFrom('catalogue_findings').select('seq').where('run_id', '=', runId).where('rule', '=', rule),
    );
  if (outlier) {
    const middle = middles.find(({ figure }) => figure === outlier);
    const value = sortValue(outlier);
    only(
      ofRun.where(
        middle
          ? sql<boolean>`((${value} < ${middle.low} AND ${value} > ${sql.lit(noFigure)}) OR ${value} > ${middle.high})`
          : sql<boolean>`1 = 0`,
      ),
    );
  }
  return songs;
}

/** Written as in the index, which is then used. */
function sortValue(sort: SongSort): RawBuilder<number | string> {
  const column = songSorts[sort];
  return sql.raw(sort === 'order' || sort === 'name' ? column : `COALESCE(${column}, ${noFigure})`);
}

const likeText = (text: string): string => text.replace(/[!%_]/g, '!$&');

function cursorText(row: Selectable<SongRow>, sort: SongSort): string {
  return Buffer.from(JSON.stringify([row[songSorts[sort]] ?? noFigure, row.seq])).toString('base64url');
}

function cursorOf(
  text: string | undefined,
  sort: SongSort,
): { readonly value: number | string; readonly seq: number } | null {
  if (text === undefined) return null;
  try {
    const [value, seq] = JSON.parse(Buffer.from(text, 'base64url').toString('utf8')) as unknown[];
    const fits = sort === 'name' ? typeof value === 'string' : Number.isFinite(value);
    if (fits && Number.isSafeInteger(seq)) return { value: value as number | string, seq: seq as number };
  } catch {
    // Told below.
  }
  throw new CodedError('REQUEST_INVALID', 'The place in the list is none of this list; begin at its top.');
}

export function toSong(row: Selectable<SongRow>): CatalogueSong {
  return {
    seq: row.seq,
    source: row.source,
    name: row.name,
    state: row.state,
    tries: row.tries,
    sha256: row.sha256,
    error: row.error_code === null ? null : { code: row.error_code, message: row.error_message ?? '' },
    measured: row.measured === null ? null : row.measured === 1,
    tookSeconds: row.took_ms === null ? null : row.took_ms / 1000,
    endedMs: row.ended_ms,
    worst: row.worst,
    headline: row.headline,
    mendCount: row.mend_count,
    lookCount: row.look_count,
    integratedLufs: row.integrated_lufs,
    truePeakDbtp: row.true_peak_dbtp,
    plrDb: row.plr_db,
    rangeLu: row.range_lu,
    tiltDbPerOctave: row.tilt_db,
    seconds: row.seconds,
  };
}
