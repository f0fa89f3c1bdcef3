import type { Biquad } from '../signal/k-weighting.ts';

/** Poles of the A and C weightings, Hz: IEC 61672-1:2013 Annex E (from memory; the table of its 5.5 checks them). */
const poles = { lowest: 20.598997, second: 107.65265, third: 737.86223, highest: 12194.217 };

/** Shares of the sample rate at which the digital low-pass meets the analogue one exactly, besides 0 Hz. */
const metAt = [0.22, 0.4] as const;

export type FrequencyWeighting = 'A' | 'C';

/** Gain of the weighting at a frequency, dB, 0 at 1 kHz. IEC 61672-1:2013 formulas (E.1) and (E.6). */
export function weightingDb(weighting: FrequencyWeighting, hertz: number): number {
  return 10 * Math.log10(analogPower(weighting, hertz) / analogPower(weighting, 1000));
}

function analogPower(weighting: FrequencyWeighting, hertz: number): number {
  const f = hertz * hertz;
  const c = (f / (f + poles.lowest ** 2)) ** 2 * (poles.highest ** 2 / (f + poles.highest ** 2)) ** 2;
  if (weighting === 'C') return c;
  return c * (f / (f + poles.second ** 2)) * (f / (f + poles.third ** 2));
}

/**
 * The weighting as filters in a row, 0 dB at 1 kHz. The poles below 1 kHz by the bilinear transform, the one at 12 kHz by
 * first-order sections whose magnitude is right at 0 Hz and at two frequencies more: from 32 kHz up the whole is then within
 * 0.25 dB of the curve up to 0.42 of the sample rate. Throws RangeError below 16 kHz.
 */
export function weightingFilters(weighting: FrequencyWeighting, sampleRate: number): Biquad[] {
  if (!(sampleRate >= 16000))
    throw new RangeError(`the ${weighting} weighting needs a rate of at least 16 kHz, not ${sampleRate} Hz`);
  const low = highPassPair(poles.lowest, poles.lowest, sampleRate);
  const high = lowPassPair(poles.highest, sampleRate);
  const filters =
    weighting === 'C' ? [low, high] : [low, highPassPair(poles.second, poles.third, sampleRate), high];
  const gain = filters.reduce((product, filter) => product * gainAt(filter, 1000, sampleRate), 1);
  const [first, ...others] = filters;
  return [{ ...first, b0: first.b0 / gain, b1: first.b1 / gain, b2: first.b2 / gain }, ...others];
}

function highPassPair(first: number, second: number, sampleRate: number): Biquad {
  const section = (hertz: number) => {
    const k = Math.tan((Math.PI * hertz) / sampleRate);
    return { gain: 1 / (1 + k), pole: (1 - k) / (1 + k) };
  };
  const [a, b] = [section(first), section(second)];
  const gain = a.gain * b.gain;
  return { b0: gain, b1: -2 * gain, b2: gain, a1: -(a.pole + b.pole), a2: a.pole * b.pole };
}

function lowPassPair(hertz: number, sampleRate: number): Biquad {
  const power = (f: number) => hertz ** 2 / (f ** 2 + hertz ** 2);
  // |H|^2 = (1 + beta s) / (1 + alpha s), s = sin^2(pi f / rate): two equations, linear in alpha and beta.
  const [p, q] = metAt.map((share) => power(share * sampleRate));
  const [s, t] = metAt.map((share) => Math.sin(Math.PI * share) ** 2);
  const alpha = ((q - 1) / t - (p - 1) / s) / (p - q);
  const beta = (p - 1) / s + p * alpha;
  const [zero, pole] = [Math.sqrt(Math.max(0, 1 + beta)), Math.sqrt(1 + alpha)];
  const [n0, n1] = [(1 + zero) / 2, (1 - zero) / 2];
  const [d0, d1] = [(1 + pole) / 2, (1 - pole) / 2];
  const scale = d0 * d0;
  return {
    b0: (n0 * n0) / scale,
    b1: (2 * n0 * n1) / scale,
    b2: (n1 * n1) / scale,
    a1: (2 * d1) / d0,
    a2: (d1 * d1) / scale,
  };
}

function gainAt(filter: Biquad, hertz: number, sampleRate: number): number {
  const w = (2 * Math.PI * hertz) / sampleRate;
  const size = (c0: number, c1: number, c2: number) =>
    Math.hypot(c0 + c1 * Math.cos(w) + c2 * Math.cos(2 * w), c1 * Math.sin(w) + c2 * Math.sin(2 * w));
  return size(filter.b0, filter.b1, filter.b2) / size(1, filter.a1, filter.a2);
}
