import type { Run } from '../audio/run.ts';
import type { WideBandName } from '../measure/wide-bands.ts';
import type { Place } from './place.ts';
import { hearInStudio, type PlaceEffect, placeEffect, type StudioHearing } from './place-effect.ts';
import { type SongBands, songBandCount } from './song-bands.ts';

/** How the loudness of a song in a place is shared out among the five areas, at talk-over level. */
export interface PlaceBalance {
  readonly placeId: string;
  readonly levelDba: number;
  readonly areas: readonly {
    readonly area: WideBandName;
    /** Loudness of the area against all of it, phon (10 lb of the share: 10 phon is twice as loud); null: nothing heard. */
    readonly sharePhon: number | null;
    /** Share of the time it plays in which it is heard; null where it does not play. */
    readonly heardShare: number | null;
  }[];
  /** Third-octave levels at the listener, dB SPL. */
  readonly levelsDb: readonly number[];
}

/** Less of the whole loudness than this is nothing (heuristic: 60 phon below it). */
const leastShare = 2 ** -6;

/** The song's bands as they would be after a curve over the third octaves, dB. */
export function correctedBands(song: SongBands, curveDb: ArrayLike<number>): SongBands {
  const gains = Array.from(curveDb, (db) => 10 ** (0.1 * db));
  const turned = (powers: Float32Array) => powers.map((power, i) => power * gains[i % songBandCount]);
  return { ...song, left: turned(song.left), right: turned(song.right), common: turned(song.common) };
}

/** Of what a place does to a song. */
export function balanceOf({ placeId, levelDba, bands, meanSone, levelsDb }: PlaceEffect): PlaceBalance {
  return {
    placeId,
    levelDba,
    areas: bands.map(({ band, sone, heardShare }) => {
      const share = meanSone > 0 ? sone / meanSone : 0;
      return { area: band, sharePhon: share > leastShare ? 10 * Math.log2(share) : null, heardShare };
    }),
    levelsDb,
  };
}

/**
 * A song in every place as it would be after a curve over the third octaves: at the same level and with the same moments as
 * playing as it is now, so that both can be laid side by side. Null for silence.
 */
export function balancesAfter(
  song: SongBands,
  places: readonly Place[],
  curveDb: ArrayLike<number>,
  run: Run = {},
): PlaceBalance[] | null {
  const changed = correctedBands(song, curveDb);
  const studios = new Map<number, StudioHearing | null>();
  const balances: PlaceBalance[] = [];
  for (const [i, place] of places.entries()) {
    run.signal?.throwIfAborted();
    const levelDba = place.levels.talkOverDba;
    if (!studios.has(levelDba)) studios.set(levelDba, hearInStudio(song, levelDba));
    const studio = studios.get(levelDba);
    if (!studio) return null;
    balances.push(balanceOf(placeEffect(changed, place, studio)));
    run.progress?.((i + 1) / places.length);
  }
  return balances;
}
