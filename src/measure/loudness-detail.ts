import type { LoudnessHistogram } from './dynamics-result.ts';
import { integratedLufs, loudnessLufs, rangeLu } from './gating.ts';
import type { LoudnessTrace } from './loudness-result.ts';
import type { Span } from './span.ts';

/** Steps of 100 ms in a 400 ms block and in a short-term window: the blocks of BS.1770-5 and Tech 3342 begin on this grid. */
const momentarySteps = 4;
const shortTermSteps = 30;

/** Loudness of a part of a song; null where it is too short (400 ms, 3 s) or too quiet. */
export interface SpanLoudness {
  /** Gated as if the span were a file of its own. ITU-R BS.1770-5. */
  readonly integratedLufs: number | null;
  /** EBU Tech 3342. */
  readonly rangeLu: number | null;
  /** Loudest 400 ms and 3 s, on a 100 ms grid. */
  readonly maxMomentaryLufs: number | null;
  readonly maxShortTermLufs: number | null;
  /** The span that was measured: the one asked for, on the 100 ms grid and inside the song. */
  readonly span: Span;
}

/**
 * Loudness of any span, from what one pass over the song has kept: exact for spans that begin on a whole 100 ms, to which
 * the one asked for is rounded. Only blocks that lie wholly inside count. (A file cut out there would differ by the filter
 * having forgotten what sounded before: below 0.01 LU after the first 100 ms.)
 */
export function spanLoudness(loudness: LoudnessTrace, { startSeconds, endSeconds }: Span): SpanLoudness {
  const { stepSeconds, stepPowers } = loudness;
  const step = (seconds: number) =>
    Math.min(stepPowers.length, Math.max(0, Math.round(seconds / stepSeconds)));
  const [from, to] = [step(startSeconds), step(endSeconds)];
  const powers = stepPowers.slice(from, Math.max(from, to));
  const momentary = slidingMeans(powers, momentarySteps);
  const shortTerm = slidingMeans(powers, shortTermSteps);
  return {
    integratedLufs: integratedLufs(momentary),
    rangeLu: rangeLu(shortTerm),
    maxMomentaryLufs: loudest(momentary),
    maxShortTermLufs: loudest(shortTerm),
    span: { startSeconds: from * stepSeconds, endSeconds: Math.max(from, to) * stepSeconds },
  };
}

/** Histogram of momentary loudness, what the integrated loudness is made from, in bins of 1 LU. */
export function loudnessHistogram({ stepPowers }: Pick<LoudnessTrace, 'stepPowers'>): LoudnessHistogram {
  const counts = new Map<number, number>();
  let all = 0;
  for (const power of slidingMeans(stepPowers, momentarySteps)) {
    const lufs = loudnessLufs(power);
    // The absolute gate of BS.1770-5.
    if (!(lufs > -70)) continue;
    counts.set(Math.floor(lufs), (counts.get(Math.floor(lufs)) ?? 0) + 1);
    all++;
  }
  if (all === 0) return { fromLufs: null, shares: [] };
  const fromLufs = Math.min(...counts.keys());
  const bins = Math.max(...counts.keys()) - fromLufs + 1;
  return {
    fromLufs,
    shares: Array.from({ length: bins }, (_, i) => (counts.get(fromLufs + i) ?? 0) / all),
  };
}

/** Means of all windows of `size` values in a row, summed anew each time so that silence stays silence. */
export function slidingMeans(values: readonly number[], size: number): number[] {
  const means: number[] = [];
  for (let end = size; end <= values.length; end++) {
    let sum = 0;
    for (let i = end - size; i < end; i++) sum += values[i];
    means.push(sum / size);
  }
  return means;
}

function loudest(powers: readonly number[]): number | null {
  const most = powers.reduce((highest, power) => Math.max(highest, power), 0);
  return most > 0 ? loudnessLufs(most) : null;
}
