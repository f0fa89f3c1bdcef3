import { percentile } from '../measure/percentile.ts';
import type { WideBandName } from '../measure/wide-bands.ts';
import { studio } from './built-in-places.ts';
import { bassBand, harmonicBand, heardBandCount, heardBands } from './heard-bands.ts';
import type { Place } from './place.ts';
import { fate, hearInPlace, type PlaceHearing } from './place-hearing.ts';
import { monoLossDb } from './place-level.ts';
import type { SongBands } from './song-bands.ts';

/** How one wide band of a song fares in a place. Shares are of the time in which the song plays something there. */
export interface BandEffect {
  readonly band: WideBandName;
  readonly lowHz: number;
  readonly highHz: number;
  /** Share of the song's time in which it plays anything there, as heard in the studio at the same level. */
  readonly activeShare: number;
  /** Null where the song plays nothing in this band. */
  readonly heardShare: number | null;
  readonly underNoiseShare: number | null;
  readonly underThresholdShare: number | null;
  /** How its share of the whole loudness moves from the studio to here, phon (10 lb of the ratio); null when not heard. */
  readonly balanceShiftPhon: number | null;
  /** Mean partial loudness of it, sone. */
  readonly sone: number;
  /** Share of time heard in stretches of `timelineSeconds`, null where it does not play; at most 120. */
  readonly timeline: readonly (number | null)[];
}

/** What a place does to a song at one level. */
export interface PlaceEffect {
  readonly placeId: string;
  readonly levelDba: number;
  readonly noiseDba: number | null;
  readonly bands: readonly BandEffect[];
  readonly timelineSeconds: number;
  /** Mean partial loudness, and that exceeded 5 % of the time, sone. */
  readonly meanSone: number;
  readonly n5Sone: number;
  /** Loudness that noise and loudspeaker take, phon, against the studio at the same level. */
  readonly loudnessLossPhon: number;
  /** Share of the time in which nothing of the song is heard though it plays. */
  readonly lostShare: number;
  /** Of the time in which the bass itself is not heard: share in which its harmonics between 90 and 450 Hz are. */
  readonly bassCarriedShare: number | null;
  /** How closely those harmonics follow the bass, correlation of their levels -1 to 1; null when the bass is steady. */
  readonly harmonicsFollow: number | null;
  /** Level that mono takes, dB A-weighted; null where the place is not mono. */
  readonly monoLossDb: number | null;
  /** How much more of the loudness the loud moments have from 2.2 to 5.6 kHz than in the studio, phon. */
  readonly harshnessPhon: number;
  readonly protection: {
    /** Share of time in which it takes more than 1 dB. */
    readonly activeShare: number;
    readonly deepestDb: number;
    /** How far its gain moves up and down, dB a second: pumping. */
    readonly movementDbPerSecond: number;
  };
  /** Third-octave levels of the song at the listener, 20 Hz to 20 kHz, dB SPL. */
  readonly levelsDb: readonly number[];
}

/** A band plays when its strongest third octave is heard in quiet and within this of its own loud moments, dB (heuristic). */
const playsWithinDb = 20;
const longestTimeline = 120;
/** Below this a sound counts as gone, sone (heuristic: a tenth of a 40-phon tone). */
const goneSone = 0.1;
/** Ratios of loudness are told down to here: 60 phon less is nothing. */
const leastRatio = 2 ** -6;

/** The song as heard in the studio at a level, which everything is told against. */
export interface StudioHearing {
  readonly levelDba: number;
  readonly hearing: PlaceHearing;
  /** Whether a band plays in a step. */
  readonly plays: Uint8Array;
}

/** Null for silence. */
export function hearInStudio(song: SongBands, levelDba: number): StudioHearing | null {
  const hearing = hearInPlace(song, studio, levelDba);
  if (!hearing) return null;
  const { steps, strongest, fates } = hearing;
  const plays = new Uint8Array(steps * heardBandCount);
  for (let w = 0; w < heardBandCount; w++) {
    const levels = Array.from({ length: steps }, (_, s) => strongest[s * heardBandCount + w]);
    const least = percentile(levels, 0.95) * 10 ** (-0.1 * playsWithinDb);
    for (let s = 0; s < steps; s++) {
      const i = s * heardBandCount + w;
      plays[i] = strongest[i] > 0 && strongest[i] >= least && fates[i] === fate.heard ? 1 : 0;
    }
  }
  return { levelDba, hearing, plays };
}

/**
 * What a place does to a song at a level.
 *
 * @param reference the same song in the studio at the same level
 */
