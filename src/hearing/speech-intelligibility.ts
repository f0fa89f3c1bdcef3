/** A procedure of ANSI S3.5-1997: its bands, their importance for average speech, and the ear's own noise. */
interface SpeechBands {
  readonly centresHz: readonly number[];
  readonly importance: readonly number[];
  /** Equivalent internal noise, spectrum level, dB SPL/Hz. */
  readonly internalNoise: readonly number[];
  /** Speech of normal vocal effort at 1 m, spectrum level, dB SPL/Hz. */
  readonly normalSpeech: readonly number[];
}

/** ANSI S3.5-1997 Table 3, third octaves; read in the open library MoSQITo. */
const thirdOctaveBands: SpeechBands = {
  centresHz: [
    160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000, 6300, 8000,
  ],
  importance: [
    0.0083, 0.0095, 0.015, 0.0289, 0.044, 0.0578, 0.0653, 0.0711, 0.0818, 0.0844, 0.0882, 0.0898, 0.0868,
    0.0844, 0.0771, 0.0527, 0.0364, 0.0185,
  ],
  internalNoise: [
    0.6, -1.7, -3.9, -6.1, -8.2, -9.7, -10.8, -11.9, -12.5, -13.5, -15.4, -17.7, -21.2, -24.2, -25.9, -23.6,
    -15.8, -7.1,
  ],
  normalSpeech: [
    32.41, 34.48, 34.75, 33.98, 34.59, 34.27, 32.06, 28.3, 25.01, 23, 20.15, 17.32, 13.18, 11.55, 9.33, 5.31,
    2.59, 1.13,
  ],
};

/** ANSI S3.5-1997 Table 4, octaves; read in MoSQITo. */
const octaveBands: SpeechBands = {
  centresHz: [250, 500, 1000, 2000, 4000, 8000],
  importance: [0.0617, 0.1671, 0.2373, 0.2648, 0.2142, 0.0549],
  internalNoise: [-3.9, -9.7, -12.5, -17.7, -25.9, -7.1],
  normalSpeech: [34.75, 34.27, 25.01, 17.32, 9.33, 1.13],
};

export type SpeechProcedure = 'third-octave' | 'octave';

export interface SpeechIntelligibility {
  /** Speech intelligibility index, 0 to 1. Above 0.75 communication is good, below 0.45 poor (ANSI S3.5-1997, from memory). */
  readonly index: number;
  readonly centresHz: readonly number[];
  /** Share of each band that is audible, 0 to 1. */
  readonly audible: readonly number[];
}

/** Normal speech at 1 m, spectrum levels in dB SPL/Hz by band. ANSI S3.5-1997 Tables 3 and 4. */
export function normalSpeech(procedure: SpeechProcedure): readonly number[] {
  return (procedure === 'octave' ? octaveBands : thirdOctaveBands).normalSpeech;
}

/** Centres of the bands, Hz. */
export function speechCentresHz(procedure: SpeechProcedure): readonly number[] {
  return (procedure === 'octave' ? octaveBands : thirdOctaveBands).centresHz;
}

/** Spectrum level (per hertz) of a third-octave band level: 10 lg of the bandwidth less. */
export function spectrumLevel(bandLevelDb: number, centreHz: number): number {
  return bandLevelDb - 10 * Math.log10(centreHz * (10 ** 0.05 - 10 ** -0.05));
}

/**
 * How much of speech gets through to a listener of normal hearing, ANSI S3.5-1997, clause 4.
 *
 * @param speech equivalent speech spectrum level of each band at the ear, dB SPL/Hz
 * @param noise the same of the noise; -Infinity where there is none
 */
export function speechIntelligibility(
  speech: ArrayLike<number>,
  noise: ArrayLike<number>,
  procedure: SpeechProcedure = 'third-octave',
): SpeechIntelligibility {
  const bands = procedure === 'octave' ? octaveBands : thirdOctaveBands;
  const count = bands.centresHz.length;
  if (speech.length !== count || noise.length !== count)
    throw new RangeError(`this procedure of the speech intelligibility index has ${count} bands`);
  const masking = procedure === 'octave' ? Array.from(noise) : spreadMasking(bands.centresHz, speech, noise);
  const audible = bands.centresHz.map((_, i) => {
    const disturbance = Math.max(masking[i], bands.internalNoise[i]);
    const distortion = Math.min(1, 1 - (speech[i] - bands.normalSpeech[i] - 10) / 160);
    const heard = Math.min(1, Math.max(0, (speech[i] - disturbance + 15) / 30));
    return Math.max(0, distortion) * heard;
  });
  return {
    index: audible.reduce((sum, share, i) => sum + bands.importance[i] * share, 0),
    centresHz: bands.centresHz,
    audible,
  };
}

/** Equivalent masking spectrum level with the upward spread of masking. ANSI S3.5-1997, 4.3.2. */
function spreadMasking(
  centresHz: readonly number[],
  speech: ArrayLike<number>,
  noise: ArrayLike<number>,
): number[] {
  // Speech covers itself 24 dB down.
  const masker = centresHz.map((_, i) => Math.max(noise[i], speech[i] - 24));
  const slope = centresHz.map((hertz, i) => -80 + 0.6 * (masker[i] + 10 * Math.log10(hertz) - 6.353));
  return centresHz.map((hertz, i) => {
    let power = 10 ** (0.1 * noise[i]);
    for (let k = 0; k < i; k++)
      power += 10 ** (0.1 * (masker[k] + 3.32 * slope[k] * Math.log10((0.89 * hertz) / centresHz[k])));
    return 10 * Math.log10(power);
  });
}
