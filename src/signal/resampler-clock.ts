import { type ConversionFilter, filterAt, filterTable, joinRows, weightsAt } from './resampler-filters.ts';

/** Where in the input each output frame lies. */
export interface Clock {
  /** Filters that `locate` names, `taps` f64 each. */
  readonly rows: Float64Array;
  /** Whether the filter of a frame is to be made of four rows. */
  readonly between: boolean;
  /** Index of the input sample at or before output frame `n`. */
  sampleBefore(n: number): number;
  /** Writes the row of frame `n` to places[2 i + 1], and weights where rows are interpolated. */
  locate(n: number, i: number, places: Int32Array, weights: Float64Array): void;
}

/** Most filters laid out one by one; rates with more (44099 to 48000 Hz) and drifting clocks go between rows. */
const mostRows = 4096;

/**
 * The clock of a conversion: output frame n lies at start + n * step in the input's frames, step = from / to * (1 + drift).
 * Without drift its moments between samples repeat, and each has its own exact filter.
 */
export function conversionClock(
  from: number,
  to: number,
  start: number,
  drift: number,
  filter: ConversionFilter,
): Clock {
  const common = divisor(from, to);
  const [down, up] = [from / common, to / common];
  return drift === 0 && up <= mostRows
    ? repeatingClock(down, up, start, filter)
    : freeClock((from / to) * (1 + drift), start, filter);
}

function repeatingClock(down: number, up: number, start: number, filter: ConversionFilter): Clock {
  const whole = Math.floor(start);
  const fraction = start - whole;
  // A moment that the fraction carries over the next sample belongs to that sample.
  const moments = Array.from({ length: up }, (_, k) => fraction + k / up);
  const carries = Int32Array.from(moments, (moment) => (moment >= 1 ? 1 : 0));
  return {
    rows: joinRows(
      moments.map((moment, k) => filterAt(filter, moment - carries[k])),
      filter.taps,
    ),
    between: false,
    sampleBefore: (n) => whole + Math.floor((n * down) / up) + carries[(n * down) % up],
    locate: (n, i, places) => {
      places[2 * i + 1] = (n * down) % up;
    },
  };
}

function freeClock(step: number, start: number, filter: ConversionFilter): Clock {
  return {
    rows: filterTable(filter),
    between: true,
    sampleBefore: (n) => Math.floor(start + n * step),
    locate: (n, i, places, weights) => {
      const place = start + n * step;
      places[2 * i + 1] = weightsAt(place - Math.floor(place), weights, 4 * i);
    },
  };
}

export function divisor(a: number, b: number): number {
  return b === 0 ? a : divisor(b, a % b);
}
