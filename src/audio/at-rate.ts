import { Resampler } from '../signal/resampler.ts';
import { frameCount, type Pcm } from './pcm.ts';

/** A whole sound at another sample rate; the same one where it has that rate already. */
export function pcmAtRate(pcm: Pcm, sampleRate: number): Pcm {
  if (pcm.sampleRate === sampleRate) return pcm;
  const frames = Math.max(1, Math.floor((frameCount(pcm) * sampleRate) / pcm.sampleRate));
  const { channels } = pcm;
  const resampler = new Resampler({
    from: pcm.sampleRate,
    to: sampleRate,
    channels: channels.length,
    frames,
  });
  const [head, tail] = [resampler.push(channels), resampler.finish()];
  return {
    sampleRate,
    channels: head.map((samples, c) => {
      const whole = new Float32Array(frames);
      whole.set(samples);
      whole.set(tail[c], samples.length);
      return whole;
    }),
  };
}
