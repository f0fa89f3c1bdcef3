import { frameCount, type Pcm } from '../audio/pcm.ts';
import { kaiser, sinc } from '../signal/interpolation.ts';

/** Samples that each value is made from, at a step of 1. */
const halfTaps = 32;
/** Kaiser's beta: about 90 dB of rejection (Kaiser 1974, from memory). */
const beta = 9;
/** Filters in the table; between two of them coefficients are interpolated, which leaves an error below -100 dB. */
const phases = 1024;

/**
 * The sound read at `from`, `from + step`, `from + 2 step`, ... (in its own samples): its clock turned into another's.
 * Band-limited interpolation by a windowed sinc, flat within 0.02 dB up to 0.9 of the lower of the two rates' halves;
 * silence where it has no samples.
 *
 * @param sampleRate of the result
 */
export function readAlong(pcm: Pcm, from: number, step: number, frames: number, sampleRate: number): Pcm {
  const cutoff = Math.min(1, 1 / step);
  const half = Math.ceil(halfTaps / cutoff);
  const width = 2 * half;
  const table = Array.from({ length: phases + 1 }, (_, p) => tapsAt(p / phases, half, cutoff));
  const channels = pcm.channels.map((samples) => {
    const output = new Float32Array(frames);
    for (let n = 0; n < frames; n++) {
      const position = from + n * step;
      const whole = Math.floor(position);
      const phase = (position - whole) * phases;
      const lower = Math.min(phases - 1, Math.floor(phase));
      const blend = phase - lower;
      const [low, high] = [table[lower], table[lower + 1]];
      const start = whole - half + 1;
      const [first, last] = [Math.max(0, -start), Math.min(width, samples.length - start)];
      let [sumLow, sumHigh] = [0, 0];
      for (let k = first; k < last; k++) {
        const x = samples[start + k];
        sumLow += low[k] * x;
        sumHigh += high[k] * x;
      }
      output[n] = sumLow + blend * (sumHigh - sumLow);
    }
    return output;
  });
  return { sampleRate, channels };
}

/** Weights of samples -half + 1 .. half around a moment `fraction` after sample 0; they add to 1. */
function tapsAt(fraction: number, half: number, cutoff: number): Float64Array {
  const taps = Float64Array.from({ length: 2 * half }, (_, k) => {
    const distance = k - half + 1 - fraction;
    return sinc(distance * cutoff) * kaiser(distance / half, beta);
  });
  const sum = taps.reduce((total, tap) => total + tap, 0);
  return taps.map((tap) => tap / sum);
}

/** All channels folded to one by their mean, for versions of different channel counts. */
export function folded(pcm: Pcm): Pcm {
  const mean = new Float32Array(frameCount(pcm));
  for (const samples of pcm.channels)
    for (let i = 0; i < mean.length; i++) mean[i] += samples[i] / pcm.channels.length;
  return { sampleRate: pcm.sampleRate, channels: [mean] };
}
