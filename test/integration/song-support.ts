import type { Pcm } from '../../src/audio/pcm.ts';

/**
 * A song that can be told from any other: hits at uneven moments, each of them bass, a tone and noise. Two channels.
 * Deterministic: the seed is the song.
 */
export function hits(
  seconds: number,
  {
    seed = 1,
    bassGain = 1,
    sampleRate = 44_100,
  }: { seed?: number; bassGain?: number; sampleRate?: number } = {},
): Pcm {
  let state = (seed * 2_654_435_761) >>> 0;
  const next = () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
  const frames = Math.round(seconds * sampleRate);
  const [left, right] = [new Float32Array(frames), new Float32Array(frames)];
  for (let start = 0; start < frames; start += Math.round(sampleRate * (0.12 + 0.4 * next()))) {
    const [hz, pan] = [200 + 1500 * next(), 0.3 + 0.4 * next()];
    for (let i = start; i < Math.min(frames, start + sampleRate / 2); i++) {
      const t = (i - start) / sampleRate;
      const bass = bassGain * 0.06 * Math.exp(-6 * t) * Math.sin(2 * Math.PI * 65 * t);
      const rest = Math.exp(-9 * t) * (0.08 * Math.sin(2 * Math.PI * hz * t) + 0.05 * (next() - 0.5));
      left[i] += bass + rest * pan;
      right[i] += bass + rest * (1 - pan);
    }
  }
  return { sampleRate, channels: [left, right] };
}
