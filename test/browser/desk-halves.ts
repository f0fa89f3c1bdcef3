import type { Pcm } from '../../src/audio/pcm.ts';
import { music } from '../integration/server-support.ts';

/** Half a song quietly, half of it loudly, so that there are two sections. */
export function twoHalves(seconds: number, gain: number, lateSeconds = 0): Pcm {
  const { sampleRate, channels } = music(seconds, { gain });
  const late = Math.round(lateSeconds * sampleRate);
  return {
    sampleRate,
    channels: channels.map((samples) => {
      const moved = new Float32Array(samples.length + late);
      samples.forEach((sample, i) => {
        moved[i + late] = sample * (i < samples.length / 2 ? 0.2 : 1);
      });
      return moved;
    }),
  };
}
