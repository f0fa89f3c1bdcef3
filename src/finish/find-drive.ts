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

/**
 * The drive into a limiter at which what comes out is as loud as wanted: by secants within a bracket, because loudness rises with
 * the drive, but the less the harder the limiter works. null when the sound has no loudness (silence, too short).
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
  let low: Point | null = null;
  let high: Point | null = null;
  let best: Omit<DriveFound, 'rounds' | 'reached'> | null = null;
  let drive = clampDrive(guessDb);
  let rounds = 0;
  while (rounds < mostRounds) {
    run.signal?.throwIfAborted();
    run.progress?.(rounds / mostRounds);
    const lufs = await loudnessAt(drive, { signal: run.signal });
    rounds++;
    if (lufs === null) return null;
    const missing = targetLufs - lufs;
    if (!best || Math.abs(missing) < Math.abs(targetLufs - best.integratedLufs))
      best = { driveDb: drive, integratedLufs: lufs };
    if (Math.abs(missing) <= closeLu) break;
    if (missing > 0) low = { driveDb: drive, lufs };
    else high = { driveDb: drive, lufs };
    const next = nextDrive(targetLufs, drive, missing, low, high);
    if (next === drive) break;
    drive = next;
  }
  run.progress?.(1);
  return best && { ...best, reached: Math.abs(targetLufs - best.integratedLufs) <= closeLu, rounds };
}

interface Point {
  readonly driveDb: number;
  readonly lufs: number;
}

function nextDrive(
  target: number,
  drive: number,
  missing: number,
  low: Point | null,
  high: Point | null,
): number {
  // Without a bracket: further than the slope of one, since a working limiter gives back less.
  if (!low || !high) return clampDrive(drive + (missing > 0 ? 1.25 : 1) * missing);
  const secant = low.driveDb + ((high.driveDb - low.driveDb) * (target - low.lufs)) / (high.lufs - low.lufs);
  const inside = secant > low.driveDb && secant < high.driveDb;
  return thousandth(inside ? secant : (low.driveDb + high.driveDb) / 2);
}

/** On a grid of a thousandth: what is written in the chain is what was rendered. */
function thousandth(value: number): number {
  return Math.round(value * 1000) / 1000;
}

function clampDrive(value: number): number {
  return thousandth(Math.max(driveRange.lowest, Math.min(driveRange.highest, value)));
}
