import type { Run } from '../audio/run.ts';
import type { WideBandName } from '../measure/wide-bands.ts';
import type { Place } from './place.ts';
import { hearInStudio, placeEffect, type StudioHearing } from './place-effect.ts';
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

/**
 * A song in every place, as it is or, with a curve, as it would be: then at the same level and with the same moments as
 * playing, so that both can be laid side by side. Null for silence.
 */
export function placeBalances(
  song: SongBands,
  places: readonly Place[],
  curveDb: ArrayLike<number> | null,
  run: Run = {},
): PlaceBalance[] | null {
  const changed = curveDb ? correctedBands(song, curveDb) : song;
  const studios = new Map<number, StudioHearing | null>();
  const balances: PlaceBalance[] = [];
  for (const [i, place] of places.entries()) {
    run.signal?.throwIfAborted();
    const levelDba = place.levels.talkOverDba;
    if (!studios.has(levelDba)) studios.set(levelDba, hearInStudio(song, levelDba));
    const studio = studios.get(levelDba);
    if (!studio) return null;
    const effect = placeEffect(changed, place, studio);
    balances.push({
      placeId: place.id,
      levelDba,
      areas: effect.bands.map(({ band, sone, heardShare }) => {
        const share = effect.meanSone > 0 ? sone / effect.meanSone : 0;
        return { area: band, sharePhon: share > leastShare ? 10 * Math.log2(share) : null, heardShare };
      }),
      levelsDb: effect.levelsDb,
    });
    run.progress?.((i + 1) / places.length);
  }
  return balances;
}
