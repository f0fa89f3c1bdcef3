import { bandOfPlace } from '../hearing/partial-loudness.ts';
import { criticalBands } from '../hearing/zwicker-tables.ts';
import { type WideBandName, wideBandNames } from '../measure/wide-bands.ts';

/**
 * The five wide bands as hearing parts them: each is whole critical bands, so the edges lie a little beside those of the
 * stereo and dynamics figures.
 */
export interface HeardBand {
  readonly name: WideBandName;
  readonly lowHz: number;
  readonly highHz: number;
}

/** Edges of third octaves, Hz. */
const edges = [20, 90, 450, 1800, 5600, 14000] as const;
/** First critical band of each; the tables of ISO 532-1 join the third octaves below 280 Hz. */
const firstCritical = [0, 1, 5, 11, 16, criticalBands] as const;

export const heardBands: readonly HeardBand[] = wideBandNames.map((name, i) => ({
  name,
  lowHz: edges[i],
  highHz: edges[i + 1],
}));
export const heardBandCount = heardBands.length;

/** Wide band of each critical band. */
export const wideOfCritical = Int32Array.from({ length: criticalBands }, (_, b) =>
  firstCritical.findLastIndex((first) => first <= b),
);
/** Wide band of each place along the ear. */
export const wideOfPlace = Int32Array.from(bandOfPlace, (b) => wideOfCritical[b]);
/** Index of the wide band that the bass line lies in, and of the one that carries its harmonics. */
export const [bassBand, harmonicBand] = [0, 1] as const;
/** Wide band of each of the 28 third octaves that hearing takes, 25 Hz to 12.5 kHz. */
export const wideOfThird = Int32Array.from({ length: 28 }, (_, i) => {
  const centre = 1000 * 10 ** ((i - 16) / 10);
  return edges.findLastIndex((edge) => edge <= centre);
});
