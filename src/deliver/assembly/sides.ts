import type { AlbumPlan } from './album-plan.ts';

/** A side of a record to be cut. */
export interface Side {
  /** A letter. */
  readonly name: string;
  /** Indices of its songs. */
  readonly songs: readonly number[];
  /** [from, to) in frames of the record: no silence before the first song and none after the last. */
  readonly from: number;
  readonly to: number;
}

/**
 * Longest side that is cut without losing level, minutes at 33⅓ and at 45 turns, 12 inch (common practice; the louder and
 * deeper the sound, the less).
 */
export const sideMinutes = { at33: 22, at45: 14 } as const;

/**
 * The sides of a record: by the letters of its songs (a song without one is on the side of the one before), or, where none
 * has a letter, one side, or two as even as the order allows when one would be over 22 minutes.
 */
export function sidesOf(plan: AlbumPlan, letters: readonly string[]): Side[] {
  const named = letters.some((letter) => letter !== '');
  const groups: { name: string; songs: number[] }[] = [];
  const second = named ? 0 : secondSideFrom(plan);
  for (const i of plan.tracks.keys()) {
    const wanted = named ? letters[i] || groups.at(-1)?.name || 'A' : second > 0 && i >= second ? 'B' : 'A';
    const last = groups.at(-1);
    if (last?.name === wanted) last.songs.push(i);
    else groups.push({ name: wanted, songs: [i] });
  }
  return groups.map(({ name, songs }) => ({
    name,
    songs,
    from: plan.tracks[songs[0]].startFrame,
    to: plan.tracks[songs[songs.length - 1]].endFrame,
  }));
}

/** The song with which the second side begins; 0: one side is enough. */
function secondSideFrom({ tracks, frames, sampleRate }: AlbumPlan): number {
  if (frames / sampleRate <= sideMinutes.at33 * 60 || tracks.length < 2) return 0;
  let best = 1;
  const uneven = (i: number) =>
    Math.abs(tracks[i].startFrame - tracks[0].startFrame - (frames - tracks[i].startFrame));
  for (let i = 2; i < tracks.length; i++) if (uneven(i) < uneven(best)) best = i;
  return best;
}
