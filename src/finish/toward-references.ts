import type { PartStanding } from '../compare/reference-set.ts';
import { placeIn, type Spread } from '../compare/reference-set-spread.ts';
import { quantile } from '../measure/quantile.ts';
import type { Band } from './equaliser.ts';
import { fitBands } from './fit-bands.ts';

/** A third octave of a song and of a set, dB over the set's median. */
export interface BandStand {
  readonly ownDb: number;
  readonly lowerQuarterDb: number;
  readonly upperQuarterDb: number;
}

/** A band that would move a song toward a set. */
export interface BandToward {
  readonly band: Band;
  /** How the song stands where the band acts; null where the set or the song has nothing there. */
  readonly stand: BandStand | null;
}

export interface TowardReferences {
  /** What was approached, dB; null where nothing is known. */
  readonly target: readonly { readonly hertz: number; readonly gainDb: number | null }[];
  readonly bands: readonly BandToward[];
  /** Level by which the sides would be turned, dB; null when the width is not plainly beyond all references. */
  readonly sideDb: number | null;
}

/** Few and gentle: a difference of averages is no recipe (heuristics). */
const limits = { most: 5, highestGainDb: 6, closeDb: 0.4 } as const;
/** Outside it the third octaves of music say little about what is to be done (heuristic). */
const fitted = { fromHz: 31.5, toHz: 16_000 } as const;
/**
 * Weights of a third octave and its neighbours. What stands out narrower than that is the song's key and its notes, not its tone
 * (heuristic).
 */
const smoothing = [1, 2, 3, 2, 1];
/** Below it a band is not worth its place, dB (heuristic: about what is heard when switching). */
const worthDb = 0.3;
/** The width is plainly beyond the references from here on, and is turned by no more than this, dB (heuristics). */
const width = { plainDb: 1.5, mostDb: 3 } as const;

/**
 * What would move a song toward the median of a reference set: the difference in third octaves, smoothed over about an octave and without the level that most of
 * them share, by few bands (least squares). The bands are those of the whole way; `strengthPercent` scales their gains, so that turning it moves nothing
 * about. Of width only what lies plainly beyond every reference; of dynamics nothing: a difference of figures does not tell
 * how to make them.
 */
export function towardReferences({ part, against }: PartStanding, strengthPercent: number): TowardReferences {
  const strength = strengthPercent / 100;
  const differences = against.centresHz.map((_, i) => {
    const [own, median] = [part.levelsDb[i], against.bands[i].median];
    return own === null || median === null ? null : median - own;
  });
  const inside = against.centresHz.flatMap((hertz, i) =>
    hertz < fitted.fromHz || hertz > fitted.toHz ? [] : [{ hertz, gainDb: smoothed(differences, i) }],
  );
  // What most third octaves have in common is level, which is set elsewhere: bands are for what is left.
  const level = middleOf(inside.flatMap(({ gainDb }) => (gainDb === null ? [] : [gainDb])));
  const points = inside.map(({ hertz, gainDb }) => ({
    hertz,
    gainDb: gainDb === null ? null : gainDb - level,
  }));
  const known = points.flatMap(({ hertz, gainDb }) => (gainDb === null ? [] : [{ hertz, gainDb }]));
  const whole = known.length > 1 ? fitBands(known, limits).bands : [];
  const bands = whole
    .map((band) => rounded({ ...band, gainDb: band.gainDb * strength }))
    .filter(({ gainDb }) => Math.abs(gainDb) >= worthDb)
    .sort((a, b) => a.hertz - b.hertz)
    .map((band): BandToward => ({ band, stand: standAt(actsAt(band)) }));
  return {
    target: points.map(({ hertz, gainDb }) => ({
      hertz,
      gainDb: gainDb === null ? null : strength * gainDb,
    })),
    bands,
    sideDb: sideDb(part.figures.sideToMidDb, against.figures.sideToMidDb, strength),
  };

  function standAt(hertz: number): BandStand | null {
    const i = against.centresHz.reduce(
      (nearest, centre, k) =>
        Math.abs(Math.log(centre / hertz)) < Math.abs(Math.log(against.centresHz[nearest] / hertz))
          ? k
          : nearest,
      0,
    );
    const own = part.levelsDb[i];
    const { median, lowerQuarter, upperQuarter } = against.bands[i];
    return own === null || median === null || lowerQuarter === null || upperQuarter === null
      ? null
      : {
          ownDb: own - median,
          lowerQuarterDb: lowerQuarter - median,
          upperQuarterDb: upperQuarter - median,
        };
  }
}

function middleOf(values: readonly number[]): number {
  return values.length === 0
    ? 0
    : quantile(
        values.toSorted((a, b) => a - b),
        0.5,
      );
}

function smoothed(values: readonly (number | null)[], at: number): number | null {
  if (values[at] === null) return null;
  let sum = 0;
  let weights = 0;
  smoothing.forEach((weight, k) => {
    const value = values[at + k - (smoothing.length - 1) / 2];
    if (value === null || value === undefined) return;
    sum += weight * value;
    weights += weight;
  });
  return sum / weights;
}

/** Where a band does what it does: a shelf an octave beyond its corner. */
function actsAt({ shape, hertz }: Band): number {
  if (shape === 'low-shelf') return hertz / 2;
  return shape === 'high-shelf' ? hertz * 2 : hertz;
}

function sideDb(own: number | null, spread: Spread, strength: number): number | null {
  const place = placeIn(own, spread);
  if (place?.than !== 'any' || place.beyond < width.plainDb) return null;
  const by = Math.min(width.mostDb, place.beyond) * strength;
  if (by < worthDb) return null;
  return place.side === 'above' ? -by : by;
}

function rounded(band: Band): Band {
  const hundredth = (value: number) => Math.round(value * 100) / 100;
  return { ...band, hertz: Math.round(band.hertz), gainDb: hundredth(band.gainDb), q: hundredth(band.q) };
}
