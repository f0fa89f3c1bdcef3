import type { Run } from '../audio/run.ts';
import { driveRange } from './finish-plan.ts';

/** Close enough, LU: well inside the 0.1 LU that is promised. */
const closeLu = 0.02;
const mostRounds = 12;

export interface DriveFound {
  readonly driveDb: number;
  readonly integratedLufs: number;
  /** Whether the loudness lies within 0.02 LU of the target. */
  readonly reached: boolean;
  /** Renderings that were made. */
  readonly rounds: number;
}

interface Point {
  readonly driveDb: number;
  readonly lufs: number;
}

/**
 * The drive into a limiter at which what comes out is as loud as wanted: by secants, kept within what is known to be too little and
 * too much, because loudness rises with the drive, but the less the harder the limiter works. null when the sound has no
 * loudness (silence, too short).
 *
 * @param loudnessAt integrated loudness of what comes out at a drive, LUFS
 * @param guessDb where to begin, dB
 */
export async function findDrive(
  targetLufs: number,
  guessDb: number,
  loudnessAt: (driveDb: number, run: Run) => Promise<number | null>,
  run: Run = {},
): Promise<DriveFound | null> {
  const points: Point[] = [];
  let drive = clampDrive(guessDb);
  while (points.length < mostRounds) {
    run.signal?.throwIfAborted();
    run.progress?.(points.length / mostRounds);
    const lufs = await loudnessAt(drive, { signal: run.signal });
    if (lufs === null) return null;
    points.push({ driveDb: drive, lufs });
    const next = nextDrive(targetLufs, points);
    if (Math.abs(targetLufs - lufs) <= closeLu || next === drive) break;
    drive = next;
  }
  run.progress?.(1);
  const away = ({ lufs }: Point) => Math.abs(targetLufs - lufs);
  const best = points.reduce((nearest, point) => (away(point) < away(nearest) ? point : nearest));
  return {
    driveDb: best.driveDb,
    integratedLufs: best.lufs,
    reached: away(best) <= closeLu,
    rounds: points.length,
  };
}

function nextDrive(target: number, points: readonly Point[]): number {
  const last = points[points.length - 1];
  const before = points[points.length - 2];
  const low = Math.max(...points.filter(({ lufs }) => lufs < target).map(({ driveDb }) => driveDb));
  const high = Math.min(...points.filter(({ lufs }) => lufs > target).map(({ driveDb }) => driveDb));
  const missing = target - last.lufs;
  // Without a second point: further than the slope of one, since a working limiter gives back less.
  const slope = before ? (last.lufs - before.lufs) / (last.driveDb - before.driveDb) : missing > 0 ? 0.8 : 1;
  const secant = last.driveDb + missing / Math.max(0.05, slope);
  if (secant > low && secant < high) return clampDrive(secant);
  return clampDrive(Number.isFinite(low) && Number.isFinite(high) ? (low + high) / 2 : secant);
}

/** On a grid of a thousandth: what is written in the chain is what was rendered. */
function clampDrive(value: number): number {
  return Math.round(1000 * Math.max(driveRange.lowest, Math.min(driveRange.highest, value))) / 1000;
}
