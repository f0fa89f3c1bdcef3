import type { Run } from '../audio/run.ts';
import type { Place } from './place.ts';
import { hearInStudio, type PlaceEffect, placeEffect, type StudioHearing } from './place-effect.ts';
import type { SongBands } from './song-bands.ts';

export interface PlaceEffects {
  readonly placeId: string;
  /** Null where the song is silent. */
  readonly talkOver: PlaceEffect | null;
  readonly loud: PlaceEffect | null;
}

/** A level of its own for all places instead of what each has, dB(A). */
export interface LevelChoice {
  readonly talkOverDba?: number;
  readonly loudDba?: number;
}

/** A song in every place, at talk-over level and loud. The studio is heard once a level. */
export function effectsInPlaces(
  song: SongBands,
  places: readonly Place[],
  levels: LevelChoice = {},
  run: Run = {},
): PlaceEffects[] {
  const studios = new Map<number, StudioHearing | null>();
  const effect = (place: Place, levelDba: number): PlaceEffect | null => {
    run.signal?.throwIfAborted();
    if (!studios.has(levelDba)) studios.set(levelDba, hearInStudio(song, levelDba));
    const reference = studios.get(levelDba);
    return reference ? placeEffect(song, place, reference) : null;
  };
  return places.map((place, i) => {
    const effects = {
      placeId: place.id,
      talkOver: effect(place, levels.talkOverDba ?? place.levels.talkOverDba),
      loud: effect(place, levels.loudDba ?? place.levels.loudDba),
    };
    run.progress?.((i + 1) / places.length);
    return effects;
  });
}
