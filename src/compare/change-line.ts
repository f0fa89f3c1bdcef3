/** A moment of the song in both sounds. */
export interface Moment {
  /** Sample of a. */
  readonly at: number;
  /** How much later b has it, samples. */
  readonly delaySamples: number;
  /** How far it is to be trusted; a share of any scale. */
  readonly weight: number;
}

/** delay = atStart + slope * (sample of a). */
export interface DelayLine {
  /** Delay at a's first sample, samples. */
  readonly atStart: number;
  /** Samples of delay a sample: drift, 1e-6 is a part per million. */
  readonly slope: number;
}

export function delayAt(line: DelayLine, sample: number): number {
  return line.atStart + line.slope * sample;
}

/** Steepest drift believed: 0.1 %, more than clocks drift and less than a semitone (heuristic). */
export const steepest = 1e-3;

/** When most moments lie this close to a level line, no slope is read out of their grain, samples. */
const levelEnough = 2;

/**
 * The line that most pairs of moments agree on (median of slopes, then of delays: Theil 1950, Sen 1968; from memory):
 * up to a quarter of the moments may be wrong.
 */
export function robustLine(moments: readonly Moment[]): DelayLine {
  const level = median(moments.map(({ delaySamples }) => delaySamples));
  if (median(moments.map(({ delaySamples }) => Math.abs(delaySamples - level))) <= levelEnough)
    return { slope: 0, atStart: level };
  const slopes: number[] = [];
  for (const [i, p] of moments.entries())
    for (const q of moments.slice(i + 1)) {
      const slope = (q.delaySamples - p.delaySamples) / (q.at - p.at);
      if (Number.isFinite(slope) && Math.abs(slope) <= steepest) slopes.push(slope);
    }
  const slope = slopes.length > 0 ? median(slopes) : 0;
  return { slope, atStart: median(moments.map(({ at, delaySamples }) => delaySamples - slope * at)) };
}

/** The line of least squares through weighted moments; level when there are fewer than two. */
export function weightedLine(moments: readonly Moment[]): DelayLine {
  const total = moments.reduce((sum, { weight }) => sum + weight, 0);
  const mean = (pick: (moment: Moment) => number) =>
    moments.reduce((sum, moment) => sum + moment.weight * pick(moment), 0) / total;
  const meanAt = mean(({ at }) => at);
  const meanDelay = mean(({ delaySamples }) => delaySamples);
  const spread = mean(({ at }) => (at - meanAt) ** 2);
  const slope =
    spread > 0 ? mean(({ at, delaySamples }) => (at - meanAt) * (delaySamples - meanDelay)) / spread : 0;
  return { slope, atStart: meanDelay - slope * meanAt };
}

export function median(values: readonly number[]): number {
  const sorted = [...values].sort((x, y) => x - y);
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2;
}
