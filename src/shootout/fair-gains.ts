import type { CutLevels } from './fair-cut.ts';

export interface SectionGains {
  /** Loudness that all cuts of the section are brought to. */
  readonly targetLufs: number;
  /** For each master, dB; never above 0. */
  readonly gainsDb: readonly number[];
}

/**
 * Gains that make one section equally loud in all masters by turning down only: to the quietest of them, or lower, until
 * none has a true peak above the ceiling. null when a cut is too quiet to have a loudness.
 */
export function sectionGains(levels: readonly CutLevels[], ceilingDbtp: number): SectionGains | null {
  let targetLufs = Number.POSITIVE_INFINITY;
  for (const { lufs } of levels) {
    if (lufs === null) return null;
    targetLufs = Math.min(targetLufs, lufs);
  }
  let over = 0;
  for (const { lufs, truePeakDbtp } of levels)
    if (lufs !== null && truePeakDbtp !== null)
      over = Math.max(over, truePeakDbtp + targetLufs - lufs - ceilingDbtp);
  targetLufs -= over;
  return { targetLufs, gainsDb: levels.map(({ lufs }) => targetLufs - (lufs ?? targetLufs)) };
}
