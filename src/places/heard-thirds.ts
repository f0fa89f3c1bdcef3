import { hearingThresholdDb } from '../hearing/hearing-threshold.ts';
import type { Place } from './place.ts';
import { bandCentresHz, noisePowers } from './place-curve.ts';

/** Mean level over what hides a band from which on all of it counts, and below which nothing does, dB (heuristics). */
const [nothingDb, allDb] = [-10, 5];
/** The threshold of hearing is known in this range only, Hz. */
const [lowestHz, highestHz] = [20, 16_000];

/**
 * What of each third octave is heard in a place, 0 to 1: its mean level against the threshold of hearing and the place's noise.
 *
 * @param levelsDb of the song at the listener, dB SPL, 20 Hz to 20 kHz (`PlaceEffect.levelsDb`)
 */
export function heardThirds(levelsDb: readonly number[], place: Place): number[] {
  const noise = place.noise ? noisePowers(place.noise) : null;
  return levelsDb.map((level, i) => {
    const hertz = Math.min(highestHz, Math.max(lowestHz, bandCentresHz[i]));
    const threshold = 10 ** (0.1 * hearingThresholdDb(hertz, place.field));
    const over = level - 10 * Math.log10(threshold + (noise?.[i] ?? 0));
    return Math.min(1, Math.max(0, (over - nothingDb) / (allDb - nothingDb)));
  });
}
