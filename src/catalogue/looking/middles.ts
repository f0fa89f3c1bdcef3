import { sql } from 'kysely';
import { type FigureColumn, noFigure } from '../store/migrations.ts';
import type { CatalogueDb } from '../store/song-queue.ts';
import { songSorts } from './song-sorts.ts';

/** Figures of which the songs of one catalogue can be expected to lie near each other. */
export const outlierFigures = ['lufs', 'truePeak', 'plr', 'range', 'tilt'] as const;
export type OutlierFigure = (typeof outlierFigures)[number];

/** Where the middle of the catalogue lies by one figure: quartiles by nearest rank. */
export interface Middle {
  readonly figure: OutlierFigure;
  /** Songs that have the figure. */
  readonly songs: number;
  readonly lowerQuartile: number;
  readonly median: number;
  readonly upperQuartile: number;
  /** Songs below `low` or above `high` lie far off. */
  readonly low: number;
  readonly high: number;
  readonly below: number;
  readonly above: number;
}

/** Tukey, Exploratory Data Analysis (1977), section 2D, from memory: 1.5 spreads beyond the quartiles. */
const fenceSpreads = 1.5;
/** A catalogue that is all alike has no outliers by a hair (heuristic; dB, LU or dB an octave). */
const leastSpread = 0.5;
/** Fewer songs have no middle to speak of (heuristic). */
const fewestSongs = 8;

/** Asked of the indexes that songs are sorted by; figures of too few songs are left out. */
export async function middlesOf(db: CatalogueDb, runId: string): Promise<Middle[]> {
  const middles: Middle[] = [];
  for (const figure of outlierFigures) {
    const middle = await middleOf(db, runId, figure);
    if (middle) middles.push(middle);
  }
  return middles;
}

async function middleOf(db: CatalogueDb, runId: string, figure: OutlierFigure): Promise<Middle | null> {
  const column = songSorts[figure] as FigureColumn;
  const value = sql<number>`${sql.raw(`COALESCE(${column}, ${noFigure})`)}`;
  const songs = db.selectFrom('catalogue_songs').where('run_id', '=', runId);
  const count = async (where: ReturnType<typeof sql<boolean>>): Promise<number> => {
    const row = await songs
      .select((e) => e.fn.countAll<number>().as('n'))
      .where(where)
      .executeTakeFirstOrThrow();
    return row.n;
  };
  const n = await count(sql<boolean>`${value} > ${sql.lit(noFigure)}`);
  if (n < fewestSongs) return null;
  const ranked = async (share: number): Promise<number> => {
    const row = await songs
      .select(value.as('value'))
      .where(value, '>', sql.lit(noFigure))
      .orderBy(value)
      .limit(1)
      .offset(Math.min(n - 1, Math.floor(share * n)))
      .executeTakeFirstOrThrow();
    return row.value;
  };
  const lowerQuartile = await ranked(0.25);
  const median = await ranked(0.5);
  const upperQuartile = await ranked(0.75);
  const reach = fenceSpreads * Math.max(leastSpread, upperQuartile - lowerQuartile);
  const low = lowerQuartile - reach;
  const high = upperQuartile + reach;
  return {
    figure,
    songs: n,
    lowerQuartile,
    median,
    upperQuartile,
    low,
    high,
    below: await count(sql<boolean>`${value} > ${sql.lit(noFigure)} AND ${value} < ${low}`),
    above: await count(sql<boolean>`${value} > ${high}`),
  };
}
