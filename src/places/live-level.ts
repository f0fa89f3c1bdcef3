import { pinkLufsOverDba } from '../hearing/calibration.ts';
import { kPower } from '../signal/k-weighting.ts';
import type { Place } from './place.ts';
import { aWeightedPower, bandCentresHz, bandGains } from './place-curve.ts';

/** A-weighted level at the ears that is assumed for what the desk plays as long as nobody has found it out, dB(A) (heuristic). */
export const assumedDeskDba = 70;

/** Mean third-octave levels of a sound, against each other; null where there is nothing. */
export interface Tone {
  readonly centresHz: readonly number[];
  readonly levelsDb: readonly (number | null)[];
}

/** K-weighting (ITU-R BS.1770) of each third octave as a power ratio. */
const kWeights = bandCentresHz.map(kPower);

/**
 * A-weighted level (mean of both sides, RMS of 1 = 0 dB) that a sound of 0 LUFS has in a place, before its protection and
 * highest level; null for where it is played without one. From the sound's mean tone, or that of pink noise. BS.1770 without
 * its gates; the layout is not looked at.
 */
function levelAtZeroLufs(tone: Tone | null, place: Place | null): number {
  const powers = Float64Array.from(bandCentresHz, (hertz) => (tone ? powerAt(tone, hertz) : 1));
  const gains = place ? bandGains(place.response) : null;
  const heard = aWeightedPower(gains ? powers.map((power, b) => power * gains[b]) : powers);
  const weighed = powers.reduce((sum, power, b) => sum + power * kWeights[b], 0);
  return weighed > 0 && heard > 0 ? 10 * Math.log10(heard / 2 / weighed) + 0.691 : -pinkLufsOverDba;
}

/** Power of the tone's band nearest to a frequency; nothing beyond its ends. */
function powerAt({ centresHz, levelsDb }: Tone, hertz: number): number {
  const i = centresHz.findIndex((centre) => Math.abs(Math.log2(centre / hertz)) < 1 / 6);
  const level = levelsDb[i] ?? null;
  return level === null ? 0 : 10 ** (level / 10);
}

export interface LiveLevelWish {
  readonly place: Place;
  /** A-weighted mean level at the listener there, dB(A). */
  readonly levelDba: number;
  readonly noise: boolean;
  /** Of what the volume there is set by. */
  readonly tone: Tone | null;
  /** Loudness that sounds have as they are sent in, LUFS. */
  readonly lufs: number;
  /** A-weighted level at the ears of a sound of 0 LUFS at the desk's own level of 0 dB; null: not known. */
  readonly splAtZeroLufsDb: number | null;
  /** The desk's own level, dB. */
  readonly levelDb: number;
}

export interface LiveLevel {
  /** What an RMS of 1 has there where the place's response is 0 dB, dB SPL. */
  readonly fullScaleDb: number;
  /** After a place that leaves sound as loud as it is, dB. */
  readonly gainDb: number;
  /** What comes to the ears, dB(A): what was asked for, or less. */
  readonly earDba: number;
  /** What the desk plays without the place, dB(A): it is never exceeded, neither by the sound nor by the noise. */
  readonly deskDba: number;
}

/** How loud a place has to be worked out, and how loud it is then played: as loud as there, but never louder than the desk is. */
export function liveLevel(wish: LiveLevelWish): LiveLevel {
  const { place, levelDba, tone, lufs, levelDb } = wish;
  const dry = lufs + levelAtZeroLufs(tone, null);
  const placed = lufs + levelAtZeroLufs(tone, place);
  // dB SPL at the ears of an RMS of 1 that is sent out at the desk's own level.
  const earDb =
    wish.splAtZeroLufsDb === null ? assumedDeskDba - dry : pinkLufsOverDba + wish.splAtZeroLufsDb + levelDb;
  const deskDba = earDb + dry;
  const loudest = Math.max(levelDba, wish.noise ? (place.noise?.levelDba ?? 0) : 0);
  const wished = levelDba + Math.min(0, deskDba - loudest) - earDb - placed;
  // What a place lifts must not go beyond full scale.
  const lift = Math.max(0, ...place.response.map(({ db }) => db));
  const gainDb = Math.min(wished, -levelDb - lift);
  return { fullScaleDb: levelDba - placed, gainDb, earDba: gainDb + earDb + placed, deskDba };
}
