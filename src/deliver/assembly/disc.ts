/** A compact disc by IEC 60908 (from memory, but for the figures that src/judge/sources.ts marks as read in). */
export const disc = {
  sampleRate: 44_100,
  /** Stereo samples in a frame of 1/75 s: the step in which tracks can begin. */
  frameSamples: 588,
  framesPerSecond: 75,
  mostTracks: 99,
  leastTrackSeconds: 4,
  /** What every disc must hold; most plants take what `usualMostSeconds` says (common practice). */
  mostSeconds: 74 * 60 + 33,
  usualMostSeconds: 79 * 60 + 57,
} as const;

/** A place as cue sheets write it, minutes:seconds:frames. Throws RangeError off the grid of 588 samples. */
export function discTime(sample: number): string {
  const frames = sample / disc.frameSamples;
  if (!Number.isInteger(frames) || frames < 0) throw new RangeError(`sample ${sample} is on no disc frame`);
  const pad = (value: number) => String(value).padStart(2, '0');
  const seconds = Math.floor(frames / disc.framesPerSecond);
  return `${pad(Math.floor(seconds / 60))}:${pad(seconds % 60)}:${pad(frames % disc.framesPerSecond)}`;
}

/** The sample of a place written so; null where it is none. */
export function discSample(text: string): number | null {
  const [, minutes, seconds, frames] = (/^(\d+):(\d\d):(\d\d)$/.exec(text) ?? []).map(Number);
  if (frames === undefined || seconds > 59 || frames >= disc.framesPerSecond) return null;
  return ((minutes * 60 + seconds) * disc.framesPerSecond + frames) * disc.frameSamples;
}
