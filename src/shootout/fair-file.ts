import { wavHeader } from '../audio/encode-wav.ts';
import { frameCount, type Pcm } from '../audio/pcm.ts';
import { encodeSamples } from '../audio/sample-coding.ts';
import type { SeededRandom } from '../signal/seeded-random.ts';

const steps = 2 ** 23;

/**
 * Turned by a gain and brought to 24 bits with triangular dither of two steps (Lipshitz, Wannamaker and Vanderkooy 1992):
 * every master gets the same floor, those that were not turned too. Beyond full scale it saturates.
 */
export function ditheredTo24(pcm: Pcm, gainDb: number, random: SeededRandom): Pcm {
  const gain = 10 ** (gainDb / 20);
  return {
    ...pcm,
    channels: pcm.channels.map((samples) =>
      samples.map((x) => {
        const level = Math.round(x * gain * steps + random.unit() - random.unit());
        return Math.max(-steps, Math.min(steps - 1, level)) / steps;
      }),
    ),
  };
}

/**
 * A WAV file of 24 bits with nothing in it but format and samples, so that files of one section are equal in size and
 * header.
 */
export function plainWav(pcm: Pcm): Uint8Array<ArrayBuffer> {
  const frames = frameCount(pcm);
  const header = wavHeader(pcm.sampleRate, pcm.channels.length, frames, 's24');
  const samples = encodeSamples(pcm.channels, 's24', 0, frames);
  const file = new Uint8Array(header.length + samples.length + (samples.length % 2));
  file.set(header);
  file.set(samples, header.length);
  return file;
}
