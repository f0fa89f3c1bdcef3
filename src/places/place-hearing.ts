import { bandOfPlace, barkStep, PartialLoudness, placesAlongEar } from '../hearing/partial-loudness.ts';
import { criticalBands } from '../hearing/zwicker-tables.ts';
import { heardBandCount, wideOfCritical, wideOfPlace, wideOfThird } from './heard-bands.ts';
import type { Place } from './place.ts';
import { noisePowers } from './place-curve.ts';
import { layoutPower, layoutWeights, powerGainFor } from './place-level.ts';
import { PlaceLimits } from './place-limits.ts';
import { firstHeardBand, type SongBands, songBandCount } from './song-bands.ts';

/** How one wide band fares in one step. */
export const fate = { underThreshold: 0, underNoise: 1, heard: 2 } as const;

/** What a listener hears of a song in a place, step by step. Arrays of `heardBandCount` a step. */
export interface PlaceHearing {
  readonly steps: number;
  readonly stepSeconds: number;
  /** Partial loudness, sone: what is left under the noise. */
  readonly sone: Float32Array;
  /** One of `fate` for each band. */
  readonly fates: Uint8Array;
  /** Strongest third octave of each wide band, mean square over that of 20 uPa. */
  readonly strongest: Float32Array;
  /** Partial loudness of 2.2 to 5.6 kHz, sone, a value a step. */
  readonly sharpSone: Float32Array;
  /** What protection and highest level took, dB, a value a step. */
  readonly bassReductionDb: Float32Array;
  readonly levelReductionDb: Float32Array;
  /** Mean third-octave levels at the listener, powers over that of 20 uPa. */
  readonly meanPowers: Float64Array;
}

/** Critical bands that make a sound harsh: 2.2 to 5.6 kHz (heuristic, about where the ear is keenest). */
const sharpPlaces = Array.from(bandOfPlace.keys()).filter(
  (p) => bandOfPlace[p] >= 12 && bandOfPlace[p] <= 15,
);

/**
 * Plays the bands of a song through a place at a level and listens. About 30 ms for four minutes. Null for silence.
 *
 * @param levelDba A-weighted mean level at the listener before the device's own limits act
 */
export function hearInPlace(song: SongBands, place: Place, levelDba: number): PlaceHearing | null {
  const gain = powerGainFor(song, place, levelDba);
  if (gain === null) return null;
  const { steps, stepSeconds } = song;
  const weights = layoutWeights(place.layout);
  const limits = new PlaceLimits(place, stepSeconds);
  const noise = place.noise ? noisePowers(place.noise) : null;
  const ear = new PartialLoudness(noise ? heardPart(noise) : null, place.field);
  const powers = new Float64Array(songBandCount);
  const heard = heardPart(powers);
  const sone = new Float32Array(steps * heardBandCount);
  const fates = new Uint8Array(steps * heardBandCount);
  const strongest = new Float32Array(steps * heardBandCount);
  const [sharpSone, bassReductionDb, levelReductionDb] = [1, 2, 3].map(() => new Float32Array(steps));
  const meanPowers = new Float64Array(songBandCount);
  for (let step = 0; step < steps; step++) {
    layoutPower(song, step, weights, powers);
    for (let b = 0; b < songBandCount; b++) powers[b] *= gain;
    limits.apply(powers);
    bassReductionDb[step] = limits.bassReductionDb;
    levelReductionDb[step] = limits.levelReductionDb;
    for (let b = 0; b < songBandCount; b++) meanPowers[b] += powers[b];
    ear.look(heard);
    const at = step * heardBandCount;
    for (let p = 0; p < placesAlongEar; p++) sone[at + wideOfPlace[p]] += barkStep * ear.partial[p];
    for (const p of sharpPlaces) sharpSone[step] += barkStep * ear.partial[p];
    for (let c = 0; c < criticalBands; c++) {
      const wide = at + wideOfCritical[c];
      if (ear.bandOverThreshold[c] >= 1) fates[wide] = fate.heard;
      else if (fates[wide] === fate.underThreshold && ear.bandOverQuiet(c) >= 1)
        fates[wide] = fate.underNoise;
    }
    for (let b = 0; b < heard.length; b++) {
      const wide = at + wideOfThird[b];
      if (heard[b] > strongest[wide]) strongest[wide] = heard[b];
    }
  }
  for (let b = 0; b < songBandCount; b++) meanPowers[b] /= Math.max(1, steps);
  return {
    steps,
    stepSeconds,
    sone,
    fates,
    strongest,
    sharpSone,
    bassReductionDb,
    levelReductionDb,
    meanPowers,
  };
}

/** The 28 bands that hearing takes, as a view. */
function heardPart(powers: Float64Array): Float64Array {
  return powers.subarray(firstHeardBand, firstHeardBand + 28);
}
