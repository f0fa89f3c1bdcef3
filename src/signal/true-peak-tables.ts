/**
 * Tables for the true-peak search (kernels/true-peak.ts), and why the search may skip most of the sound.
 *
 * The figure sought is the highest |y(n + p/16)|, p = 0..15, over the whole sound, where y is the waveform
 * interpolated from 48 samples by a Kaiser-windowed sinc: one long filter h_p a phase, h_0 being the sample itself.
 * Against the ideal waveform that filter errs by less than 0.01 dB up to 0.45 of the sample rate (computed
 * from the coefficients in true-peak-tables.test.ts), and a grid of sixteenths under-reads a sine by at most
 * 20 log10 cos(pi * 0.45 / 16) = 0.034 dB (ITU-R BS.1770-5 Annex 2, formula of its appendix, from memory).
 * BS.1770 itself asks for 4x.
 *
 * Computing sixteen phases everywhere would waste nearly all of the work, so it climbs: samples, halves (2x),
 * quarters (4x), sixteenths, and after each step leaves a stretch alone when nothing in it can matter any more.
 *
 * The bound. Let G be grid points already computed (two neighbours, a and b), and p a phase between them. For any
 * two numbers alpha, beta the filter of p can be written h_p = alpha h_a + beta h_b + r, which defines the rest
 * r. Applied to samples none of which exceeds X within reach of the filters, the triangle inequality gives
 *
 *     |y_p| <= |alpha| |y_a| + |beta| |y_b| + sum|r| * X  <=  gain * max(|y_a|, |y_b|) + rest * X
 *
 * with gain = |alpha| + |beta| and rest = sum|r|. This holds for every signal, band-limited or not, because it
 * speaks of the very filters that are used. `bounds` below is the largest gain and the largest rest over all
 * phases, from the coefficients as they are; the choice of alpha and beta only decides how tight it is (they
 * were found by linear programming to make gain + rest smallest: 1.37 from halves, 1.10 from quarters). From
 * the samples alone: |y_p| <= sum|h_p| * X. The kernel calculates in single precision; its rounding, at most
 * taps * 2^-24 * sum|h| * X < 1e-5 X, is added to the rest.
 *
 * So when the bound of a stretch is not above the highest value found so far, the maximum is not missed by
 * leaving it; and when it is not above the limit either, no over is missed.
 */
import { interpolationPhases } from './interpolation.ts';

/** Samples that each interpolated value is made from. The same in kernels/true-peak.ts. */
export const truePeakTaps = 48;
/** Points of the finest grid in one sample interval. */
export const truePeakFactor = 16;
/** Kaiser's parameter for the filter. */
const kaiserBeta = 6;

/** The sixteen filters; phase p gives the waveform at n + p/16 from x[n-23] .. x[n+24]. */
export function truePeakPhases(): Float64Array[] {
  return interpolationPhases(truePeakFactor, truePeakTaps, kaiserBeta);
}

/** How the waveform in a sample interval is bounded by what is known of it; see the head of this file. */
export interface TruePeakBounds {
  /** Factor on the highest sample around, when only samples are known. */
  readonly sampleGain: number;
  /** Factor on the highest value on the 2x grid, and on the highest sample around. */
  readonly halfGain: number;
  readonly halfRest: number;
  /** The same for the 4x grid. */
  readonly quarterGain: number;
  readonly quarterRest: number;
}

/**
 * alpha and beta for each phase p = 1..7 between grid points p - p % step and that + step; the second half of an
 * interval is the mirror image. (Phases on the 4x grid itself have none there.)
 */
const fromHalves: Readonly<Record<number, readonly [number, number]>> = {
  1: [0.889, 0.164],
  2: [0.765, 0.33],
  3: [0.632, 0.49],
  4: [0.494, 0.639],
  5: [0.357, 0.77],
  6: [0.226, 0.877],
  7: [0.105, 0.955],
};
/** The same between points of the 4x grid. */
export const betweenQuarters: Readonly<Record<number, readonly [number, number]>> = {
  1: [0.756, 0.264],
  2: [0.501, 0.526],
  3: [0.246, 0.774],
  5: [0.732, 0.295],
  6: [0.47, 0.568],
  7: [0.222, 0.806],
};

const rounding = 1e-5;

/**
 * Largest gain on a coarser grid of `step` sixteenths, and largest rest on the samples, over all phases that are not on that
 * grid: what bounds the waveform there.
 *
 * @param phases the sixteen filters of an interval
 * @param weights alpha and beta as above
 */
export function boundFromGrid(
  phases: readonly Float64Array[],
  step: number,
  weights: Readonly<Record<number, readonly [number, number]>>,
): { readonly gain: number; readonly rest: number } {
  const factor = phases.length;
  // Laid out over one sample more, so that the filter of the next sample, point 16, lines up with the others.
  const filterAt = (point: number) => {
    const filter = new Float64Array(phases[0].length + 1);
    filter.set(phases[point % factor], point === factor ? 1 : 0);
    return filter;
  };
  let gain = 0;
  let rest = 0;
  for (let p = 1; p < factor; p++) {
    if (p % step === 0) continue;
    const left = p - (p % step);
    const [inner, outer] = weights[Math.min(p, factor - p)];
    const [alpha, beta] = p < factor / 2 ? [inner, outer] : [outer, inner];
    const [a, b] = [filterAt(left), filterAt(left + step)];
    gain = Math.max(gain, Math.abs(alpha) + Math.abs(beta));
    rest = Math.max(
      rest,
      filterAt(p).reduce((sum, h, k) => sum + Math.abs(h - alpha * a[k] - beta * b[k]), 0),
    );
  }
  return { gain, rest };
}

/** Highest factor by which the waveform may stand above the highest sample within reach: the largest sum of |coefficients|. */
export function boundFromSamples(phases: readonly Float64Array[]): number {
  return Math.max(...phases.map((phase) => phase.reduce((sum, h) => sum + Math.abs(h), 0)));
}

export function truePeakBounds(): TruePeakBounds {
  const phases = truePeakPhases();
  const halves = boundFromGrid(phases, 8, fromHalves);
  const quarters = boundFromGrid(phases, 4, betweenQuarters);
  return {
    sampleGain: boundFromSamples(phases) + rounding,
    halfGain: halves.gain,
    halfRest: halves.rest + rounding,
    quarterGain: quarters.gain,
    quarterRest: quarters.rest + rounding,
  };
}

/** Everything that kernels/true-peak.ts reads, as it lies in memory. */
export function truePeakTables(): Float32Array {
  const phases = truePeakPhases();
  const bounds = truePeakBounds();
  const half = truePeakTaps / 2;
  const table: number[] = [
    bounds.sampleGain,
    bounds.halfGain,
    bounds.halfRest,
    bounds.quarterGain,
    bounds.quarterRest,
    0,
    0,
    0,
  ];
  const splat = (value: number) => table.push(value, value, value, value);
  // Outwards from the middle: k-th pair is x[n-k], x[n+1+k].
  for (let k = 0; k < half; k++) splat(phases[8][half - 1 - k]);
  for (let k = 0; k < half; k++) {
    const left = phases[4][half - 1 - k];
    const right = phases[4][half + k];
    splat((left + right) / 2);
    splat((left - right) / 2);
  }
  for (let k = 0; k < truePeakTaps; k++)
    for (let p = 1; p < truePeakFactor; p++) if (p % 4 !== 0) table.push(phases[p][k]);
  return Float32Array.from(table);
}
