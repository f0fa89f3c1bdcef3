import { pcmAtRate } from '../../audio/at-rate.ts';
import { CodedError } from '../../audio/coded-error.ts';
import { readSound } from '../../audio/files/read-sound.ts';
import { partOfRun } from '../../audio/run.ts';
import { leadAndOthers } from '../../places/lead-sound.ts';
import { instantiateKernels } from '../../signal/kernels.ts';
import { type KeptBands, packBands } from '../places/kept-bands.ts';
import type { Task } from './task.ts';

export interface LeadChoice {
  /** What the second file is: the lead alone, or all but the lead. */
  readonly how: 'stem' | 'instrumental';
}

export interface KeptLead {
  readonly lead: KeptBands;
  readonly others: KeptBands;
}

/** The lead of the first file apart from the rest, told by the second. */
export const leadBandsTask: Task<LeadChoice, KeptLead> = {
  name: 'lead-bands',
  version: 1,
  timeLimitSeconds: 10 * 60,
  async run({ files: [song, part], options: { how } }, run) {
    const whole = (await readSound(song.path, partOfRun(run, 0, 0.3))).pcm;
    const alone = (await readSound(part.path, partOfRun(run, 0.3, 0.6))).pcm;
    const apart = leadAndOthers(instantiateKernels(), whole, pcmAtRate(alone, whole.sampleRate), how);
    if (!apart)
      throw new CodedError(
        'PART_NOT_IN_SONG',
        how === 'stem'
          ? 'The lead that was named is not heard in the song. Name a file of the same take, or leave it out.'
          : 'The instrumental that was named is not heard in the song. Name one of the same take, or leave it out.',
      );
    return { lead: packBands(apart.lead), others: packBands(apart.others) };
  },
};
