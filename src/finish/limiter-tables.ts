import { interpolationPhases } from '../signal/interpolation.ts';
import { betweenQuarters, boundFromGrid, boundFromSamples } from '../signal/true-peak-tables.ts';

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
 * How high the waveform may stand between samples, given the highest sample within reach and the highest value on the 4x
 * grid of the interval: at most sampleGain * samples, and at most gridGain * grid + gridRest * samples.
 */
export interface HeightBounds {
  readonly sampleGain: number;
  readonly gridGain: number;
  readonly gridRest: number;
}

/** Rounding of the kernel's single precision. */
const rounding = 2e-5;

/** By the bound that is proved in src/signal/true-peak-tables.ts. */
export function heightBounds(taps: number = heightTaps): HeightBounds {
  const phases = heightPhases(taps);
  const { gain, rest } = boundFromGrid(phases, heightFactor / 4, betweenQuarters);
  return {
    sampleGain: boundFromSamples(phases) + rounding,
    gridGain: gain,
    gridRest: rest + rounding,
  };
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
