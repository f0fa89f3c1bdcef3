import type { Pcm } from '../audio/pcm.ts';

const steps24Bit = 2 ** 23;

/**
 * The sound at a lower level, each sample rounded to 24 bits, as the file will be that is delivered: encoders are so
 * touchy that even this rounding can move a decoded peak by tenths of a dB. Itself when the trim is 0.
 */
export function turnedDown(pcm: Pcm, trimDb: number): Pcm {
  if (trimDb === 0) return pcm;
  const gain = 10 ** (-trimDb / 20);
  const round = (x: number) => Math.round(x * gain * steps24Bit) / steps24Bit;
  return { sampleRate: pcm.sampleRate, channels: pcm.channels.map((samples) => samples.map(round)) };
}
