/**
 * Static curve of a compressor: D. Giannoulis, M. Massberg and J. D. Reiss, 'Digital Dynamic Range Compressor Design - A
 * Tutorial and Analysis', JAES 60(6), 2012, eq. 4 (from memory): straight below and above, a parabola over the knee.
 *
 * @param levelDb level that comes in
 * @param kneeDb width of the knee, 0 for a corner
 * @returns change of level, dB, 0 or less
 */
export function gainChangeDb(levelDb: number, thresholdDb: number, ratio: number, kneeDb: number): number {
  const over = levelDb - thresholdDb;
  const slope = 1 / ratio - 1;
  if (2 * over <= -kneeDb) return 0;
  if (2 * over < kneeDb) return (slope * (over + kneeDb / 2) ** 2) / (2 * kneeDb);
  return slope * over;
}
