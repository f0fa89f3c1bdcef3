import type { Place } from '../../places/place.ts';
import { balancesAfter, type PlaceBalance } from '../../places/place-balance.ts';
import { type KeptBands, unpackBands } from '../places/kept-bands.ts';
import type { Task } from './task.ts';

export interface PlaceBalanceOptions {
  readonly bands: KeptBands;
  readonly places: readonly Place[];
  /** What is done to the third octaves, dB. */
  readonly curveDb: readonly number[];
}

/**
 * How a song's loudness would be shared out among the areas in every place after a curve; null for silence. Not to be kept:
 * every note of a walk makes another curve.
 */
export const placeBalanceTask: Task<PlaceBalanceOptions, PlaceBalance[] | null> = {
  name: 'place-balance',
  version: 1,
  timeLimitSeconds: 10 * 60,
  run: async ({ options: { bands, places, curveDb } }, run) =>
    balancesAfter(unpackBands(bands), places, curveDb, run),
};
