import { frameCount, type Pcm } from '../audio/pcm.ts';
import type { CellPeaks } from './cell-peaks.ts';
import { cutPeakDbtp } from './cut-peak.ts';

export interface PeakMoment {
  readonly atSeconds: number;
  readonly peakDbtp: number;
}

/** Moments closer than this are one to a listener (heuristic). */
const apartSeconds = 1;
const told = 8;
/** Cells of a block searched between samples: some more, because the highest sample is not always the highest wave. */
const searched = 16;

/**
 * Where a sound is highest, also when nothing passes full scale. Cells are ranked by their samples, and only the
 * first of them are searched between samples.
 */
export class PeakMoments {
  #found: PeakMoment[] = [];

  /**
   * @param startFrame where in the sound the block begins; blocks of some seconds or more, in order of time
   * @param cells of the block
   */
  push(block: Pcm, startFrame: number, { cellFrames: cell, peaks: cellPeaks }: CellPeaks): void {
    const frames = frameCount(block);
    const peaks = Array.from(cellPeaks, (peak, i) => ({ cell: i, peak }));
    const highest = apart(
      peaks.filter(({ peak }) => peak > 0),
      (a, b) => b.peak - a.peak || a.cell - b.cell,
      ({ cell: at }) => (at * cell) / block.sampleRate,
      searched,
    );
    for (const { cell: i } of highest) {
      const atSeconds = (startFrame + (i + 0.5) * cell) / block.sampleRate;
      const peakDbtp = cutPeakDbtp(block, i * cell, Math.min(frames, (i + 1) * cell));
      if (peakDbtp !== null) this.#found.push({ atSeconds, peakDbtp });
    }
    this.#found = apart(
      this.#found,
      (a, b) => b.peakDbtp - a.peakDbtp || a.atSeconds - b.atSeconds,
      ({ atSeconds }) => atSeconds,
      told,
    );
  }

  /** At most 8, the highest first, at least a second apart. */
  finish(): PeakMoment[] {
    return this.#found;
  }
}

/** The first `count` in the given order that keep their distance from those before them. */
function apart<T>(
  all: readonly T[],
  order: (a: T, b: T) => number,
  timeOf: (item: T) => number,
  count: number,
): T[] {
  const kept: T[] = [];
  for (const item of [...all].sort(order)) {
    if (kept.length === count) break;
    if (kept.every((each) => Math.abs(timeOf(each) - timeOf(item)) >= apartSeconds)) kept.push(item);
  }
  return kept;
}
