import { weightingDb } from '../hearing/frequency-weighting.ts';
import { thirdOctaves } from '../measure/third-octaves.ts';
import type { Curve, PlaceNoise } from './place.ts';
import { songBandCount } from './song-bands.ts';

/** All third octaves of 20 Hz to 20 kHz. */
const bands = thirdOctaves(48000);
/** Exact centres, Hz. */
export const bandCentresHz: readonly number[] = bands.map(({ lowHz, highHz }) => Math.sqrt(lowHz * highHz));
/** A-weighting of each band as a power ratio. */
export const aWeights = Float64Array.from(bandCentresHz, (hertz) => 10 ** (0.1 * weightingDb('A', hertz)));

/** The curve at a frequency, dB: straight over log frequency, flat beyond the ends. */
export function curveDb(curve: Curve, hertz: number): number {
  const last = curve.length - 1;
  if (hertz <= curve[0].hertz) return curve[0].db;
  if (hertz >= curve[last].hertz) return curve[last].db;
  let low = 0;
  let high = last;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (curve[middle].hertz <= hertz) low = middle;
    else high = middle;
  }
  const [a, b] = [curve[low], curve[high]];
  return a.db + ((b.db - a.db) * Math.log(hertz / a.hertz)) / Math.log(b.hertz / a.hertz);
}

/** The curve as power gain of each third octave: the mean power within the band. */
export function bandGains(curve: Curve): Float64Array {
  return Float64Array.from(bands, ({ lowHz, highHz }) => {
    let sum = 0;
    // Nine points a band: a bend inside it counts as what it lets through.
    for (let i = 0; i < 9; i++)
      sum += 10 ** (0.1 * curveDb(curve, lowHz * (highHz / lowHz) ** ((i + 0.5) / 9)));
    return sum / 9;
  });
}

/** Third-octave powers of a place's noise, mean squares over that of 20 uPa, 20 Hz to 20 kHz. */
export function noisePowers({ shape, levelDba }: PlaceNoise): Float64Array {
  const powers = Float64Array.from(bandCentresHz, (hertz) => 10 ** (0.1 * curveDb(shape, hertz)));
  const gain = 10 ** (0.1 * levelDba) / aWeightedPower(powers);
  return powers.map((power) => power * gain);
}

/** A-weighted sum of `songBandCount` band powers. */
export function aWeightedPower(powers: ArrayLike<number>): number {
  let sum = 0;
  for (let b = 0; b < songBandCount; b++) sum += powers[b] * aWeights[b];
  return sum;
}
