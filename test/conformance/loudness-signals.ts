import type { Pcm } from '../../src/audio/pcm.ts';
import { measureSound } from '../../src/measure/measure-sound.ts';
import type { Measurement } from '../../src/measure/measurement.ts';
import { seeded } from '../seeded-sound.ts';

/** Signals for the checks of measuring; everything is deterministic. */

export function measure(pcm: Pcm): Promise<Measurement> {
  return measureSound([pcm], {
    sampleRate: pcm.sampleRate,
    channels: pcm.channels.length,
    frames: pcm.channels[0].length,
  });
}

/** Uniform numbers in [-1, 1) from a seed. */
export function seededNoise(seed: number): () => number {
  const next = seeded(seed);
  return () => 2 * next() - 1;
}

/** A 1 kHz sine (or another) whose peak level steps through [dBFS, seconds] pairs; -Infinity is silence. Phase runs on. */
export function toneSteps(
  steps: readonly (readonly [number, number])[],
  sampleRate = 48000,
  hertz = 1000,
): Float32Array {
  const lengths = steps.map(([, seconds]) => Math.round(seconds * sampleRate));
  const out = new Float32Array(lengths.reduce((sum, length) => sum + length, 0));
  let n = 0;
  steps.forEach(([dbfs], i) => {
    const amplitude = 10 ** (dbfs / 20);
    for (let k = 0; k < lengths[i]; k++, n++)
      out[n] = amplitude * Math.sin((2 * Math.PI * hertz * n) / sampleRate);
  });
  return out;
}

/** The same samples in `channels` channels. */
export function inAll(samples: Float32Array, channels: number, sampleRate = 48000): Pcm {
  return { sampleRate, channels: new Array<Float32Array>(channels).fill(samples) };
}

export function whiteNoise(seed: number, frames: number, amplitude: number): Float32Array {
  const next = seededNoise(seed);
  return Float32Array.from({ length: frames }, () => amplitude * next());
}

/** Logarithmic sine sweep from `fromHz` to `toHz`. */
export function sweep(frames: number, sampleRate: number, fromHz: number, toHz: number, amplitude: number) {
  const rate = Math.log(toHz / fromHz);
  return Float32Array.from({ length: frames }, (_, n) => {
    const share = n / frames;
    const phase = ((2 * Math.PI * fromHz * (frames / sampleRate)) / rate) * (Math.exp(rate * share) - 1);
    return amplitude * Math.sin(phase);
  });
}

/**
 * Something with the statistics of a loud song: a beat, a bass note, pinkish noise and a few partials, quieter
 * in its first third, driven into a soft limiter. Stereo with differing sides.
 */
export function musicLike(seed: number, seconds: number, sampleRate: number): Pcm {
  const frames = Math.round(seconds * sampleRate);
  const sides = [0, 1].map((side) => {
    const next = seededNoise(seed + side);
    // Poles at fixed times, not fixed numbers of samples, so that the colour does not depend on the rate.
    const poles = [0.0071, 0.00042, 0.00003].map((seconds) => Math.exp(-1 / (seconds * sampleRate)));
    const state = [0, 0, 0];
    return Float32Array.from({ length: frames }, (_, n) => {
      const t = n / sampleRate;
      const w = next();
      let noise = 0;
      poles.forEach((pole, i) => {
        state[i] = pole * state[i] + (1 - pole) ** 0.5 * w;
        noise += state[i];
      });
      const beat = Math.exp(-6 * (t % 0.5));
      const partials =
        Math.sin(2 * Math.PI * 55 * t) +
        0.5 * Math.sin(2 * Math.PI * 220.3 * t + side) +
        0.3 * Math.sin(2 * Math.PI * 1661.2 * t) * beat;
      const level = t < seconds / 3 ? 0.25 : 1;
      return 0.95 * Math.tanh(level * (0.5 * noise * (0.2 + beat) + 0.4 * partials));
    });
  });
  return { sampleRate, channels: sides };
}
