import { openSound } from '../../audio/files/open-sound.ts';
import { partOfRun } from '../../audio/run.ts';
import type { Place } from '../../places/place.ts';
import { type PlaceBalance, placeBalances } from '../../places/place-balance.ts';
import { SongBandMeter } from '../../places/song-bands.ts';
import { instantiateKernels } from '../../signal/kernels.ts';
import type { Task } from './task.ts';

export interface PlaceBalanceOptions {
  readonly places: readonly Place[];
  /** What is done to the third octaves first, dB; null: nothing. */
  readonly curveDb: readonly number[] | null;
}

/** How a song's loudness is shared out among the areas in every place; null for silence. */
export const placeBalanceTask: Task<PlaceBalanceOptions, PlaceBalance[] | null> = {
  name: 'place-balance',
  version: 1,
  timeLimitSeconds: 30 * 60,
  async run({ files: [file], options }, run) {
    const reading = partOfRun(run, 0, 0.5);
    const sound = await openSound(file.path, reading);
    try {
      const meter = new SongBandMeter(instantiateKernels(), sound.info.sampleRate);
      for await (const block of sound.blocks(reading)) meter.take(block);
      return placeBalances(meter.finish(), options.places, options.curveDb, partOfRun(run, 0.5, 1));
    } finally {
      await sound.close();
    }
  },
};
