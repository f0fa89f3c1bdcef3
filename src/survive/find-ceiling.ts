import { CodedError } from '../audio/coded-error.ts';
import { partOfRun, type Run } from '../audio/run.ts';
import { type CeilingPoint, closeEnoughDb, keepsLimit, onTrimGrid, searchCeiling } from './ceiling-search.ts';
import type { LossyFormat } from './round-trip-result.ts';
import type { Ceiling, CeilingFormat, FormatFailure } from './survive-report.ts';

/** True peak after decoding (dBTP, null: silence) of the whole file made with its ceiling `downDb` lower. */
export type CodeAtCeiling = (format: LossyFormat, downDb: number, run: Run) => Promise<number | null>;

export interface CeilingQuestion {
  readonly limitDbtp: number;
  /** The file's own true peak, dBTP; null: silence. */
  readonly truePeakDbtp: number | null;
  /** The formats, with the true peak that the file as it is gave in each. */
  readonly rows: readonly { readonly format: LossyFormat; readonly decodedDbtp: number | null }[];
  /** Encodes that can run at the same time. */
  readonly atOnce: number;
  /** Only the level at which all hold is wanted: no format is looked into by itself, which saves its encodes. */
  readonly togetherOnly?: boolean;
}

/** What a search finds; the answers in words are added where the report is made. */
export type CeilingFigures = Omit<Ceiling, 'answers'>;

/** Levels at which all formats are tried: so many at most. */
const mostRounds = 12;
/** Added to an overshoot when a next level is chosen, dB; more with every round that failed. */
const stepBeyondDb = 0.02;

interface Search {
  readonly format: LossyFormat;
  readonly points: CeilingPoint[];
}

interface Found {
  readonly format: LossyFormat;
  /** Least trim found for this format alone. */
  readonly trimDb: number;
  readonly points: readonly CeilingPoint[];
}

/**
 * The least trim at which every format stays at or under the limit, by real encodes of the whole file.
 *
 * First all formats at one level after the other, those in the greatest danger first: up by the overshoot as long as one
 * fails, then down until the greatest trim that failed lies at most 0.15 dB below the one at which all held. Every format
 * has really been encoded at the trim that is answered. Then each format by itself, for the table, from what is known
 * of it already (searchCeiling, at most 4 encodes with those; left out where only the common level is asked for). A format that breaks is named; the others go on.
 * Rejects when aborted, and for faults of ours.
 */
export async function findCeiling(
  question: CeilingQuestion,
  codeAt: CodeAtCeiling,
  run: Run = {},
): Promise<CeilingFigures> {
  const { limitDbtp, truePeakDbtp, rows } = question;
  const failed: FormatFailure[] = [];
  const searches = rows.map(
    ({ format, decodedDbtp }): Search => ({
      format,
      points: [{ trimDb: 0, truePeakDbtp: decodedDbtp }],
    }),
  );
  const held = await holdAll(searches, question, codeAt, failed, partOfRun(run, 0, 0.7));
  const searching = spread(run, 0.7, 1, rows.length);
  const alone = await Promise.all(
    searches.map(({ format, points }, i) =>
      orFailure(format, failed, async (): Promise<Found | null> => {
        if (failed.some(({ formatId }) => formatId === format.id)) return null;
        if (question.togetherOnly) return { format, trimDb: held ?? 0, points };
        const code = (downDb: number, part: Run) => codeAt(format, downDb, part);
        const found = await searchCeiling(code, { limitDbtp, known: points }, searching(i));
        searching(i).progress?.(1);
        return { format, trimDb: found.trimDb, points: found.points };
      }),
    ),
  );
  const found = alone.filter((each) => each !== null);
  const trimDb = held ?? Math.max(0, ...found.map((search) => search.trimDb));
  run.progress?.(1);
  const alive = found;
  const decider = alive.reduce<Found | null>(
    (most, search) =>
      greatestFailure(search, limitDbtp) > (most ? greatestFailure(most, limitDbtp) : -1) ? search : most,
    null,
  );
  const carefulTrimDb =
    trimDb === 0
      ? 0
      : Math.max(trimDb, ...alive.map((search) => onTrimGrid(highestRelative(search) - limitDbtp)));
  return {
    limitDbfs: limitDbtp,
    trimDb,
    ceilingDbtp: truePeakDbtp === null ? null : truePeakDbtp - trimDb,
    carefulTrimDb,
    carefulCeilingDbtp: truePeakDbtp === null ? null : truePeakDbtp - carefulTrimDb,
    decidedBy: decider?.format.label ?? null,
    encodes: found.reduce((sum, search) => sum + search.points.length, 0),
    verified: held !== null && failed.length === 0,
    formats: alive.map(
      (search): CeilingFormat => ({
        formatId: search.format.id,
        format: search.format.label,
        trimDb: search.trimDb,
        ceilingDbtp: (truePeakDbtp ?? 0) - search.trimDb,
        truePeakDbtp: peakAt(search, search.trimDb) ?? null,
        points: [...search.points],
        encodes: search.points.length,
        jumpDb: jumpOf(search.points),
        verifiedDbtp: peakAt(search, trimDb) ?? null,
      }),
    ),
    failed,
  };
}

