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
  /** Least trim found at which the format stays at or under the limit; null when none did within the encodes. */
  readonly trimDb: number | null;
  /** Where to look next: `trimDb`, or the best guess when that is null. */
  readonly nextTrimDb: number;
  /** In the order in which they were made, known ones first. */
  readonly points: readonly CeilingPoint[];
}

/** Trims are looked for on this grid, dB: finer than two honest readings of a true peak agree. */
export const trimGridDb = 0.01;
/** A trim found is good enough when it is at most this far above one that failed, or leaves this little room, dB. */
const closeEnoughDb = 0.05;
/** Rounding of the meter: a waveform exactly at the limit is not over it. As in src/measure/true-peak.ts. */
const roundingDb = 0.001;

/** Whether a decoded peak keeps to the limit. */
export function keepsLimit(truePeakDbtp: number | null, limitDbtp: number): boolean {
  return truePeakDbtp === null || truePeakDbtp <= limitDbtp + roundingDb;
}

/** The next trim of the grid at or above, never less than 0. */
export function onTrimGrid(trimDb: number): number {
  return Math.max(0, Math.ceil(trimDb / trimGridDb - 1e-6)) * trimGridDb;
}

/**
 * The least trim after which a format decodes at or under the limit, by real encodes. Decoded peaks follow the trim
 * about one to one, but not exactly: quantisers land elsewhere, and the peak jumps by some tenths of a dB. So the
 * search keeps a bracket: a trim that failed makes all smaller ones count as failed, whatever they said; the answer
 * is the least that held above all that failed. Between the ends it goes by secant, outside by the slope of one.
 * Rejects as `codeAt` does.
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
    if (next === null || points.length >= maxEncodes) {
      const { held } = bracketOf(points, limitDbtp);
      return { trimDb: held?.trimDb ?? null, nextTrimDb: held?.trimDb ?? next ?? 0, points };
    }
    run.signal?.throwIfAborted();
    points.push({ trimDb: next, truePeakDbtp: await codeAt(next, run) });
  }
}

interface Bracket {
  /** The greatest trim that failed. */
  readonly failed: CeilingPoint | undefined;
  /** The least that held above it. */
  readonly held: CeilingPoint | undefined;
}

function bracketOf(points: readonly CeilingPoint[], limitDbtp: number): Bracket {
  const rising = [...points].sort((a, b) => a.trimDb - b.trimDb);
  const failed = rising.findLast((point) => !keepsLimit(point.truePeakDbtp, limitDbtp));
  const held = rising.find((point) => point.trimDb > (failed?.trimDb ?? -1));
  return { failed, held };
}

/** Where to encode next; null when the answer is close enough. */
function nextTrim(points: readonly CeilingPoint[], limitDbtp: number): number | null {
  const { failed, held } = bracketOf(points, limitDbtp);
  if (!failed) {
    if (!held) return 0;
    const spare = held.truePeakDbtp === null ? Number.POSITIVE_INFINITY : limitDbtp - held.truePeakDbtp;
    if (held.trimDb === 0 || spare <= closeEnoughDb) return null;
    return onTrimGrid(held.trimDb - spare);
  }
  const over = (failed.truePeakDbtp ?? limitDbtp) - limitDbtp;
  if (!held) {
    // Each failure shows that peaks jump here, so the next step is a little longer than the overshoot.
    const failures = points.filter((point) => !keepsLimit(point.truePeakDbtp, limitDbtp)).length;
    const extra = Math.max(0, failures - 1) * 0.05;
    return Math.max(onTrimGrid(failed.trimDb + over + extra), onTrimGrid(failed.trimDb + trimGridDb));
  }
  const gap = held.trimDb - failed.trimDb;
  const spare = held.truePeakDbtp === null ? over + gap : limitDbtp - held.truePeakDbtp;
  if (gap <= closeEnoughDb || spare <= closeEnoughDb) return null;
  const secant = onTrimGrid(failed.trimDb + (gap * over) / (over + spare));
  const [least, most] = [onTrimGrid(failed.trimDb + trimGridDb), onTrimGrid(held.trimDb - trimGridDb)];
  return Math.min(Math.max(secant, least), most);
}
