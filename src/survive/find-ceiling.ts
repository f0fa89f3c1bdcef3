import { CodedError } from '../audio/coded-error.ts';
import { partOfRun, type Run } from '../audio/run.ts';
import type { Span } from '../measure/measurement.ts';
import { type CeilingPoint, keepsLimit, onTrimGrid, searchCeiling } from './ceiling-search.ts';
import { reelShare } from './reel.ts';
import type { LossyFormat } from './round-trip-result.ts';
import type { FormatFigures } from './survive-format.ts';
import type { Ceiling, CeilingFormat, FormatFailure } from './survive-report.ts';

/**
 * True peak after decoding (dBTP, null: silence) of the file made with its ceiling `downDb` lower: of all of it, or of
 * some passages only (coded with what surrounds them), which is quicker.
 */
export type CodeAtCeiling = (
  format: LossyFormat,
  downDb: number,
  passages: readonly Span[] | null,
  run: Run,
) => Promise<number | null>;

export interface CeilingQuestion {
  readonly limitDbtp: number;
  /** The file's own true peak, dBTP; null: silence. */
  readonly truePeakDbtp: number | null;
  readonly seconds: number;
  /** What the whole file gave as it is, a row a format. */
  readonly rows: readonly { readonly format: LossyFormat; readonly figures: FormatFigures }[];
}

/** What a search finds; the answers in words are added where the report is made. */
export type CeilingFigures = Omit<Ceiling, 'answers'>;

/** Moments this far below the highest may become the highest at another level (heuristic; peaks jump by some tenths). */
const contenderDb = 0.8;
const aroundSeconds = 0.2;
/** When the passages are more than this share of the file, all of it is coded instead. */
const largestShare = 0.5;
/** Verifying again after a format went over: so often at most. */
const mostRounds = 3;
/** Added to an overshoot that the last encode still showed, dB. */
const stepBeyondDb = 0.03;

/**
 * The least trim at which every format stays at or under the limit: each format's own by searchCeiling (on the
 * moments that decide, in a long file), then a last encode of the whole file in every format at the greatest of
 * them. Where that still goes over, the trim is raised by the overshoot and all are verified again.
 * A format that fails is named; the others go on. Rejects when aborted, and for faults of ours.
 */
export async function findCeiling(
  { limitDbtp, truePeakDbtp, seconds, rows }: CeilingQuestion,
  codeAt: CodeAtCeiling,
  run: Run = {},
): Promise<CeilingFigures> {
  const failed: FormatFailure[] = [];
  const searching = spread(run, 0, 0.5, rows.length);
  const searches = await Promise.all(
    rows.map((row, i) =>
      orFailure(row.format, failed, () => searchFormat(row, { limitDbtp, seconds }, codeAt, searching(i))),
    ),
  );
  const found = searches.filter((search) => search !== null);
  let trimDb = Math.max(0, ...found.map((search) => search.trimDb));
  let verified = false;
  for (let round = 0; round < mostRounds && !verified; round++) {
    const from = 0.5 + (0.5 * round) / mostRounds;
    const verifying = spread(run, from, round === 0 ? 0.95 : 1, found.length);
    await Promise.all(
      found.map((search, i) =>
        orFailure(search.format, failed, () => verifyFormat(search, trimDb, codeAt, verifying(i))),
      ),
    );
    const over = Math.max(...found.map(({ verifiedDbtp }) => (verifiedDbtp ?? limitDbtp) - limitDbtp));
    verified = found.every(({ verifiedDbtp }) => keepsLimit(verifiedDbtp, limitDbtp));
    if (verified || round + 1 === mostRounds) break;
    const raised = onTrimGrid(trimDb + over + stepBeyondDb);
    for (const search of found) if (!keepsLimit(search.verifiedDbtp, limitDbtp)) search.trimDb = raised;
    trimDb = raised;
  }
  run.progress?.(1);
  const worst = found.reduce<Search | null>(
    (most, search) => (search.trimDb > (most?.trimDb ?? 0) ? search : most),
    null,
  );
  return {
    limitDbfs: limitDbtp,
    trimDb,
    ceilingDbtp: truePeakDbtp === null ? null : truePeakDbtp - trimDb,
    decidedBy: worst?.format.label ?? null,
    encodes: found.reduce((sum, search) => sum + search.points.length, 0),
    verified: verified && failed.length === 0,
    formats: found.map(
      (search): CeilingFormat => ({
        formatId: search.format.id,
        format: search.format.label,
        trimDb: search.trimDb,
        ceilingDbtp: (truePeakDbtp ?? 0) - search.trimDb,
        truePeakDbtp: search.points.find((point) => point.trimDb === search.trimDb)?.truePeakDbtp ?? null,
        points: [...search.points],
        encodes: search.points.length,
        verifiedDbtp: search.verifiedDbtp,
      }),
    ),
    failed,
  };
}

