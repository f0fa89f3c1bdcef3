import { kaiser, sinc } from '../../signal/interpolation.ts';

/** The stretches of the spectrum that can be heard alone. Edges, Hz, at -6 dB (common practice). */
export const soloBands = {
  low: { from: 0, to: 120 },
  'low-mid': { from: 120, to: 500 },
  presence: { from: 2000, to: 6000 },
  air: { from: 10_000, to: Number.POSITIVE_INFINITY },
} as const;

export type SoloBand = keyof typeof soloBands;

/** Rejection beyond the slope of an edge, dB (two edges together leave at most -60 dB), and Kaiser's formula (Kaiser 1974; from memory). */
const rejectionDb = 66;
const beta = 0.1102 * (rejectionDb - 8.7);
/** Width of an edge's slope, as a share of its frequency. */
const slope = 2 / 3;
/** Longest half of a filter, samples: above 90 kHz the slope at 120 Hz is wider than said. */
export const longestHalf = 2047;

/**
 * One half of the band's filter, from the middle outwards. It is its own mirror image, so every frequency comes through at
 * its own time: the band is what it is in the whole. Empty when the band lies above half the rate.
 */
export function bandTaps(band: SoloBand, sampleRate: number): Float32Array {
  const { from, to } = soloBands[band];
  const upper = to < sampleRate / 2 ? lowPass(to, sampleRate) : Float64Array.of(1);
  const lower = from > 0 ? lowPass(Math.min(from, sampleRate / 2), sampleRate) : Float64Array.of(0);
  return Float32Array.from(
    { length: Math.max(upper.length, lower.length) },
    (_, k) => (upper[k] ?? 0) - (lower[k] ?? 0),
  );
}

function lowPass(hertz: number, sampleRate: number): Float64Array {
  const width = (2 * Math.PI * slope * hertz) / sampleRate;
  const half = Math.min(longestHalf, Math.ceil((rejectionDb - 7.95) / (2.285 * width) / 2));
  const cutoff = (2 * hertz) / sampleRate;
  const taps = Float64Array.from(
    { length: half + 1 },
    (_, k) => cutoff * sinc(cutoff * k) * kaiser(k / (half + 1), beta),
  );
  const sum = taps.reduce((total, tap, k) => total + (k === 0 ? tap : 2 * tap), 0);
  return taps.map((tap) => tap / sum);
}
