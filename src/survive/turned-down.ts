import type { Pcm } from '../audio/pcm.ts';

/** The sound at a lower level; itself when the trim is 0. */
export function turnedDown(pcm: Pcm, trimDb: number): Pcm {
  if (trimDb === 0) return pcm;
  const gain = 10 ** (-trimDb / 20);
  return {
    sampleRate: pcm.sampleRate,
    channels: pcm.channels.map((samples) => samples.map((x) => x * gain)),
  };
}
