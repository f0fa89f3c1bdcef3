import { type PairPower, pairFigures } from './pair-power.ts';
import type { Span } from './span.ts';
import type { StereoBandReading } from './stereo-bands.ts';

/** Half the stretch that is judged together, s (heuristic). */
const reachSeconds = 1;
/** Shortest stretch that is told, s (heuristic). */
const shortestSeconds = 1.5;
/** Mean correlation of the bands below which one channel must be upside down (heuristic: wide mixes stay above -0.1). */
const invertedBelow = -0.3;
/** Bands this far under the strongest have no say, power ratio: -30 dB (heuristic). */
const faint = 1e-3;
/** A channel this far under the other has nothing to be upside down against, dB (heuristic). */
const mostBalanceDb = 30;
/** Mean power at or below which it is silent: -90 dBFS. */
const silence = 1e-9;
/** 'air' is left out: wide effects live there. */
const judged = 4;

export interface Polarity {
  /** Stretches in which one channel is upside down against the other, to about half a second; at most 200. */
  readonly invertedSpans: readonly Span[];
  /** Share of the sounding part of the song that is upside down, 0..1; null in silence. */
  readonly invertedShare: number | null;
}

/**
 * Finds where one channel is the wrong way round: what both have in common, bass, voices, drums, is then opposite in
 * every band at once, which no stereo effect does for seconds. Heuristic.
 */
export function polarityOf(
  { bands, steps, stepSeconds, firstSeconds }: StereoBandReading,
  seconds: number,
): Polarity {
  const reach = Math.max(1, Math.round(reachSeconds / stepSeconds));
  const count = Math.min(judged, bands.length);
  const leanings = steps.map((_, i) => leaningOf(around(steps, i, reach, count)));
  const sounding = leanings.filter((leaning) => leaning !== null).length;
  const inverted = leanings.map((leaning) => (leaning ?? 0) < invertedBelow);
  // Judged over 2 s a stretch loses its ends: they are given back as far as each step by itself leans over.
  const ownLeaning = (i: number) => leaningOf(around(steps, i, 0, count)) ?? 0;
  const grown = [...inverted];
  for (const [from, to, by] of [
    [0, steps.length, 1],
    [steps.length - 1, -1, -1],
  ])
    for (let i = from, given = 0; i !== to; i += by) {
      if (inverted[i]) given = 0;
      else if (grown[i - by] && given < reach && ownLeaning(i) < 0) {
        grown[i] = true;
        given++;
      }
    }
  return {
    invertedSpans: spansOf(grown, stepSeconds, firstSeconds, seconds),
    invertedShare: sounding > 0 ? grown.filter(Boolean).length / sounding : null,
  };
}

/** Powers summed over the steps around one. */
function around(
  steps: StereoBandReading['steps'],
  middle: number,
  reach: number,
  bands: number,
): PairPower[] {
  const from = Math.max(0, middle - reach);
  const to = Math.min(steps.length, middle + reach + 1);
  return Array.from({ length: bands }, (_, b) => {
    const total = { left: 0, right: 0, sum: 0, difference: 0 };
    for (let i = from; i < to; i++) {
      const power = steps[i][b];
      total.left += power.left;
      total.right += power.right;
      total.sum += power.sum;
      total.difference += power.difference;
    }
    const share = 1 / (to - from);
    return {
      left: total.left * share,
      right: total.right * share,
      sum: total.sum * share,
      difference: total.difference * share,
    };
  });
}

/** Mean correlation of the bands that hold enough; null in silence. */
function leaningOf(bands: readonly PairPower[]): number | null {
  const strongest = bands.reduce((most, { left, right }) => Math.max(most, left + right), 0);
  if (strongest <= silence) return null;
  let sum = 0;
  let count = 0;
  for (const band of bands) {
    if (band.left + band.right < faint * strongest) continue;
    const { correlation, balanceDb } = pairFigures(band, silence / 1000);
    if (correlation === null || Math.abs(balanceDb ?? 0) > mostBalanceDb) continue;
    sum += correlation;
    count++;
  }
  return count > 0 ? sum / count : 0;
}

function spansOf(
  inverted: readonly boolean[],
  stepSeconds: number,
  firstSeconds: number,
  seconds: number,
): Span[] {
  const spans: Span[] = [];
  for (let i = 0; i < inverted.length; i++) {
    if (!inverted[i]) continue;
    const start = i;
    while (i + 1 < inverted.length && inverted[i + 1]) i++;
    // The first and the last step look up to the ends of the sound.
    const startSeconds = start === 0 ? 0 : firstSeconds + (start - 0.5) * stepSeconds;
    const endSeconds = i === inverted.length - 1 ? seconds : firstSeconds + (i + 0.5) * stepSeconds;
    const span = { startSeconds: Math.max(0, startSeconds), endSeconds: Math.min(seconds, endSeconds) };
    if (span.endSeconds - span.startSeconds >= Math.min(shortestSeconds, 0.9 * seconds)) spans.push(span);
  }
  return spans.slice(0, 200);
}
