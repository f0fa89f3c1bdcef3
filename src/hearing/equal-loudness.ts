/** Parameters of one frequency: exponent of loudness, level of the transfer function (dB), threshold of hearing (dB). */
interface Contour {
  readonly hertz: number;
  readonly exponent: number;
  readonly transferDb: number;
  readonly thresholdDb: number;
}

export type EqualLoudnessEdition = 2003 | 2023;

/** Preferred third octaves, Hz, at which the standard is defined. */
export const contourHz = [
  20, 25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000,
  2500, 3150, 4000, 5000, 6300, 8000, 10000, 12500,
] as const;

/** ISO 226:2003, Table 1, columns alpha_f, L_U, T_f; read in open libraries that transcribe it. */
const edition2003 = {
  exponents: [
    0.532, 0.506, 0.48, 0.455, 0.432, 0.409, 0.387, 0.367, 0.349, 0.33, 0.315, 0.301, 0.288, 0.276, 0.267,
    0.259, 0.253, 0.25, 0.246, 0.244, 0.243, 0.243, 0.243, 0.242, 0.242, 0.245, 0.254, 0.271, 0.301,
  ],
  transferDb: [
    -31.6, -27.2, -23, -19.1, -15.9, -13, -10.3, -8.1, -6.2, -4.5, -3.1, -2, -1.1, -0.4, 0, 0.3, 0.5, 0, -2.7,
    -4.1, -1, 1.7, 2.5, 1.2, -2.1, -7.1, -11.2, -10.7, -3.1,
  ],
  thresholdDb: [
    78.5, 68.7, 59.5, 51.1, 44, 37.5, 31.5, 26.5, 22.1, 17.9, 14.4, 11.4, 8.6, 6.2, 4.4, 3, 2.2, 2.4, 3.5,
    1.7, -1.3, -4.2, -6, -5.4, -1.5, 6, 12.6, 13.9, 12.3,
  ],
};

/** ISO 226:2023, Table 1, the same columns; read in open libraries that transcribe it. */
const edition2023 = {
  exponents: [
    0.635, 0.602, 0.569, 0.537, 0.509, 0.482, 0.456, 0.433, 0.412, 0.391, 0.373, 0.357, 0.343, 0.33, 0.32,
    0.311, 0.303, 0.3, 0.295, 0.292, 0.29, 0.29, 0.289, 0.289, 0.289, 0.293, 0.303, 0.323, 0.354,
  ],
  transferDb: [
    -31.5, -27.2, -23.1, -19.3, -16.1, -13.1, -10.4, -8.2, -6.3, -4.6, -3.2, -2.1, -1.2, -0.5, 0, 0.4, 0.5, 0,
    -2.7, -4.2, -1.2, 1.4, 2.3, 1, -2.3, -7.2, -11.2, -10.9, -3.5,
  ],
  thresholdDb: [
    78.1, 68.7, 59.5, 51.1, 44, 37.5, 31.5, 26.5, 22.1, 17.9, 14.4, 11.4, 8.6, 6.2, 4.4, 3, 2.2, 2.4, 3.5,
    1.7, -1.3, -4.2, -6, -5.4, -1.5, 6, 12.6, 13.9, 12.3,
  ],
};

/**
 * Sound pressure level of a pure tone that is as loud as a tone of 1 kHz at `phon` dB: free field, frontal, listeners of
 * 18 to 25 years. ISO 226:2023 formula (1), or ISO 226:2003 formula (1).
 *
 * The standard is defined from 20 phon to 90 phon up to 4 kHz and to 80 phon above; beyond, this is extrapolation. Between
 * the third octaves of the table the parameters are interpolated over the logarithm of the frequency (a choice of this
 * project). Throws RangeError outside 20 Hz to 12.5 kHz.
 *
 * @returns dB SPL
 */
export function levelOfPhon(phon: number, hertz: number, edition: EqualLoudnessEdition = 2023): number {
  const { exponent, transferDb, thresholdDb } = contourAt(hertz, edition);
  if (edition === 2003) {
    const a =
      4.47e-3 * (10 ** (0.025 * phon) - 1.15) +
      (0.4 * 10 ** ((thresholdDb + transferDb) / 10 - 9)) ** exponent;
    return (10 / exponent) * Math.log10(a) - transferDb + 94;
  }
  const a =
    4e-10 ** (0.3 - exponent) * (10 ** (0.03 * phon) - 10 ** 0.072) +
    10 ** ((exponent * (thresholdDb + transferDb)) / 10);
  return (10 / exponent) * Math.log10(a) - transferDb;
}

/**
 * Loudness level of a pure tone, phon: the inverse of `levelOfPhon` (ISO 226:2023 formula (2); 2003 formula (3)).
 * Levels far below the threshold have no loudness level: NaN.
 */
export function phonOfLevel(levelDb: number, hertz: number, edition: EqualLoudnessEdition = 2023): number {
  const { exponent, transferDb, thresholdDb } = contourAt(hertz, edition);
  if (edition === 2003) {
    const b =
      (0.4 * 10 ** ((levelDb + transferDb) / 10 - 9)) ** exponent -
      (0.4 * 10 ** ((thresholdDb + transferDb) / 10 - 9)) ** exponent +
      4.47e-3 * 1.15;
    return 40 * Math.log10(b / 4.47e-3);
  }
  const power = (level: number) => 10 ** ((exponent * (level + transferDb)) / 10);
  return (
    (100 / 3) * Math.log10((power(levelDb) - power(thresholdDb)) / 4e-10 ** (0.3 - exponent) + 10 ** 0.072)
  );
}

function contourAt(hertz: number, edition: EqualLoudnessEdition): Contour {
  const table = edition === 2003 ? edition2003 : edition2023;
  const last = contourHz.length - 1;
  if (!(hertz >= contourHz[0] && hertz <= contourHz[last]))
    throw new RangeError(`equal-loudness contours reach from 20 Hz to 12.5 kHz, not ${hertz} Hz`);
  let i = 0;
  while (i < last - 1 && hertz > contourHz[i + 1]) i++;
  const share = Math.log(hertz / contourHz[i]) / Math.log(contourHz[i + 1] / contourHz[i]);
  const between = (column: readonly number[]) => column[i] + share * (column[i + 1] - column[i]);
  return {
    hertz,
    exponent: between(table.exponents),
    transferDb: between(table.transferDb),
    thresholdDb: between(table.thresholdDb),
  };
}
