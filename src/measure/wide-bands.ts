/** The five bands in which stereo and dynamics are told, lowest first. */
export const wideBandNames = ['low', 'lowMid', 'mid', 'presence', 'air'] as const;
export type WideBandName = (typeof wideBandNames)[number];

export interface WideBand {
  readonly name: WideBandName;
  readonly lowHz: number;
  readonly highHz: number;
}

/**
 * Edges are a choice of this project (heuristic): bass that belongs in the middle, the body of voices and instruments,
 * their core, what makes words understood, and what is only brilliance.
 */
export const wideBands: readonly WideBand[] = [
  { name: 'low', lowHz: 20, highHz: 120 },
  { name: 'lowMid', lowHz: 120, highHz: 500 },
  { name: 'mid', lowHz: 500, highHz: 2000 },
  { name: 'presence', lowHz: 2000, highHz: 6000 },
  { name: 'air', lowHz: 6000, highHz: 20000 },
];

/** Whether a sample rate holds enough of a band to speak of it: half an octave above its lower edge. */
export function holdsBand({ lowHz }: WideBand, sampleRate: number): boolean {
  return sampleRate / 2 > lowHz * Math.SQRT2;
}
