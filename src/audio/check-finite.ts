import { CodedError } from './coded-error.ts';
import { frameCount, type Pcm } from './pcm.ts';

/**
 * Throws SOUND_NOT_NUMBERS when a block holds NaN or infinity, naming the first place.
 * `startFrame` is the block's place in the song, sample frames.
 */
export function checkFinite(name: string, block: Pcm, startFrame: number): void {
  // x - x is 0 for every finite x and NaN otherwise, so one sum answers for a channel without a branch a sample.
  const finite = block.channels.every((samples) => {
    let sum = 0;
    for (let i = 0; i < samples.length; i++) sum += samples[i] - samples[i];
    return sum === 0;
  });
  if (finite) return;
  for (let i = 0; i < frameCount(block); i++) {
    const channel = block.channels.findIndex((samples) => !Number.isFinite(samples[i]));
    if (channel < 0) continue;
    const what = Number.isNaN(block.channels[channel][i]) ? 'not a number' : 'infinite';
    throw new CodedError(
      'SOUND_NOT_NUMBERS',
      `“${name}” has a sample that is ${what}, first at ${((startFrame + i) / block.sampleRate).toFixed(6)} s in channel ${channel + 1}. Export it again, without the plug-in or step that made it.`,
    );
  }
}
