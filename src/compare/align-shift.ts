import type { Pcm } from '../audio/pcm.ts';

/** Fractions below this are left alone: smaller than what the delay is known to, and whole shifts change no sample. */
const wholeEnough = 0.02;
const halfTaps = 48;
/** Samples before and after a stretch of which shiftPcm may need the values. */
export const shiftReach = halfTaps;
/** Kaiser window's beta: about 100 dB of rejection (Kaiser 1974, from memory). */
const beta = 10;

/**
 * The sound `delaySamples` earlier (what came late is put right), exactly `frames` frames long; silence where it has
 * no samples. A whole number of samples changes no value (and is a view, not a copy, where the sound covers all of it); a fraction of 0.02 samples or more is taken by a sinc of 96 taps under a
 * Kaiser window, flat within 0.01 dB up to 0.9 of the Nyquist frequency.
 */
export function shiftPcm(pcm: Pcm, delaySamples: number, frames: number): Pcm {
  const whole = Math.round(delaySamples);
  const fraction = delaySamples - whole;
  const shifted = pcm.channels.map((samples) => {
    const isWhole = Math.abs(fraction) < wholeEnough;
    if (isWhole && whole >= 0 && whole + frames <= samples.length)
      return samples.subarray(whole, whole + frames);
    const output = new Float32Array(frames);
    if (isWhole) {
      const from = Math.max(0, whole);
      const to = Math.min(samples.length, whole + frames);
      if (to > from) output.set(samples.subarray(from, to), from - whole);
    } else interpolate(samples, whole, sincTaps(fraction), output);
    return output;
  });
  return { sampleRate: pcm.sampleRate, channels: shifted };
}

/** Taps h so that sum of h[i] * x[n - halfTaps + 1 + i] is x at n + fraction, fraction in -0.5..0.5. */
function sincTaps(fraction: number): Float64Array {
  const taps = Float64Array.from({ length: 2 * halfTaps }, (_, i) => {
    const t = i - halfTaps + 1 - fraction;
    const x = t / halfTaps;
    const window = Math.abs(x) >= 1 ? 0 : bessel0(beta * Math.sqrt(1 - x * x)) / bessel0(beta);
    return (t === 0 ? 1 : Math.sin(Math.PI * t) / (Math.PI * t)) * window;
  });
  const sum = taps.reduce((total, tap) => total + tap, 0);
  return taps.map((tap) => tap / sum);
}

function interpolate(samples: Float32Array, whole: number, taps: Float64Array, output: Float32Array): void {
  for (let n = 0; n < output.length; n++) {
    const start = n + whole - halfTaps + 1;
    let sum = 0;
    if (start >= 0 && start + taps.length <= samples.length)
      for (let i = 0; i < taps.length; i++) sum += taps[i] * samples[start + i];
    else for (let i = 0; i < taps.length; i++) sum += taps[i] * (samples[start + i] ?? 0);
    output[n] = sum;
  }
}

/** Modified Bessel function of the first kind, order 0, by its power series. */
function bessel0(x: number): number {
  let [sum, term] = [1, 1];
  for (let k = 1; term > sum * 1e-16; k++) {
    term *= (x / (2 * k)) ** 2;
    sum += term;
  }
  return sum;
}
