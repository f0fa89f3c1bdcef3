import { amplitudeToDb, powerToDb } from '../signal/decibels.ts';
import type { BandCrest } from './band-levels.ts';
import type { DynamicsResult, DynamicsTrace, FlatTops, Limiting } from './dynamics-result.ts';
import { loudnessHistogram, slidingMeans } from './loudness-detail.ts';
import type { LoudnessResult, LoudnessTrace } from './loudness-result.ts';
import type { PeakShapeReading } from './peak-shape.ts';
import { percentile } from './percentile.ts';

/** 3 s in steps of 100 ms. */
const shortTermSteps = 30;
/** Passages this far under the whole do not count for RMS spread and PSR, dB: the gate of EBU Tech 3342, taken over (heuristic). */
const gateDb = -20;
const absoluteGateDb = -70;
/** Most points of the PSR trace. */
const mostPoints = 4096;
/**
 * Where limiting shows, see `limitingOf` (heuristic: unlimited mixes of the demo record have an edge of -3 dB and less and
 * hardly 1 % of their peaks at the top; masters limited by a few decibels -2 to 0 dB and 1 to 5 %; crushed ones 40 %).
 */
const bounds = { someEdgeDb: -2.5, muchShare: 0.2 };

export interface DynamicsParts {
  readonly crests: readonly BandCrest[];
  readonly onsets: { readonly count: number; readonly seconds: number };
  readonly shape: PeakShapeReading;
  readonly tops: FlatTops;
  /** Mean unweighted power of each 100 ms, all channels added. */
  readonly stepPowers: readonly number[];
  readonly loudness: LoudnessResult;
  readonly trace: LoudnessTrace;
}

export function dynamicsOf(parts: DynamicsParts): {
  readonly result: DynamicsResult;
  readonly trace: DynamicsTrace;
} {
  const { crests, onsets, shape, tops, stepPowers, loudness, trace } = parts;
  const psr = psrOf(shape.stepPeaks, trace.shortTermLufs);
  const gate = Math.max(absoluteGateDb, (loudness.integratedLufs ?? 0) + gateDb);
  const counted = psr.filter(
    (value, i): value is number => value !== null && (trace.shortTermLufs[i] ?? -Infinity) > gate,
  );
  return {
    result: {
      crestBands: crests.map(({ band, crestDb }) => ({ ...band, crestDb })),
      rmsSpreadDb: rmsSpreadDb(stepPowers),
      onsetsPerSecond: onsets.seconds >= 1 ? onsets.count / onsets.seconds : null,
      psrMedianDb: counted.length > 0 ? percentile(counted, 0.5) : null,
      psrMinDb: counted.length > 0 ? percentile(counted, 0) : null,
      loudnessHistogram: loudnessHistogram(trace),
      topShare: shape.topShare,
      edgeDb: shape.edgeDb,
      limiting: limitingOf(shape),
      ...tops,
    },
    trace: thinned(psr, trace.stepSeconds),
  };
}

/** At the end of each 3 s window, as the loudness trace. */
function psrOf(peaks: readonly number[], shortTermLufs: readonly (number | null)[]): (number | null)[] {
  return shortTermLufs.map((lufs, i) => {
    if (lufs === null) return null;
    let peak = 0;
    for (let k = Math.max(0, i - shortTermSteps + 1); k <= i; k++) peak = Math.max(peak, peaks[k] ?? 0);
    return peak > 0 ? amplitudeToDb(peak) - lufs : null;
  });
}

function rmsSpreadDb(stepPowers: readonly number[]): number | null {
  const windows = slidingMeans(stepPowers, shortTermSteps).filter(
    (power) => power > 0 && powerToDb(power) > absoluteGateDb,
  );
  if (windows.length === 0) return null;
  const mean = windows.reduce((sum, power) => sum + power, 0) / windows.length;
  const counted = windows.map(powerToDb).filter((level) => level > powerToDb(mean) + gateDb);
  return percentile(counted, 0.95) - percentile(counted, 0.1);
}

/** Many peaks of one height: a ceiling has been at work. */
function limitingOf({ edgeDb, topShare }: PeakShapeReading): Limiting | null {
  if (topShare === null) return null;
  if (topShare >= bounds.muchShare) return 'much';
  return edgeDb !== null && edgeDb >= bounds.someEdgeDb ? 'some' : 'none';
}

/** Hours are drawn with the lowest value of neighbours: the densest moment is what one looks for. */
function thinned(psr: readonly (number | null)[], stepSeconds: number): DynamicsTrace {
  const joined = Math.max(1, Math.ceil(psr.length / mostPoints));
  const psrDb = Array.from({ length: Math.ceil(psr.length / joined) }, (_, i) => {
    const values = psr.slice(i * joined, (i + 1) * joined).filter((value) => value !== null);
    return values.length > 0 ? Math.round(100 * Math.min(...values)) / 100 : null;
  });
  return { stepSeconds: joined * stepSeconds, psrDb };
}