/** Looks for the least level at which all formats hold; null when none was found within the rounds. */
async function holdAll(
  searches: readonly Search[],
  { limitDbtp, atOnce }: CeilingQuestion,
  codeAt: CodeAtCeiling,
  failed: FormatFailure[],
  run: Run,
): Promise<number | null> {
  let held: number | null = null;
  let next = firstLevel(searches, limitDbtp);
  for (let round = 0; round < mostRounds; round++) {
    const part = partOfRun(run, round / mostRounds, (round + 1) / mostRounds);
    const alive = searches.filter(({ format }) => failed.every(({ formatId }) => formatId !== format.id));
    if (alive.length === 0) return null;
    const over = await highestOver(alive, next, { limitDbtp, atOnce }, codeAt, failed, part);
    if (over <= 0) held = next;
    const lowest = Math.max(0, ...alive.map((search) => greatestFailure(search, limitDbtp)));
    if (held !== null && held - lowest <= closeEnoughDb + 1e-9) return held;
    if (held === 0) return held;
    next =
      held === null
        ? // As far as is close enough all the same: then nothing is left to look for when all hold there.
          onTrimGrid(next + Math.max(closeEnoughDb, over + stepBeyondDb * (round + 1)))
        : lowerLevel(
            held,
            lowest,
            limitDbtp - Math.max(...alive.map((search) => peakAt(search, held!) ?? -999)),
          );
  }
  return held;
}

/** What the formats ask for as they are; 0 when none asks for anything. */
function firstLevel(searches: readonly Search[], limitDbtp: number): number {
  const highest = Math.max(...searches.map((search) => highestRelative(search)));
  return keepsLimit(highest, limitDbtp) ? 0 : onTrimGrid(highest - limitDbtp);
}

/** Below a level that held, where to look for one that fails: as near as is close enough, or further by the room that was left. */
function lowerLevel(held: number, failed: number, roomDb: number): number {
  const down = Math.max(closeEnoughDb, Math.min(roomDb, (held - failed) / 2));
  return Math.max(onTrimGrid(held - down), onTrimGrid(failed + 0.01));
}

/**
 * Encodes at one level the formats that were not yet, those that came out highest first, `atOnce` together, until one
 * goes over. Answers by how much, dB; 0 or less when all hold.
 */
async function highestOver(
  searches: readonly Search[],
  trimDb: number,
  { limitDbtp, atOnce }: { limitDbtp: number; atOnce: number },
  codeAt: CodeAtCeiling,
  failed: FormatFailure[],
  run: Run,
): Promise<number> {
  const order = [...searches].sort((a, b) => highestRelative(b) - highestRelative(a));
  let over = 0;
  for (let at = 0; at < order.length && over <= 0; at += atOnce) {
    const batch = order.slice(at, at + atOnce);
    await Promise.all(
      batch.map((search) =>
        orFailure(search.format, failed, async () => {
          const known = peakAt(search, trimDb);
          const truePeakDbtp =
            known === undefined ? await codeAt(search.format, trimDb, { signal: run.signal }) : known;
          if (known === undefined) search.points.push({ trimDb, truePeakDbtp });
          if (keepsLimit(truePeakDbtp, limitDbtp)) return;
          over = Math.max(over, (truePeakDbtp ?? 0) - limitDbtp);
        }),
      ),
    );
    run.progress?.(Math.min(1, (at + atOnce) / order.length));
  }
  return over;
}

/** Greatest trim at which it went over, dB; -1 when it never did. */
function greatestFailure({ points }: Found | Search, limitDbtp: number): number {
  return Math.max(-1, ...points.filter((p) => !keepsLimit(p.truePeakDbtp, limitDbtp)).map((p) => p.trimDb));
}

function peakAt({ points }: Found | Search, trimDb: number): number | null | undefined {
  return points.find((point) => point.trimDb === trimDb)?.truePeakDbtp;
}

/** Highest decoded peak with the trim undone. */
function highestRelative({ points }: Found | Search): number {
  return Math.max(...points.map(({ trimDb, truePeakDbtp }) => (truePeakDbtp ?? -999) + trimDb));
}

/** By how much the decoded peak, the trim undone, differs between the levels that were coded, dB; null for one level. */
function jumpOf(points: readonly CeilingPoint[]): number | null {
  const relative = points.flatMap(({ trimDb, truePeakDbtp }) =>
    truePeakDbtp === null ? [] : [truePeakDbtp + trimDb],
  );
  return relative.length < 2 ? null : Math.max(...relative) - Math.min(...relative);
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
