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
  const alike = query.text === undefined ? null : await alikeNames(db, runId, query.text);
  const wanted = filtered(db, runId, query, middles, alike?.areCommon ?? false);
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
  const total = alike && isOnlyText(query) ? alike.songs : await countOf(wanted);
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
 * The songs that the query is about. State and verdict stand in every index that songs are sorted by. What else they are filtered by is
 * found beforehand, as a list of places: while the songs are gone through in their order, a look into the list costs a hundredth of a
 * look at the song. Only where nearly every name has the text in it, the list would be longer than the way to the first page.
 */
function filtered(
  db: CatalogueDb,
  runId: string,
  query: SongQuery,
  middles: readonly Middle[],
  textIsCommon: boolean,
) {
  const { state, worst, code, text, rule, outlier } = query;
  const ofRun = db.selectFrom('catalogue_songs').select('seq').where('run_id', '=', runId);
  let songs = db.selectFrom('catalogue_songs').where('run_id', '=', runId);
  if (state) songs = songs.where('state', '=', state);
  if (worst) songs = songs.where('state', '=', 'done').where('worst', '=', worst);
  if (code)
    songs = songs.where('seq', 'in', ofRun.where('state', '=', 'failed').where('error_code', '=', code));
  if (text)
    songs = textIsCommon ? songs.where(named(text)) : songs.where('seq', 'in', ofRun.where(named(text)));
  if (rule)
    songs = songs.where('seq', 'in', (e) =>
      e.selectFrom('catalogue_findings').select('seq').where('run_id', '=', runId).where('rule', '=', rule),
    );
  if (outlier) {
    const middle = middles.find(({ figure }) => figure === outlier);
    const value = sortValue(outlier);
    const isFar = middle
      ? sql<boolean>`((${value} < ${middle.low} AND ${value} > ${sql.lit(noFigure)}) OR ${value} > ${middle.high})`
      : sql<boolean>`1 = 0`;
    songs = songs.where('seq', 'in', ofRun.where(isFar));
  }
  return songs;
}

const named = (text: string): RawBuilder<boolean> =>
  sql<boolean>`sort_name LIKE ${`%${likeText(sortName(text))}%`} ESCAPE '!'`;

/** A name like so many of a run's is common. */
const commonShare = 0.05;

/** How many names have the text in them; going through the names is most of what such a page costs, so it is done but once more. */
async function alikeNames(
  db: CatalogueDb,
  runId: string,
  text: string,
): Promise<{ songs: number; areCommon: boolean }> {
  const ofRun = db.selectFrom('catalogue_songs').where('run_id', '=', runId);
  const songs = await countOf(ofRun.where(named(text)));
  return { songs, areCommon: songs > commonShare * (await countOf(ofRun)) };
}

const isOnlyText = ({ state, worst, code, rule, outlier }: SongQuery): boolean =>
  [state, worst, code, rule, outlier].every((filter) => filter === undefined);

async function countOf(songs: ReturnType<typeof filtered>): Promise<number> {
  const { n } = await songs.select((e) => e.fn.countAll<number>().as('n')).executeTakeFirstOrThrow();
  return n;
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
