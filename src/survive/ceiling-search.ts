import type { Run } from '../audio/run.ts';

/**
 * One way to make the file at a ceiling and to see what a format makes of it: turning the finished file down, or
 * setting a limiter and rendering anew. The search knows nothing of which it is.
 * @param downDb how far the ceiling is put below the highest one that is thought of, dB, 0 or more
 * @returns true peak after decoding, dBTP; null for silence
 */
export type CodeAt = (downDb: number, run: Run) => Promise<number | null>;

export interface CeilingPoint {
  readonly trimDb: number;
  readonly truePeakDbtp: number | null;
}

export interface CeilingSearchOptions {
  /** Highest true peak allowed after decoding, dBTP. */
  readonly limitDbtp: number;
  /** What is known already; these count among the encodes. */
  readonly known?: readonly CeilingPoint[];
  /** Most encodes, the known ones included. */
  readonly maxEncodes?: number;
}

export interface CeilingFound {
  /** Least trim found at which the format stays at or under the limit; the best guess when none did within the encodes. */
  readonly trimDb: number;
  /** In the order in which they were made, known ones first. */
  readonly points: readonly CeilingPoint[];
}

/** Trims lie on this grid, dB: finer than two honest readings of a true peak agree. */
const gridDb = 0.01;
/** A trim is good enough when one that is at most this much smaller failed, dB. */
export const closeEnoughDb = 0.15;
/** Where a smaller trim is tried although the answer has hardly any room left: just inside of closeEnoughDb. */
const probeDb = 0.12;
/** Rounding of the meter: a waveform exactly at the limit is not over it. As in src/measure/true-peak.ts. */
const roundingDb = 0.001;

/** Whether a decoded peak keeps to the limit. */
export function keepsLimit(truePeakDbtp: number | null, limitDbtp: number): boolean {
  return truePeakDbtp === null || truePeakDbtp <= limitDbtp + roundingDb;
}

/** The next trim of the grid at or above, never less than 0. */
export function onTrimGrid(trimDb: number): number {
  return Math.max(0, Math.ceil(trimDb / gridDb - 1e-6)) / (1 / gridDb);
}

/**
 * The least trim after which a format decodes at or under the limit, by real encodes. Decoded peaks follow the trim
 * only on the whole: from one level to the next an encoder decides otherwise, and the peak jumps by tenths of a dB. So
 * the search keeps a bracket: a trim that failed makes all smaller ones count as failed, whatever they said; the
 * answer is the least that held above all that failed, and it is done when these two are close. Between them it goes
 * by secant, outside by the slope of one. Rejects as `codeAt` does.
 */
export async function searchCeiling(
  codeAt: CodeAt,
  { limitDbtp, known = [], maxEncodes = 4 }: CeilingSearchOptions,
  run: Run = {},
): Promise<CeilingFound> {
  const points: CeilingPoint[] = [...known];
  for (;;) {
    const next = nextTrim(points, limitDbtp);
    run.progress?.(Math.min(1, points.length / maxEncodes));
    if (next === null || points.length >= maxEncodes)
      return { trimDb: bracketOf(points, limitDbtp).held?.trimDb ?? next ?? 0, points };
    run.signal?.throwIfAborted();
    points.push({ trimDb: next, truePeakDbtp: await codeAt(next, run) });
  }
}

export interface Bracket {
  /** The greatest trim that failed. */
  readonly failed: CeilingPoint | undefined;
  /** The least that held above it. */
  readonly held: CeilingPoint | undefined;
}

export function bracketOf(points: readonly CeilingPoint[], limitDbtp: number): Bracket {
  const rising = [...points].sort((a, b) => a.trimDb - b.trimDb);
  const failed = rising.findLast((point) => !keepsLimit(point.truePeakDbtp, limitDbtp));
  const held = rising.find((point) => point.trimDb > (failed?.trimDb ?? -1));
  return { failed, held };
}

/** Where to encode next; null when the answer is close enough. */
function nextTrim(points: readonly CeilingPoint[], limitDbtp: number): number | null {
  const { failed, held } = bracketOf(points, limitDbtp);
  const room = held && held.truePeakDbtp !== null ? limitDbtp - held.truePeakDbtp : Number.POSITIVE_INFINITY;
  if (!failed) {
    if (!held) return 0;
    return held.trimDb === 0 ? null : onTrimGrid(held.trimDb - Math.max(room, probeDb));
  }
  const over = (failed.truePeakDbtp ?? limitDbtp) - limitDbtp;
  if (!held) return Math.max(onTrimGrid(failed.trimDb + over), onTrimGrid(failed.trimDb + gridDb));
  const gap = held.trimDb - failed.trimDb;
  if (gap <= closeEnoughDb) return null;
  const secant = failed.trimDb + (gap * over) / (over + Math.min(room, over + gap));
  const probe = Math.min(secant, held.trimDb - probeDb);
  return Math.max(onTrimGrid(probe), onTrimGrid(failed.trimDb + gridDb));
}
