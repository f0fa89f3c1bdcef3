/** How loud the desk is at the ear; rough, and said to be. */
export interface Calibration {
  /** A-weighted level for a sound of 0 LUFS with the desk's own level at 0 dB, dB SPL. */
  readonly splAtZeroLufsDb: number;
  /** How far off that may be either way, dB. */
  readonly uncertaintyDb: number;
  readonly by: 'meter' | 'talk';
}

/** How one has to speak to be understood at arm's length over the calibration noise. */
export type Voice = 'normal' | 'raised' | 'loud' | 'shouting';

/** What was found out while the calibration noise played. */
export type Heard =
  | { readonly by: 'meter'; readonly splDb: number; readonly noiseLufs: number }
  | { readonly by: 'talk'; readonly voice: Voice; readonly noiseLufs: number };

/**
 * Level of a sound over which that voice is just understood at arm's length, dBA. Heuristic. What it leans on: talkers are
 * heard at 55 to 66 dBA in most places, and in 73 to 77 dBA of noise people still talk with effort (Pearsons, Bennett & Fidell
 * 1977, read in an abstract); having to raise one's voice at arm's length hints at 85 dBA and more (advice of NIOSH, from
 * memory). Rather too high than too low.
 */
const talkedOverDb: Readonly<Record<Voice, number>> = { normal: 66, raised: 77, loud: 84, shouting: 92 };
/** Heuristic: rooms, voices and ears differ by about as much as one step. */
const talkUncertaintyDb = 8;
/** Heuristic: the microphones of phones differ by a few decibels from a sound level meter. */
const meterUncertaintyDb = 4;

export function calibrationOf(heard: Heard): Calibration {
  const splDb = heard.by === 'meter' ? heard.splDb : talkedOverDb[heard.voice];
  return {
    splAtZeroLufsDb: splDb - heard.noiseLufs,
    uncertaintyDb: heard.by === 'meter' ? meterUncertaintyDb : talkUncertaintyDb,
    by: heard.by,
  };
}

/**
 * Loudness less A-weighted level of pink noise from 20 Hz to 20 kHz in two channels, the sound that is calibrated with, dB: K-
 * and A-weighting (IEC 61672-1, Annex E, from memory) of equal power in every octave, the offset of BS.1770, and its adding
 * the channels (3.01 dB) where the level is their mean (computed in a test).
 */
export const pinkLufsOverDba = 6.6;

/** A-weighted level at the ear, dB SPL, of what was sent out with this A-weighted level, mean of the two channels, dBFS. */
export function splOf(levelDbfsA: number, { splAtZeroLufsDb }: Calibration): number {
  return levelDbfsA + pinkLufsOverDba + splAtZeroLufsDb;
}
