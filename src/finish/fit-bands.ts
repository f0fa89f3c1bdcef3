import { leastSquares } from '../signal/least-squares.ts';
import { analogueGainDb } from './analogue.ts';
import { type Band, bandSections } from './equaliser.ts';

/** A curve to be approached: gain at frequencies, with how much each matters (1 when left out). */
export interface TargetPoint {
  readonly hertz: number;
  readonly gainDb: number;
  readonly weight?: number;
}

export interface FittedBands {
  readonly bands: readonly Band[];
  /** Weighted RMS of what is left, dB. */
  readonly errorDb: number;
}

export interface FitLimits {
  /** At most this many bands. */
  readonly most: number;
  /** No band beyond this, either way, dB. */
  readonly highestGainDb: number;
  /** No more bands once the rest is this small (weighted RMS), dB. */
  readonly closeDb: number;
}

const narrowestQ = 4;
const widestQ = 0.3;
const rounds = 12;

/**
 * A curve by few bands: shelves at the ends and bells, one after the other where most is left, all adjusted together after
 * each by least squares (Gauss and Newton's method with Levenberg and Marquardt's damping, textbook; frequency and Q in
 * octaves). Limited in gain and width, so that no band is narrower than a curve of averages can ask for.
 */
export function fitBands(target: readonly TargetPoint[], limits: FitLimits): FittedBands {
  let best: FittedBands = { bands: [], errorDb: rms(target, []) };
  let bands: Band[] = [];
  while (bands.length < limits.most && best.errorDb > limits.closeDb) {
    const tried = candidates(target, bands).map((band) => adjust(target, [...bands, band], limits));
    const next = tried.reduce((a, b) => (b.errorDb < a.errorDb ? b : a));
    // A band that helps by less than a hundredth is not worth its place.
    if (next.errorDb > 0.99 * best.errorDb) break;
    best = next;
    bands = [...next.bands];
  }
  return best;
}

const plain = { slope: '12', on: 'both', phase: 'minimum' } as const;

/** Where the next band might stand: the widest and highest of what is left, and a shelf at either end. */
function candidates(target: readonly TargetPoint[], bands: readonly Band[]): Band[] {
  const left = target.map((point) => ({ ...point, gainDb: point.gainDb - bandsGainDb(bands, point.hertz) }));
  // The mean over an octave finds wide deviations; the point itself narrow ones.
  const around = (hertz: number, octaves: number) => {
    const near = left.filter((point) => Math.abs(Math.log2(point.hertz / hertz)) <= octaves / 2);
    return near.reduce((sum, { gainDb, weight = 1 }) => sum + weight * gainDb, 0) / near.length;
  };
  const peak = (octaves: number) =>
    left.reduce(
      (top, { hertz, weight = 1 }) => {
        const gainDb = around(hertz, octaves);
        return Math.abs(gainDb) * weight > Math.abs(top.gainDb) ? { hertz, gainDb } : top;
      },
      { hertz: 1000, gainDb: 0 },
    );
  const bells = [0.3, 1, 2].map(
    (octaves): Band => ({ ...plain, shape: 'bell', ...peak(octaves), q: 1 / octaves }),
  );
  const [first, last] = [target[0].hertz, target[target.length - 1].hertz];
  const shelves: Band[] = [
    { ...plain, shape: 'low-shelf', hertz: first * 4, gainDb: around(first, 2), q: Math.SQRT1_2 },
    { ...plain, shape: 'high-shelf', hertz: last / 4, gainDb: around(last, 2), q: Math.SQRT1_2 },
  ];
  const taken = new Set(bands.map(({ shape }) => shape));
  return [...bells, ...shelves.filter(({ shape }) => !taken.has(shape))];
}

/** All bands adjusted together. */
function adjust(target: readonly TargetPoint[], start: readonly Band[], limits: FitLimits): FittedBands {
  let bands = start.map((band) => within(band, limits));
  let error = rms(target, bands);
  let damping = 0.01;
  for (let round = 0; round < rounds; round++) {
    const steps = stepsToward(target, bands, damping);
    const moved = bands.map((band, b) =>
      within(moveBand(band, [steps[3 * b], steps[3 * b + 1], steps[3 * b + 2]]), limits),
    );
    const movedError = rms(target, moved);
    if (movedError < error) {
      const gained = error - movedError;
      bands = moved;
      error = movedError;
      damping /= 4;
      if (gained < 1e-4) break;
    } else damping *= 8;
  }
  return { bands, errorDb: error };
}

/** Least-squares step of every band's (octaves, dB, octaves of Q). */
function stepsToward(target: readonly TargetPoint[], bands: readonly Band[], damping: number): number[] {
  const small = [0.01, 0.05, 0.02] as const;
  const rows = target.map(({ hertz, weight = 1 }) =>
    bands.flatMap((band) => {
      const now = bandsGainDb([band], hertz);
      return small.map((by, k) => {
        const step: [number, number, number] = [0, 0, 0];
        step[k] = by;
        return (weight * (bandsGainDb([moveBand(band, step)], hertz) - now)) / by;
      });
    }),
  );
  const wanted = target.map(({ hertz, gainDb, weight = 1 }) => weight * (gainDb - bandsGainDb(bands, hertz)));
  // Damping as rows of its own: steps that matter little stay small.
  const damped = rows[0].map((_, c) =>
    rows[0].map((_v, k) =>
      k === c ? Math.sqrt(damping) * (Math.hypot(...rows.map((row) => row[c])) + 0.1) : 0,
    ),
  );
  return leastSquares([...rows, ...damped], [...wanted, ...damped.map(() => 0)]);
}

function moveBand(band: Band, [octaves, gainDb, qOctaves]: readonly [number, number, number]): Band {
  return {
    ...band,
    hertz: band.hertz * 2 ** octaves,
    gainDb: band.gainDb + gainDb,
    q: band.q * 2 ** qOctaves,
  };
}

function within(band: Band, { highestGainDb }: FitLimits): Band {
  const held = (value: number, low: number, high: number) => Math.min(high, Math.max(low, value));
  const shelf = band.shape !== 'bell';
  return {
    ...band,
    hertz: held(band.hertz, 20, 18000),
    gainDb: held(band.gainDb, -highestGainDb, highestGainDb),
    q: held(band.q, shelf ? 0.4 : widestQ, shelf ? 1 : narrowestQ),
  };
}

/** Gain of bands in a row at a frequency, dB. */
export function bandsGainDb(bands: readonly Band[], hertz: number): number {
  return bands.reduce((sum, band) => sum + analogueGainDb(bandSections(band), hertz), 0);
}

function rms(target: readonly TargetPoint[], bands: readonly Band[]): number {
  let sum = 0;
  let weights = 0;
  for (const { hertz, gainDb, weight = 1 } of target) {
    sum += (weight * (gainDb - bandsGainDb(bands, hertz))) ** 2;
    weights += weight * weight;
  }
  return Math.sqrt(sum / weights);
}
