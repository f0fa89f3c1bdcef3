import { interpolationPhases } from '../signal/interpolation.ts';

/** Samples that each interpolated value is made from. The same in kernels/limit.ts. */
export const heightTaps = 96;
/** Points of the grid in one sample interval. */
export const heightFactor = 16;
/** The same as that of the house's own true-peak meter. */
const kaiserBeta = 6;

/**
 * The sixteen filters; phase p gives the waveform at n + p/16 from x[n-47] .. x[n+48].
 *
 * @param taps of the filters that are not 0: 96, or fewer
 */
export function heightPhases(taps: number = heightTaps): Float64Array[] {
  return interpolationPhases(heightFactor, taps, kaiserBeta).map((phase) => {
    const padded = new Float64Array(heightTaps);
    padded.set(phase, (heightTaps - taps) / 2);
    return padded;
  });
}

/**
 * Weights of the two neighbours on the 4x grid for the first half of an interval, for the bound that is proved in
 * src/signal/true-peak-tables.ts.
 */
const weights: Readonly<Record<number, readonly [number, number]>> = {
  1: [0.756, 0.264],
  2: [0.501, 0.526],
  3: [0.246, 0.774],
  5: [0.732, 0.295],
  6: [0.47, 0.568],
  7: [0.222, 0.806],
};

/**
 * How high the waveform may stand between samples, given the highest sample within reach and the highest value on the 4x
 * grid of the interval: at most sampleGain * samples, and at most gridGain * grid + gridRest * samples.
 */
export interface HeightBounds {
  readonly sampleGain: number;
  readonly gridGain: number;
  readonly gridRest: number;
}

export function heightBounds(taps: number = heightTaps): HeightBounds {
  const phases = heightPhases(taps);
  const filterAt = (point: number) => {
    const filter = new Float64Array(heightTaps + 1);
    filter.set(phases[point % heightFactor], point === heightFactor ? 1 : 0);
    return filter;
  };
  // Rounding of the kernel's single precision.
  const rounding = 2e-5;
  let gridGain = 0;
  let gridRest = 0;
  for (let p = 1; p < heightFactor; p++) {
    if (p % 4 === 0) continue;
    const [inner, outer] = weights[Math.min(p, heightFactor - p)];
    const [alpha, beta] = p < heightFactor / 2 ? [inner, outer] : [outer, inner];
    const left = filterAt(p - (p % 4));
    const right = filterAt(p - (p % 4) + 4);
    gridGain = Math.max(gridGain, alpha + beta);
    const rest = filterAt(p).reduce((sum, h, k) => sum + Math.abs(h - alpha * left[k] - beta * right[k]), 0);
    gridRest = Math.max(gridRest, rest);
  }
  const sampleGain = Math.max(...phases.map((phase) => phase.reduce((sum, h) => sum + Math.abs(h), 0)));
  return { sampleGain: sampleGain + rounding, gridGain, gridRest: gridRest + rounding };
}

/** Everything that `raiseHeights` of kernels/limit.ts reads, as it lies in memory. */
export function heightTables(taps: number = heightTaps): Float32Array {
  const phases = heightPhases(taps);
  const { sampleGain, gridGain, gridRest } = heightBounds(taps);
  const half = heightTaps / 2;
  const table: number[] = [sampleGain, gridGain, gridRest, 0];
  // Outwards from the middle: half-way, then even and odd part of the quarter.
  for (let k = 0; k < half; k++) {
    const left = phases[4][half - 1 - k];
    const right = phases[4][half + k];
    table.push(phases[8][half - 1 - k], (left + right) / 2, (left - right) / 2);
  }
  for (let k = 0; k < heightTaps; k++)
    for (let p = 1; p < heightFactor; p++) if (p % 4 !== 0) table.push(phases[p][k]);
  return Float32Array.from(table);
}
