import { openSound } from '../../audio/files/open-sound.ts';
import { frameCount } from '../../audio/pcm.ts';
import { SongBandMeter } from '../../places/song-bands.ts';
import { instantiateKernels } from '../../signal/kernels.ts';
import { type KeptBands, packBands } from '../places/kept-bands.ts';
import type { Task } from './task.ts';

export interface BandsOfSong extends KeptBands {
  readonly seconds: number;
}

/** A song as its third octaves sound in time: what every place is worked out from, so that a song is read once. */
export const songBandsTask: Task<Record<string, never>, BandsOfSong> = {
  name: 'song-bands',
  version: 1,
  timeLimitSeconds: 10 * 60,
  async run({ files: [file] }, run) {
    const sound = await openSound(file.path, run);
    try {
      const { sampleRate, frames } = sound.info;
      const meter = new SongBandMeter(instantiateKernels(), sampleRate);
      let done = 0;
      for await (const block of sound.lentBlocks({ signal: run.signal })) {
        meter.take(block);
        done += frameCount(block);
        if (frames) run.progress?.(Math.min(1, done / frames));
      }
      return { ...packBands(meter.finish()), seconds: done / sampleRate };
    } finally {
      await sound.close();
    }
  },
};
