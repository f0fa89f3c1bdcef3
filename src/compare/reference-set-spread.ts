import { quantile } from '../measure/quantile.ts';

/** One figure over the references of a set: its least and its most, and the middle half. All null when none has it. */
export interface Spread {
  readonly lowest: number | null;
  readonly lowerQuarter: number | null;
  readonly median: number | null;
  readonly upperQuarter: number | null;
  readonly highest: number | null;
  /** How many references have the figure. */
  readonly count: number;
}

export function spreadOf(values: readonly (number | null)[]): Spread {
  const sorted = values.filter((value) => value !== null).sort((a, b) => a - b);
  if (sorted.length === 0)
    return { lowest: null, lowerQuarter: null, median: null, upperQuarter: null, highest: null, count: 0 };
  return {
    lowest: sorted[0],
    lowerQuarter: quantile(sorted, 0.25),
    median: quantile(sorted, 0.5),
    upperQuarter: quantile(sorted, 0.75),
    highest: sorted[sorted.length - 1],
    count: sorted.length,
  };
}

/** Where a value lies in a spread. 'most': beyond the middle half; 'any': beyond every one. */
export interface Place {
  readonly side: 'above' | 'below' | 'within';
  readonly than: 'any' | 'most' | null;
  /** How far beyond the highest or lowest ('any'), or beyond the quarter ('most'); 0 within the middle half. */
  readonly beyond: number;
}

/** null when there is no value or nothing to hold it against. */
export function placeIn(value: number | null, spread: Spread): Place | null {
  const { lowest, lowerQuarter, upperQuarter, highest } = spread;
  if (value === null || lowest === null || lowerQuarter === null || upperQuarter === null || highest === null)
    return null;
  if (value > highest) return { side: 'above', than: 'any', beyond: value - highest };
  if (value < lowest) return { side: 'below', than: 'any', beyond: lowest - value };
  if (value > upperQuarter) return { side: 'above', than: 'most', beyond: value - upperQuarter };
  if (value < lowerQuarter) return { side: 'below', than: 'most', beyond: lowerQuarter - value };
  return { side: 'within', than: null, beyond: 0 };
}
