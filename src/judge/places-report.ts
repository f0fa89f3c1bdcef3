import { z } from 'zod';
import { wideBandNames } from '../measure/wide-bands.ts';
import { placeSchema } from '../places/place.ts';

/** At which of a place's levels a song is heard there, or one level in dB(A) for all. */
export const placeLevelSchema = z.union([z.enum(['talk-over', 'loud']), z.number().min(30).max(110)]);

const share = z.number().nullable();

export const placeEffectSchema = z.object({
  placeId: z.string(),
  levelDba: z.number(),
  noiseDba: z.number().nullable(),
  bands: z.array(
    z.object({
      band: z.enum(wideBandNames),
      lowHz: z.number(),
      highHz: z.number(),
      /** Share of the song's time in which it plays anything there; the other shares are of that time. */
      activeShare: z.number(),
      heardShare: share,
      underNoiseShare: share,
      underThresholdShare: share,
      /** Against the studio at the same level; null where it is not heard. */
      balanceShiftPhon: z.number().nullable(),
      sone: z.number(),
      /** Share heard in each `timelineSeconds`; null where nothing plays. At most 120. */
      timeline: z.array(share),
    }),
  ),
  timelineSeconds: z.number(),
  meanSone: z.number(),
  n5Sone: z.number(),
  loudnessLossPhon: z.number(),
  lostShare: z.number(),
  bassCarriedShare: z.number().nullable(),
  /** Correlation, -1 to 1. */
  harmonicsFollow: z.number().nullable(),
  monoLossDb: z.number().nullable(),
  harshnessPhon: z.number(),
  protection: z.object({
    activeShare: z.number(),
    deepestDb: z.number(),
    movementDbPerSecond: z.number(),
  }),
  /** Third octaves of the song at the listener, dB SPL; centres in the report's `centresHz`. */
  levelsDb: z.array(z.number()),
});

/** Between the lowest and the highest of the references that have the figure. */
const range = z.object({ low: z.number(), high: z.number(), count: z.number().int() }).nullable();

export const placeFigureSchema = z.object({
  /** 'heard-low', 'balance-mid', 'lost', ...: src/places/place-against.ts */
  name: z.string(),
  /** Share 0..1, phon, dB or dB a second. */
  value: z.number(),
  references: range,
  /** How far outside them, in steps of what is worth a word: 0 inside, 1 just worth it; negative below. */
  outside: z.number(),
});

/** How well the words get through: the speech intelligibility index of ANSI S3.5, 0..1. */
export const placeLeadSchema = z.object({
  /** Against the noise of the place alone, and against that and everything else that plays. */
  overNoise: z.number(),
  overAll: z.number(),
  /** Share of the time in which the lead sounds. */
  activeShare: z.number(),
  /** `overAll` of the references, whose lead is always guessed. */
  references: range,
});

export const songInPlaceSchema = z.object({
  /** As it was when this was worked out. */
  place: placeSchema,
  /** What is heard; null where the song is silent. */
  effect: placeEffectSchema.nullable(),
  /** Worst first. */
  figures: z.array(placeFigureSchema),
  /** One sentence. */
  headline: z.string(),
  /** Worst first; only what lies outside what the references do. */
  sentences: z.array(z.object({ text: z.string(), outside: z.number() })),
  severity: z.number(),
  lead: placeLeadSchema.nullable(),
  /** Third octaves at the listener, dB SPL: of the song in the studio at the same level, and of the place's noise. */
  studioLevelsDb: z.array(z.number()).nullable(),
  noiseLevelsDb: z.array(z.number()).nullable(),
});

const file = z.object({ name: z.string(), sha256: z.string(), seconds: z.number() });

/** A song in places: what `places --json` prints, the server keeps and the page draws. */
export const placesReportSchema = z.object({
  file,
  level: placeLevelSchema,
  against: z.object({
    /** Of the reference set; null where the references were named one by one or there are none. */
    setName: z.string().nullable(),
    references: z.array(file),
    /** References that are silent, or could not be read; each with why. */
    leftOut: z.array(z.object({ name: z.string(), reason: z.string() })),
  }),
  /** How the lead was told from the rest: a file of it alone, a file without it, or guessed from what the sides share. */
  leadFrom: z.enum(['stem', 'instrumental', 'guess']),
  /** What is to be said of that; of a guess, that it flatters dense songs. */
  leadNote: z.string(),
  /** One sentence on all places. */
  headline: z.string(),
  centresHz: z.array(z.number()),
  /** Worst first. */
  places: z.array(songInPlaceSchema),
});

export type PlaceLevel = z.infer<typeof placeLevelSchema>;
export type SongInPlace = z.infer<typeof songInPlaceSchema>;
export type PlacesReport = z.infer<typeof placesReportSchema>;
