import { leadIntelligibility, splitMiddle } from '../../places/lead-voice.ts';
import type { Place } from '../../places/place.ts';
import {
  hearInStudio,
  type PlaceEffect,
  placeEffect,
  type StudioHearing,
} from '../../places/place-effect.ts';
import { powerGainFor } from '../../places/place-level.ts';
import type { SongBands } from '../../places/song-bands.ts';
import { type KeptBands, unpackBands } from '../places/kept-bands.ts';
import type { KeptLead } from './lead-bands.ts';
import type { Task } from './task.ts';

/** A song in one place at one level. */
export interface EffectOfSong {
  /** null for silence. */
  readonly effect: PlaceEffect | null;
  /** Third octaves in the studio at the same level, dB SPL. */
  readonly studioLevelsDb: readonly number[] | null;
  /** Speech intelligibility indices of the lead; null where there is none. */
  readonly lead: {
    readonly overNoise: number;
    readonly overAll: number;
    readonly activeShare: number;
  } | null;
}

export interface PlaceEffectsOptions {
  readonly bands: KeptBands;
  /** null: guessed from what the sides share. */
  readonly lead: KeptLead | null;
  readonly places: readonly { readonly place: Place; readonly levelDba: number }[];
}

/** A song in some places, from its bands. What it answers is kept place by place: `src/bench/places/effects.ts`. */
export const placeEffectsTask: Task<PlaceEffectsOptions, EffectOfSong[]> = {
  name: 'place-effects',
  version: 2,
  timeLimitSeconds: 10 * 60,
  async run({ options: { bands, lead: keptLead, places } }, run) {
    const song = unpackBands(bands);
    const { lead, others } = keptLead
      ? { lead: unpackBands(keptLead.lead), others: unpackBands(keptLead.others) }
      : splitMiddle(song);
    const studios = new Map<number, StudioHearing | null>();
    return places.map(({ place, levelDba }, i): EffectOfSong => {
      if (!studios.has(levelDba)) studios.set(levelDba, hearInStudio(song, levelDba));
      const studio = studios.get(levelDba);
      run.progress?.((i + 1) / places.length);
      if (!studio) return { effect: null, studioLevelsDb: null, lead: null };
      return {
        effect: placeEffect(song, place, studio),
        studioLevelsDb: Array.from(
          studio.hearing.meanPowers,
          (power) => 10 * Math.log10(Math.max(power, 1e-12)),
        ),
        lead: leadIn(song, lead, others, place, levelDba),
      };
    });
  },
};

function leadIn(song: SongBands, lead: SongBands, others: SongBands, place: Place, levelDba: number) {
  const gain = powerGainFor(song, place, levelDba);
  const found = gain === null ? null : leadIntelligibility(lead, others, place, gain);
  if (!found) return null;
  const { overNoise, overAll, activeShare } = found;
  return { overNoise: overNoise.index, overAll: overAll.index, activeShare };
}
