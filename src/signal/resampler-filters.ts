import { kaiser, sinc } from './interpolation.ts';

/** What stays as it is, and from where on nothing is left, as shares of half the lower rate. */
const passShare = 0.91;
const stopShare = 1;
/** Rejection that the filter is made for, dB: above what 24 bits of a float can hold. */
const rejectionDb = 155;
/** Kaiser's formulas for the shape of his window and for the length (Kaiser 1974; from memory), for that rejection. */
const beta = 0.1102 * (rejectionDb - 8.7);

/** Rows of a table that is interpolated. Four points of it err below -180 dB (computed from the coefficients in a test). */
const tableRows = 256;

/** The low-pass between two rates, before it is laid out at moments between samples. */
export interface ConversionFilter {
  /** Samples of the input that each output frame is made from; a multiple of 4. */
  readonly taps: number;
  /** Middle of the slope, as a share of half the input's rate. */
  readonly cutoff: number;
}

/**
 * The low-pass for a conversion. Flat to 0.91 of half the lower rate; from half the lower rate on nothing passes, so
 * nothing folds back. At equal rates nothing can: there the slope is centred on half the rate, which keeps all of the sound.
 */
export function conversionFilter(from: number, to: number): ConversionFilter {
  const lower = Math.min(1, to / from);
  const equal = from === to;
  const slope = lower * (equal ? 2 * (1 - passShare) : stopShare - passShare);
  const taps = (rejectionDb - 7.95) / (2.285 * Math.PI * slope);
  return { taps: 4 * Math.ceil(taps / 4), cutoff: equal ? 1 : (lower * (passShare + stopShare)) / 2 };
}

/**
 * The filter laid out for a moment `fraction` samples after the sample at index taps / 2 - 1. Its sum is 1, so that a level
 * that does not move comes through unmoved, whatever the fraction.
 */
export function filterAt({ taps, cutoff }: ConversionFilter, fraction: number): Float64Array {
  const half = taps / 2;
  const row = Float64Array.from({ length: taps }, (_, k) => {
    const distance = fraction + half - 1 - k;
    return sinc(cutoff * distance) * kaiser(distance / half, beta);
  });
  const sum = row.reduce((total, tap) => total + tap, 0);
  return row.map((tap) => tap / sum);
}

/** Rows for any fraction 0..1: `tableRows` steps, with one more before and two after for interpolating through four. */
export function filterTable(filter: ConversionFilter): Float64Array {
  return joinRows(
    Array.from({ length: tableRows + 3 }, (_, p) => filterAt(filter, (p - 1) / tableRows)),
    filter.taps,
  );
}

/** The first of the four rows around a fraction, and the weights of the four (Lagrange's polynomial of third degree). */
export function weightsAt(fraction: number, weights: Float64Array, at: number): number {
  const place = fraction * tableRows;
  const row = Math.min(tableRows - 1, Math.floor(place));
  const x = place - row;
  weights[at] = (-x * (x - 1) * (x - 2)) / 6;
  weights[at + 1] = ((x + 1) * (x - 1) * (x - 2)) / 2;
  weights[at + 2] = (-(x + 1) * x * (x - 2)) / 2;
  weights[at + 3] = ((x + 1) * x * (x - 1)) / 6;
  return row;
}

export function joinRows(rows: readonly Float64Array[], taps: number): Float64Array {
  const table = new Float64Array(rows.length * taps);
  rows.forEach((row, p) => {
    table.set(row, p * taps);
  });
  return table;
}
