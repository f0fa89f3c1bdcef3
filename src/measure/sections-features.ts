import { powerToDb } from '../signal/decibels.ts';
import type { PitchTrace } from './pitch-over-time.ts';
import type { BandTrace } from './tone-over-time.ts';

// All limits here are heuristics, set on the demo songs and then tried on others.

/** Third octaves that are put together: in octaves a change of chord shows less, a change of arrangement as much. */
const bandsInGroup = 3;
/** The music begins and ends where its level comes within this of its loud parts (the 75th percentile), dB. */
const quietDb = 25;
/** A group this far below its own loud level (the 90th percentile) is as good as silent, dB. */
const groupReachDb = 15;
/** And so is one this far below the loudest group, dB. */
const reachDb = 60;
/** Steps this far apart tell how restless a group is within a section: a beat or two, a bar or two, s. */
const restlessSeconds = [1.5, 3, 5];
/** No group is taken to be steadier than this, dB^2: so small a difference makes no new section. */
const leastVariance = 4;
/** Steps left out where the music begins and where it rings out: they look at half of it and half of what is beside it. */
const edgeSteps = { first: 1, last: 2 };

/** What sections are told apart by: one row a step of the trace, from the first loud step to the last. */
export interface SectionFeatures {
  /** Step of the trace that is row 0. */
  readonly firstStep: number;
  /** Level by octave, in units of its own restlessness, one array a step. */
  readonly tone: readonly Float64Array[];
  /** Pitch classes less their mean over the song, unit length; zeros where there is none. */
  readonly pitch: readonly Float64Array[];
}

export function sectionFeatures(bands: BandTrace, pitch: PitchTrace): SectionFeatures {
  const levels = bands.levelsDb.map(sumDb);
  const loud = percentile(levels, 0.75) - quietDb;
  const first = levels.findIndex((level) => level >= loud);
  const last = levels.findLastIndex((level) => level >= loud);
  const from = Math.max(0, Math.min(first + edgeSteps.first, last));
  const to = Math.max(last + 1 - edgeSteps.last, Math.min(from + 1, levels.length));
  const lags = restlessSeconds.map((seconds) => Math.max(1, Math.round(seconds / bands.stepSeconds)));
  return {
    firstStep: from,
    tone: evened(bands.levelsDb.slice(from, to).map(grouped), lags),
    pitch: centred(pitch.classes.slice(from, to)),
  };
}

function sumDb(levels: Float32Array): number {
  return powerToDb(levels.reduce((sum, level) => sum + 10 ** (level / 10), 0));
}

function grouped(levels: Float32Array): Float64Array {
  return Float64Array.from({ length: Math.ceil(levels.length / bandsInGroup) }, (_, g) =>
    sumDb(levels.subarray(g * bandsInGroup, (g + 1) * bandsInGroup)),
  );
}

/** Floors each group and divides it by its restlessness, so that a group counts by how well it tells sections apart. */
function evened(rows: readonly Float64Array[], lags: readonly number[]): readonly Float64Array[] {
  const loud = Array.from(rows[0] ?? [], (_, g) =>
    percentile(
      rows.map((row) => row[g]),
      0.9,
    ),
  );
  const loudest = Math.max(...loud);
  loud.forEach((level, g) => {
    const floor = Math.max(level - groupReachDb, loudest - reachDb);
    for (const row of rows) row[g] = Math.max(row[g], floor);
    const variance = Math.max(leastVariance, ...lags.map((lag) => restlessness(rows, g, lag)));
    for (const row of rows) row[g] /= Math.sqrt(variance);
  });
  return rows;
}

/** Half the mean squared difference of one group between steps `lag` apart: its variance, if a section lasts longer than that. */
function restlessness(rows: readonly Float64Array[], group: number, lag: number): number {
  let sum = 0;
  for (let i = lag; i < rows.length; i++) sum += (rows[i][group] - rows[i - lag][group]) ** 2 / 2;
  return sum / Math.max(1, rows.length - lag);
}

function centred(rows: readonly Float32Array[]): Float64Array[] {
  const mean = new Float64Array(12);
  for (const row of rows) for (let k = 0; k < 12; k++) mean[k] += row[k] / rows.length;
  return rows.map((row) => {
    const own = Float64Array.from(row, (x, k) => x - mean[k]);
    const length = Math.sqrt(own.reduce((sum, x) => sum + x * x, 0));
    return length > 0 ? own.map((x) => x / length) : own;
  });
}

function percentile(values: readonly number[], share: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))];
}
