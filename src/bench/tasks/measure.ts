import { openSound } from '../../audio/files/open-sound.ts';
import type { SoundInfo, SoundTags } from '../../audio/sound-info.ts';
import { measureSound } from '../../measure/measure-sound.ts';
import type { Measurement } from '../../measure/measurement.ts';
import type { Task } from './task.ts';

export interface Measured {
  readonly info: SoundInfo;
  readonly tags: SoundTags;
  readonly measurement: Measurement;
}

/** Opens one file and measures it block by block. */
export const measureTask: Task<Record<string, never>, Measured> = {
  name: 'measure',
  version: 2,
  timeLimitSeconds: 30 * 60,
  async run({ files: [file] }, run) {
    const sound = await openSound(file.path, run);
    try {
      const { sampleRate, channels, frames } = sound.info;
      const measurement = await measureSound(
        sound.blocks({ signal: run.signal }),
        { sampleRate, channels, frames },
        run,
      );
      return { info: sound.info, tags: sound.tags, measurement };
    } finally {
      await sound.close();
    }
  },
};
