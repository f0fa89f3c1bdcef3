import { type Biquad, biquadGain } from '../../signal/k-weighting.ts';

/** Poles of the A-weighting, Hz. IEC 61672-1 Annex E (from memory). */
const poles = { lowest: 20.598997, low: 107.65265, high: 737.86223, highest: 12_194.217 };

/**
 * The A-weighting of IEC 61672-1 as three biquads, 0 dB at 1 kHz. The low poles by the bilinear transform; the double pole at
 * 12.2 kHz by matched poles with a zero that sets the gain at half the rate, because the bilinear transform would
 * bend the top away. Within 0.3 dB of the analogue curve up to 0.8 of half the rate at 44.1 kHz and above (computed in a test).
 */
export function aWeighting(sampleRate: number): readonly Biquad[] {
  const top = product(shelfAt(poles.highest, sampleRate), shelfAt(poles.highest, sampleRate));
  const filters = [
    product(highPassAt(poles.lowest, sampleRate), highPassAt(poles.lowest, sampleRate)),
    product(highPassAt(poles.low, sampleRate), highPassAt(poles.high, sampleRate)),
  ];
  const gain = 1 / [...filters, top].reduce((all, filter) => all * biquadGain(filter, 1000, sampleRate), 1);
  return [...filters, { ...top, b0: top.b0 * gain, b1: top.b1 * gain, b2: top.b2 * gain }];
}

/** b0 + b1 z^-1 over 1 + a1 z^-1. */
type FirstOrder = readonly [b0: number, b1: number, a1: number];

function highPassAt(hertz: number, sampleRate: number): FirstOrder {
  const k = Math.tan((Math.PI * hertz) / sampleRate);
  return [1 / (1 + k), -1 / (1 + k), (k - 1) / (k + 1)];
}

function shelfAt(hertz: number, sampleRate: number): FirstOrder {
  const pole = Math.exp((-2 * Math.PI * hertz) / sampleRate);
  const atHalf = 1 / Math.hypot(1, sampleRate / 2 / hertz);
  const r = (atHalf * (1 + pole)) / (1 - pole);
  const zero = (r - 1) / (r + 1);
  const gain = (1 - pole) / (1 - zero);
  return [gain, -gain * zero, -pole];
}

function product([b0, b1, a1]: FirstOrder, [c0, c1, d1]: FirstOrder): Biquad {
  return { b0: b0 * c0, b1: b0 * c1 + b1 * c0, b2: b1 * c1, a1: a1 + d1, a2: a1 * d1 };
}