export function placeEffect(song: SongBands, place: Place, reference: StudioHearing): PlaceEffect {
  const { levelDba, plays } = reference;
  const hearing = hearInPlace(song, place, levelDba);
  if (!hearing) throw new RangeError('a song that the studio hears is not silent');
  const { steps, stepSeconds } = hearing;
  const stepsInSlice = Math.max(1, Math.ceil(steps / longestTimeline));
  const here = totals(hearing);
  const there = totals(reference.hearing);
  const phon = (ratio: number) => 10 * Math.log2(Math.max(ratio, leastRatio));
  const bands = heardBands.map(({ name, lowHz, highHz }, w): BandEffect => {
    const shares = [0, 0, 0];
    const slices = Array.from({ length: Math.ceil(steps / stepsInSlice) }, () => [0, 0]);
    for (let s = 0; s < steps; s++) {
      const i = s * heardBandCount + w;
      if (!plays[i]) continue;
      shares[hearing.fates[i]]++;
      const slice = slices[Math.floor(s / stepsInSlice)];
      slice[0]++;
      if (hearing.fates[i] === fate.heard) slice[1]++;
    }
    const active = shares[0] + shares[1] + shares[2];
    const shareOf = (which: number) => (active > 0 ? shares[which] / active : null);
    const shift = here.bands[w] > 0 && there.bands[w] > 0;
    return {
      band: name,
      lowHz,
      highHz,
      activeShare: active / steps,
      heardShare: shareOf(fate.heard),
      underNoiseShare: shareOf(fate.underNoise),
      underThresholdShare: shareOf(fate.underThreshold),
      balanceShiftPhon: shift ? phon(here.bands[w] / here.mean / (there.bands[w] / there.mean)) : null,
      sone: here.bands[w],
      timeline: slices.map(([all, heard]) => (all > 0 ? heard / all : null)),
    };
  });
  return {
    placeId: place.id,
    levelDba,
    noiseDba: place.noise?.levelDba ?? null,
    bands,
    timelineSeconds: stepsInSlice * stepSeconds,
    meanSone: here.mean,
    n5Sone: here.n5,
    loudnessLossPhon: phon(there.mean / Math.max(here.mean, 1e-9)),
    lostShare: lostShare(hearing, plays),
    ...bassCarried(hearing, reference),
    monoLossDb: place.layout.kind === 'mono' ? monoLossDb(song).allDb : null,
    harshnessPhon: phon(here.harsh / Math.max(there.harsh, 1e-9)),
    protection: protectionOf(hearing),
    levelsDb: Array.from(hearing.meanPowers, (power) => 10 * Math.log10(Math.max(power, 1e-12))),
  };
}

/** Mean loudness by wide band and of all, N5, and the share of harsh sound that 5 % of the loud half exceed. */
function totals({ steps, sone, sharpSone }: PlaceHearing) {
  const bands = new Float64Array(heardBandCount);
  const all = new Float64Array(steps);
  for (let s = 0; s < steps; s++)
    for (let w = 0; w < heardBandCount; w++) {
      const value = sone[s * heardBandCount + w];
      bands[w] += value;
      all[s] += value;
    }
  const values = Array.from(all);
  const median = percentile(values, 0.5);
  const sharp = values.flatMap((value, s) => (value >= median && value > 0 ? [sharpSone[s] / value] : []));
  return {
    bands: bands.map((sum) => sum / steps),
    mean: values.reduce((sum, value) => sum + value, 0) / steps,
    n5: percentile(values, 0.95),
    harsh: sharp.length > 0 ? percentile(sharp, 0.95) : 0,
  };
}

function lostShare({ steps, sone }: PlaceHearing, plays: Uint8Array): number {
  let [active, lost] = [0, 0];
  for (let s = 0; s < steps; s++) {
    const at = s * heardBandCount;
    if (!plays.subarray(at, at + heardBandCount).includes(1)) continue;
    active++;
    if (sone.subarray(at, at + heardBandCount).reduce((sum, value) => sum + value, 0) < goneSone) lost++;
  }
  return active > 0 ? lost / active : 0;
}

function bassCarried({ steps, fates }: PlaceHearing, { plays, hearing: there }: StudioHearing) {
  let [missing, carried] = [0, 0];
  const pairs: [number, number][] = [];
  for (let s = 0; s < steps; s++) {
    const bass = s * heardBandCount + bassBand;
    const harmonic = s * heardBandCount + harmonicBand;
    if (!plays[bass]) continue;
    if (there.strongest[harmonic] > 0)
      pairs.push([Math.log(there.strongest[bass]), Math.log(there.strongest[harmonic])]);
    if (fates[bass] === fate.heard) continue;
    missing++;
    if (plays[harmonic] && fates[harmonic] === fate.heard) carried++;
  }
  return {
    bassCarriedShare: missing > 0 ? carried / missing : null,
    harmonicsFollow: correlation(pairs),
  };
}

function correlation(pairs: readonly (readonly [number, number])[]): number | null {
  if (pairs.length < 10) return null;
  const mean = (side: 0 | 1) => pairs.reduce((sum, pair) => sum + pair[side], 0) / pairs.length;
  const [mx, my] = [mean(0), mean(1)];
  let [xx, yy, xy] = [0, 0, 0];
  for (const [x, y] of pairs) {
    xx += (x - mx) ** 2;
    yy += (y - my) ** 2;
    xy += (x - mx) * (y - my);
  }
  // Natural logarithm of power: 0.23 is 1 dB.
  const steady = Math.min(xx, yy) / pairs.length < 0.23 ** 2;
  return steady ? null : xy / Math.sqrt(xx * yy);
}

function protectionOf({ steps, stepSeconds, bassReductionDb, levelReductionDb }: PlaceHearing) {
  let [active, deepest, movement, before] = [0, 0, 0, 0];
  for (let s = 0; s < steps; s++) {
    const reduction = Math.max(bassReductionDb[s], levelReductionDb[s]);
    if (reduction > 1) active++;
    deepest = Math.max(deepest, reduction);
    if (s > 0) movement += Math.abs(reduction - before);
    before = reduction;
  }
  return {
    activeShare: active / steps,
    deepestDb: deepest,
    movementDbPerSecond: movement / (steps * stepSeconds),
  };
}
