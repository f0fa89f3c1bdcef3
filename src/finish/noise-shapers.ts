/** Shapes the error of rounding: noise out = error filtered by 1 - sum of c_k z^-k. */
export interface NoiseShaper {
  readonly coefficients: readonly number[];
  /** Rate the shape was made for, Hz; at another the same curve lies at other frequencies. Null: for any. */
  readonly madeForHz: number | null;
  readonly source: string;
}

const lipshitz = 'Lipshitz, Vanderkooy and Wannamaker, Minimally Audible Noise Shaping, JAES 39(11), 1991';
const wannamaker = 'Wannamaker, Psychoacoustically Optimal Noise Shaping, JAES 40(7/8), 1992';

/** Coefficients as transcribed in open-source code; `modified-e-9` from memory. */
export const noiseShapers = {
  none: { coefficients: [], madeForHz: null, source: 'flat' },
  'first-order': { coefficients: [1], madeForHz: null, source: 'textbook' },
  'second-order': { coefficients: [2, -1], madeForHz: null, source: 'textbook' },
  'improved-e-5': { coefficients: [2.033, -2.165, 1.959, -1.59, 0.6149], madeForHz: 44100, source: lipshitz },
  'improved-e-9': {
    coefficients: [2.847, -4.685, 6.214, -7.184, 6.639, -5.032, 3.263, -1.632, 0.4191],
    madeForHz: 44100,
    source: lipshitz,
  },
  'modified-e-9': {
    coefficients: [1.662, -1.263, 0.4827, -0.2913, 0.1268, -0.1124, 0.03252, -0.01265, -0.03524],
    madeForHz: 44100,
    source: lipshitz,
  },
  'f-weighted-3': { coefficients: [1.623, -0.982, 0.109], madeForHz: 44100, source: wannamaker },
  'f-weighted-9': {
    coefficients: [2.412, -3.37, 3.937, -4.174, 3.353, -2.205, 1.281, -0.569, 0.0847],
    madeForHz: 44100,
    source: wannamaker,
  },
} as const satisfies Record<string, NoiseShaper>;

export type ShaperName = keyof typeof noiseShapers;

/** Power of shaped against flat noise, dB: 1 + the sum of the squares. */
export function noiseGainDb(coefficients: readonly number[]): number {
  return 10 * Math.log10(coefficients.reduce((sum, c) => sum + c * c, 1));
}

/** Level of the noise at `cycles` of the sample rate against flat noise, dB. */
export function noiseShapeDb(coefficients: readonly number[], cycles: number): number {
  const w = 2 * Math.PI * cycles;
  let re = 1;
  let im = 0;
  coefficients.forEach((c, k) => {
    re -= c * Math.cos(w * (k + 1));
    im += c * Math.sin(w * (k + 1));
  });
  return 10 * Math.log10(re * re + im * im);
}
