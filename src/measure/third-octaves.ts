/** One third-octave band. */
export interface Band {
  /** Nominal centre, Hz, as it is printed. */
  readonly nominalHz: number;
  /** Exact edges, Hz. */
  readonly lowHz: number;
  readonly highHz: number;
}

/** Nominal centres, Hz. IEC 61260-1:2014 Annex E (from memory). */
const nominalHz = [
  20, 25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000,
  2500, 3150, 4000, 5000, 6300, 8000, 10000, 12500, 16000, 20000,
] as const;

/** Octave ratio in base ten. IEC 61260-1:2014, 5.2 (from memory). */
const octave = 10 ** 0.3;

/**
 * The bands from 20 Hz to 20 kHz whose exact centre lies below half the sample rate; the last may be cut by it.
 * Exact centres 1000 * G^(x/3) Hz, edges G^(1/6) to either side, G = 10^(3/10): IEC 61260-1:2014, 5.3 to 5.5
 * (from memory).
 */
export function thirdOctaves(sampleRate: number): Band[] {
  return nominalHz
    .map((nominal, i) => {
      const centre = 1000 * octave ** ((i - nominalHz.indexOf(1000)) / 3);
      return { nominalHz: nominal, lowHz: centre * octave ** (-1 / 6), highHz: centre * octave ** (1 / 6) };
    })
    .filter(({ lowHz, highHz }) => Math.sqrt(lowHz * highHz) < sampleRate / 2);
}
