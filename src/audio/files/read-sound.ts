import { basename } from 'node:path';
import { CodedError } from '../coded-error.ts';
import { frameCount, joinPcm, type Pcm } from '../pcm.ts';
import type { Run } from '../run.ts';
import type { SoundInfo } from '../sound-info.ts';
import { openSound } from './open-sound.ts';

/**
 * Most samples (frames times channels) that readSound holds: 2^29, which is 2 GiB and, in stereo, 101 minutes at
 * 44.1 kHz or 46 minutes at 96 kHz (a limit of ours). Longer sound is read in blocks with openSound.
 */
const maxHeldSamples = 2 ** 29;

/**
 * Reads a whole sound file into memory. `info.frames` is the true count. Throws CodedError as openSound and its
 * blocks do, and SOUND_TOO_LONG above maxHeldSamples.
 */
export async function readSound(path: string, run?: Run): Promise<{ info: SoundInfo; pcm: Pcm }> {
  const sound = await openSound(path);
  try {
    const { channels, sampleRate } = sound.info;
    const tooLong = () =>
      new CodedError(
        'SOUND_TOO_LONG',
        `“${basename(path)}” is longer than ${Math.floor(maxHeldSamples / channels / sampleRate / 60)} minutes, the most that can be held in memory at ${channels} channels and ${sampleRate} Hz. Cut it into parts.`,
      );
    if ((sound.info.frames ?? 0) * channels > maxHeldSamples) throw tooLong();
    const blocks: Pcm[] = [];
    let frames = 0;
    for await (const block of sound.blocks(run)) {
      blocks.push(block);
      frames += frameCount(block);
      if (frames * channels > maxHeldSamples) throw tooLong();
    }
    return { info: { ...sound.info, frames }, pcm: blocks.length === 1 ? blocks[0] : joinPcm(blocks) };
  } finally {
    await sound.close();
  }
}
