import { powerToDb } from '../signal/decibels.ts';
import type { PairFigures } from './stereo-result.ts';

/** Mean power of two channels and of what they have in common; any unit, the same for all four. */
export interface PairPower {
  readonly left: number;
  readonly right: number;
  /** Of left + right, and of left - right. */
  readonly sum: number;
  readonly difference: number;
}

/** Ratios are told up to here, dB: beyond it the figure says 'all' or 'nothing', and rounding begins to show. */
export const mostDb = 60;

const none: PairFigures = { correlation: null, balanceDb: null, sideToMidDb: null, foldLossDb: null };

/** @param silence mean power of a channel at or below which it counts as silent */
export function pairFigures({ left, right, sum, difference }: PairPower, silence: number): PairFigures {
  if (left <= silence && right <= silence) return none;
  const common = (sum - difference) / 4;
  const correlation = left <= silence || right <= silence ? null : clamp(common / Math.sqrt(left * right), 1);
  return {
    correlation,
    balanceDb: ratioDb(right, left),
    sideToMidDb: ratioDb(difference, sum),
    foldLossDb: Math.max(0, ratioDb(2 * (left + right), sum)),
  };
}

function ratioDb(above: number, below: number): number {
  if (above <= 0) return -mostDb;
  return below <= 0 ? mostDb : clamp(powerToDb(above / below), mostDb);
}

function clamp(value: number, limit: number): number {
  return Math.min(limit, Math.max(-limit, value));
}
