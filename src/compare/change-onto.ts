import { frameCount, type Pcm } from '../audio/pcm.ts';
import { kaiser, sinc } from '../signal/interpolation.ts';

/** Samples that each value is made from, at a step of 1. */
const halfTaps = 32;
/** Kaiser's beta: about 90 dB of rejection (Kaiser 1974, from memory). */
const beta = 9;
/** Filters in the table; between two of them coefficients are interpolated, which leaves an error below -90 dB. */
const phases = 256;

/** Steps up to this need no lower cutoff: what folds back is a sliver at the very top. */
const steepestUncut = 1.002;

/**
 * Reads a sound by another clock: at `from`, `from + step`, `from + 2 step`, ... in its own samples. Band-limited
 * interpolation by a windowed sinc, flat within 0.02 dB up to 0.9 of the lower of the two rates' halves; silence
 * where the sound has no samples. Samples at whole places come through unchanged.
 */
export class ClockReader {
  readonly #pcm: Pcm;
  readonly #half: number;
  readonly #table: readonly Float64Array[];

  /** @param steepest largest step that will be read with */
  constructor(pcm: Pcm, steepest: number) {
    this.#pcm = pcm;
    const cutoff = steepest <= steepestUncut ? 1 : 1 / steepest;
    this.#half = Math.ceil(halfTaps / cutoff);
    this.#table = Array.from({ length: phases + 1 }, (_, p) => tapsAt(p / phases, this.#half, cutoff));
  }

  read(from: number, step: number, frames: number): Float32Array[] {
    return this.#pcm.channels.map((samples) => {
      const output = new Float32Array(frames);
      for (let n = 0; n < frames; n++) output[n] = this.#at(samples, from + n * step);
      return output;
    });
  }

  #at(samples: Float32Array, position: number): number {
    const whole = Math.floor(position);
    const phase = (position - whole) * phases;
    const lower = Math.floor(phase);
    const start = whole - this.#half + 1;
    const first = Math.max(0, -start);
    const last = Math.min(2 * this.#half, samples.length - start);
    const [low, high] = [this.#table[lower], this.#table[Math.min(phases, lower + 1)]];
    const blend = phase - lower;
    let sum = 0;
    if (blend === 0) for (let k = first; k < last; k++) sum += low[k] * samples[start + k];
    else for (let k = first; k < last; k++) sum += (low[k] + blend * (high[k] - low[k])) * samples[start + k];
    return sum;
  }
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
