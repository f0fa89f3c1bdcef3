/** Second-order filter y = b0 x + b1 x' + b2 x'' - a1 y' - a2 y'', a0 = 1. */
export interface Biquad {
  readonly b0: number;
  readonly b1: number;
  readonly b2: number;
  readonly a1: number;
  readonly a2: number;
}

/**
 * Coefficients as the kernels want them: b0, b1 - a1 b0, b2 - a2 b0, a1, a2. With states s, t: y = b0 x + s,
 * s' = c1 x + t - a1 s, t' = c2 x - a2 s.
 */
export function stateForm({ b0, b1, b2, a1, a2 }: Biquad): number[] {
  return [b0, b1 - a1 * b0, b2 - a2 * b0, a1, a2];
}

/** Magnitude of a filter's response at `hertz`, as an amplitude ratio. */
export function biquadGain(filter: Biquad, hertz: number, sampleRate: number): number {
  // In powers of sin^2(w/2), which stays exact far below the sample rate where a sum of cosines cancels.
  const s = Math.sin((Math.PI * hertz) / sampleRate) ** 2;
  const power = (c0: number, c1: number, c2: number) =>
    (c0 + c1 + c2) ** 2 - 4 * (c0 * c1 + 4 * c0 * c2 + c1 * c2) * s + 16 * c0 * c2 * s * s;
  return Math.sqrt(power(filter.b0, filter.b1, filter.b2) / power(1, filter.a1, filter.a2));
}

/** Rates at which `kWeighting` is defined, Hz. */
export const kWeightingRates = { lowest: 8000, highest: 768000 } as const;

const shelf = { hertz: 1681.974450955533, gainDb: 3.999843853973347, q: 0.7071752369554196 };
const shelfBandExponent = 0.4996667741545416;
const highPass = { hertz: 38.13547087602444, q: 0.5003270373238773 };
/** 1 + K/Q + K^2 of the high-pass at 48 kHz: there the standard's numerator is 1, -2, 1. */
const highPassGain = highPassDenominator(48000);

function highPassDenominator(sampleRate: number): number {
  const k = Math.tan((Math.PI * highPass.hertz) / sampleRate);
  return 1 + k / highPass.q + k * k;
}

/**
 * The K-weighting of ITU-R BS.1770-5 Annex 1 as a high shelf followed by a high-pass.
 *
 * At 48 kHz these are the coefficients of its Tables 1 and 2. For other rates the standard asks for the same
 * frequency response: the bilinear transform of the analogue filters behind the tables, whose parameters are
 * those published in libebur128 (ebur128.c). Unlike there, the high-pass keeps the gain it has at 48 kHz, so
 * that levels do not depend on the rate (libebur128 reads 0.05 dB higher at 22.05 kHz, 0.03 dB lower at
 * 192 kHz).
 *
 * Throws RangeError outside 8..768 kHz.
 */
export function kWeighting(sampleRate: number): { shelf: Biquad; highPass: Biquad } {
  if (!(sampleRate >= kWeightingRates.lowest && sampleRate <= kWeightingRates.highest))
    throw new RangeError(`K-weighting is defined here for 8 to 768 kHz, not ${sampleRate} Hz`);
  const k = Math.tan((Math.PI * shelf.hertz) / sampleRate);
  const vh = 10 ** (shelf.gainDb / 20);
  const vb = vh ** shelfBandExponent;
  const a0 = 1 + k / shelf.q + k * k;
  const h = Math.tan((Math.PI * highPass.hertz) / sampleRate);
  const c0 = highPassDenominator(sampleRate);
  const gain = highPassGain / c0;
  return {
    shelf: {
      b0: (vh + (vb * k) / shelf.q + k * k) / a0,
      b1: (2 * (k * k - vh)) / a0,
      b2: (vh - (vb * k) / shelf.q + k * k) / a0,
      a1: (2 * (k * k - 1)) / a0,
      a2: (1 - k / shelf.q + k * k) / a0,
    },
    highPass: {
      b0: gain,
      b1: -2 * gain,
      b2: gain,
      a1: (2 * (h * h - 1)) / c0,
      a2: (1 - h / highPass.q + h * h) / c0,
    },
  };
}

/** What the weighting does to power at a frequency, factor: that of the filters at 48 kHz. */
export function kPower(hertz: number): number {
  const { shelf, highPass } = kWeighting(48_000);
  return (biquadGain(shelf, hertz, 48_000) * biquadGain(highPass, hertz, 48_000)) ** 2;
}
