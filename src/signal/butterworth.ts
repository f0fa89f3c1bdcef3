import type { Biquad } from './k-weighting.ts';

/** Passes everything, unchanged. */
export const passAll: Biquad = { b0: 1, b1: 0, b2: 0, a1: 0, a2: 0 };

/**
 * Second-order Butterworth filters (-3.01 dB at `hertz`) by the bilinear transform (textbook). Two in a row make the
 * halves of a Linkwitz-Riley crossover of fourth order, -6.02 dB at `hertz`, 24 dB an octave beyond.
 * `hertz` must lie below half the sample rate.
 */
export function lowPass(hertz: number, sampleRate: number): Biquad {
  const { k, a0, a1, a2 } = denominator(hertz, sampleRate);
  const b0 = (k * k) / a0;
  return { b0, b1: 2 * b0, b2: b0, a1, a2 };
}

export function highPass(hertz: number, sampleRate: number): Biquad {
  const { a0, a1, a2 } = denominator(hertz, sampleRate);
  const b0 = 1 / a0;
  return { b0, b1: -2 * b0, b2: b0, a1, a2 };
}

function denominator(hertz: number, sampleRate: number) {
  if (!(hertz > 0 && hertz < sampleRate / 2))
    throw new RangeError(`a filter at ${hertz} Hz needs a sample rate above ${2 * hertz} Hz`);
  const k = Math.tan((Math.PI * hertz) / sampleRate);
  const a0 = 1 + Math.SQRT2 * k + k * k;
  return { k, a0, a1: (2 * (k * k - 1)) / a0, a2: (1 - Math.SQRT2 * k + k * k) / a0 };
}