interface Search {
  readonly format: LossyFormat;
  trimDb: number;
  readonly points: CeilingPoint[];
  /** Trims at which the whole file was coded, not only passages. */
  readonly whole: Set<number>;
  verifiedDbtp: number | null;
}

async function searchFormat(
  { format, figures }: CeilingQuestion['rows'][number],
  { limitDbtp, seconds }: { limitDbtp: number; seconds: number },
  codeAt: CodeAtCeiling,
  run: Run,
): Promise<Search> {
  const highest = figures.truePeakDbtp ?? Number.NEGATIVE_INFINITY;
  const deciding = figures.peakMoments
    .filter(({ peakDbtp }) => peakDbtp >= highest - contenderDb)
    .map(({ atSeconds }) => ({
      startSeconds: Math.max(0, atSeconds - aroundSeconds),
      endSeconds: Math.min(seconds, atSeconds + aroundSeconds),
    }));
  const passages = reelShare(deciding, seconds) > largestShare ? null : deciding;
  const result = await searchCeiling(
    (downDb, part) => codeAt(format, downDb, passages, part),
    { limitDbtp, known: [{ trimDb: 0, truePeakDbtp: figures.truePeakDbtp }] },
    run,
  );
  const points = [...result.points];
  const whole = new Set(passages === null ? points.map(({ trimDb }) => trimDb) : [0]);
  return { format, trimDb: result.nextTrimDb, points, whole, verifiedDbtp: null };
}

/** Codes the whole file at that trim, unless the search did so already. */
async function verifyFormat(search: Search, trimDb: number, codeAt: CodeAtCeiling, run: Run): Promise<void> {
  search.verifiedDbtp = null;
  if (!search.whole.has(trimDb)) {
    const truePeakDbtp = await codeAt(search.format, trimDb, null, run);
    search.points.push({ trimDb, truePeakDbtp });
    search.whole.add(trimDb);
  }
  search.verifiedDbtp = search.points.findLast((point) => point.trimDb === trimDb)?.truePeakDbtp ?? null;
  run.progress?.(1);
}

/** One format's fault is that format's alone. */
async function orFailure<T>(
  format: LossyFormat,
  failed: FormatFailure[],
  work: () => Promise<T>,
): Promise<T | null> {
  try {
    return await work();
  } catch (error) {
    if (!(error instanceof CodedError) || error.code === 'JOB_CANCELLED') throw error;
    failed.push({ formatId: format.id, format: format.label, code: error.code, reason: error.message });
    return null;
  }
}

/** Runs of several works at once that report their mean into a part of `run`. */
function spread(run: Run, from: number, to: number, count: number): (index: number) => Run {
  const part = partOfRun(run, from, to);
  const shares = new Array<number>(count).fill(0);
  return (index) => ({
    signal: run.signal,
    progress: (fraction) => {
      shares[index] = Math.max(shares[index], fraction);
      part.progress?.(shares.reduce((sum, share) => sum + share, 0) / count);
    },
  });
}
