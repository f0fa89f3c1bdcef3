import { sql } from 'kysely';
import type { CatalogueDb } from '../store/song-queue.ts';
import type { RuleCount } from './answers.ts';

/** A song whose verdict is another than it was. */
export interface ChangedSong {
  /** Its place in the later run. */
  readonly seq: number;
  readonly name: string;
  readonly source: string;
  readonly before: ShortVerdict;
  readonly after: ShortVerdict;
}

export interface ShortVerdict {
  /** 'failed' where it could not be checked. */
  readonly worst: 'failed' | 'mend' | 'look' | 'fine';
  readonly mendCount: number;
  readonly lookCount: number;
  readonly integratedLufs: number | null;
  readonly truePeakDbtp: number | null;
}

/** Two runs held against each other, song by song, told apart by their source. */
export interface Comparison {
  readonly better: number;
  readonly worse: number;
  /** Neither better nor worse. */
  readonly same: number;
  /** Of all songs in both: those whose loudness or true peak reads differently by 0.05 or more. */
  readonly moved: number;
  /** Ended in the later run only, and in the earlier only. */
  readonly added: number;
  readonly gone: number;
  /** The worst first; at most `shown` of each. */
  readonly worseSongs: ChangedSong[];
  readonly betterSongs: ChangedSong[];
  readonly rulesBefore: RuleCount[];
  readonly rulesAfter: RuleCount[];
}

const shown = 200;
/** Half of the last digit that is printed. */
const movedBy = 0.05;

// Ended songs only, each with one number that rises as the verdict gets worse: what is worst, then how often.
const ended = (run: string): ReturnType<typeof sql> => sql`
  SELECT seq, name, source, source_key, integrated_lufs AS lufs, true_peak_dbtp AS peak,
    CASE WHEN state = 'failed' THEN 'failed' ELSE worst END AS worst,
    COALESCE(mend_count, 0) AS mends, COALESCE(look_count, 0) AS looks,
    CASE WHEN state = 'failed' THEN 3 WHEN worst = 'mend' THEN 2 WHEN worst = 'look' THEN 1 ELSE 0 END * 1000000
      + COALESCE(mend_count, 0) * 1000 + COALESCE(look_count, 0) AS badness
  FROM catalogue_songs WHERE run_id = ${run} AND state IN ('done', 'failed')`;

interface JoinedRow {
  readonly seq: number;
  readonly name: string;
  readonly source: string;
  readonly b_worst: ShortVerdict['worst'];
  readonly b_mends: number;
  readonly b_looks: number;
  readonly b_lufs: number | null;
  readonly b_peak: number | null;
  readonly a_worst: ShortVerdict['worst'];
  readonly a_mends: number;
  readonly a_looks: number;
  readonly a_lufs: number | null;
  readonly a_peak: number | null;
}

export async function compareRuns(
  db: CatalogueDb,
  before: string,
  after: string,
): Promise<Omit<Comparison, 'rulesBefore' | 'rulesAfter'>> {
  const both = sql`(${ended(after)}) a JOIN (${ended(before)}) b ON b.source_key = a.source_key`;
  const counted = await sql<Record<'better' | 'worse' | 'same' | 'moved', number | null>>`
    SELECT SUM(CASE WHEN a.badness < b.badness THEN 1 ELSE 0 END) AS better,
      SUM(CASE WHEN a.badness > b.badness THEN 1 ELSE 0 END) AS worse,
      SUM(CASE WHEN a.badness = b.badness THEN 1 ELSE 0 END) AS same,
      SUM(CASE WHEN ABS(a.lufs - b.lufs) >= ${movedBy} OR ABS(a.peak - b.peak) >= ${movedBy} THEN 1 ELSE 0 END) AS moved
    FROM ${both}`.execute(db);
  const only = async (here: string, there: string): Promise<number> => {
    const { rows } = await sql<{ n: number }>`
      SELECT COUNT(*) AS n FROM catalogue_songs s WHERE run_id = ${here} AND state IN ('done', 'failed')
        AND NOT EXISTS (SELECT 1 FROM catalogue_songs o WHERE o.run_id = ${there}
          AND o.source_key = s.source_key AND o.state IN ('done', 'failed'))`.execute(db);
    return rows[0].n;
  };
  const list = async (is: '>' | '<'): Promise<ChangedSong[]> => {
    const { rows } = await sql<JoinedRow>`
      SELECT a.seq, a.name, a.source, b.worst AS b_worst, b.mends AS b_mends, b.looks AS b_looks, b.lufs AS b_lufs,
        b.peak AS b_peak, a.worst AS a_worst, a.mends AS a_mends, a.looks AS a_looks, a.lufs AS a_lufs, a.peak AS a_peak
      FROM ${both} WHERE a.badness ${sql.raw(is)} b.badness
      ORDER BY ABS(a.badness - b.badness) DESC, a.seq LIMIT ${shown}`.execute(db);
    return rows.map(toChanged);
  };
  const { better, worse, same, moved } = counted.rows[0];
  return {
    better: better ?? 0,
    worse: worse ?? 0,
    same: same ?? 0,
    moved: moved ?? 0,
    added: await only(after, before),
    gone: await only(before, after),
    worseSongs: await list('>'),
    betterSongs: await list('<'),
  };
}

function toChanged(row: JoinedRow): ChangedSong {
  const { seq, name, source } = row;
  return {
    seq,
    name,
    source,
    before: {
      worst: row.b_worst,
      mendCount: row.b_mends,
      lookCount: row.b_looks,
      integratedLufs: row.b_lufs,
      truePeakDbtp: row.b_peak,
    },
    after: {
      worst: row.a_worst,
      mendCount: row.a_mends,
      lookCount: row.a_looks,
      integratedLufs: row.a_lufs,
      truePeakDbtp: row.a_peak,
    },
  };
}
