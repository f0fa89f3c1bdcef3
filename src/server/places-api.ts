import { z } from 'zod';
import { measuredSchema } from '../judge/measured-report.ts';
import { placeLevelSchema, placesReportSchema } from '../judge/places-report.ts';
import { placeFigures, placeSchema } from '../places/place.ts';
import { jobSchema } from './api.ts';

/**
 * Places in the HTTP interface: the library, a song in places, measuring one's own.
 *
 * GET    /api/places                         { places: PlaceEntry[] }: the built-in ones in their order, the studio last;
 *                                            then the user's own by name
 * GET    /api/places/:placeId                PlaceEntry
 * POST   /api/places                         NewPlace -> 201 PlaceEntry: an own place
 * POST   /api/places/:placeId/copy           { name? } -> 201 PlaceEntry
 * PATCH  /api/places/:placeId                PlacePatch -> 200 PlaceEntry; of a built-in place 201 and a copy of it that is
 *                                            changed: built-in places stay as they are
 * DELETE /api/places/:placeId                204; POST /api/places/:placeId/restore -> PlaceEntry takes it back for a day.
 *                                            Of a built-in place 400 REQUEST_INVALID
 *
 * GET    /api/versions/:versionId/places     SongPlaces: the newest result that is kept, and the job
 * POST   /api/versions/:versionId/places     PlacesRequest -> Job of kind 'places' (the running one when it asks for the
 *                                            same, else that is replaced). GET /api/events tells 'job', and 'places'
 *                                            ({ versionId }) when the result is there
 * GET    /api/versions/:versionId/places/report   text/html, self-contained; 404 before there is a result
 *
 * GET    /api/places/sweep?seconds&levelDbfs&toHz&rate    SweepAbout: how long, and what to be careful of
 * GET    /api/places/sweep.wav?…             audio/wav, the same query: 24 bits, one channel, as a download
 *
 * GET    /api/places/measurings              { measurings: Measuring[] }, newest first
 * POST   /api/places/measurings              NewMeasuring -> 201 Measuring in state 'waiting'
 * POST   /api/places/measurings/:id/recording?name   body: the recording's bytes (application/octet-stream) -> 202
 *                                            Measuring: 'running'. Sent again, it takes the place of the one before
 * PATCH  /api/places/measurings/:id          NewMeasuring, any part -> Measuring: measured again from the same recording
 *                                            (another microphone file, another length of the sweep)
 * GET    /api/places/measurings/:id          Measuring. GET /api/events tells 'places' ({ measuringId }) at every change
 * POST   /api/places/measurings/:id/cancel   Measuring
 * DELETE /api/places/measurings/:id          204: its recording is removed at the next start
 * POST   /api/places/measurings/:id/place    MeasuredChoice -> 201 PlaceEntry: what was measured, as an own place
 *
 * GET /api/events tells 'places' with {} when the library reads differently.
 */
const name = z.string().trim().min(1).max(80);

/** One group of a place's figures and where they come from. */
export const placeSourceSchema = z.object({
  group: z.enum(placeFigures),
  /** Id of docs/sources.md; 'measured' for one's own, 'user' for what the user set. */
  id: z.string(),
  title: z.string(),
  /** True where it is no more than a choice of this project. */
  assumption: z.boolean(),
  note: z.string(),
});

export const placeEntrySchema = z.object({
  place: placeSchema,
  /** Comes with the program and stays as it is. */
  builtIn: z.boolean(),
  /** The place it is a copy of, under that one's name at the time; null for others. */
  from: z.object({ placeId: z.string(), name: z.string() }).nullable(),
  /** null for built-in places. */
  changedAt: z.string().nullable(),
  sources: z.array(placeSourceSchema),
});

/** All that can be changed; what is left out stays. */
export const placePatch = placeSchema.omit({ id: true, sources: true }).extend({ name }).partial();
export const newPlace = placeSchema.omit({ id: true, sources: true }).extend({ name });
export const placeCopy = z.object({ name: name.optional() });

const placeIds = z.array(z.string().max(100)).min(1).max(100);
const versionIds = z.array(z.string().max(100)).max(50);

export const placesRequest = z.object({
  /** 'talk-over', 'loud', or one level for all places, dB(A). */
  level: placeLevelSchema.default('talk-over'),
  /** All built-in and own places when left out. */
  placeIds: placeIds.optional(),
  /** References: those of a set, or versions; neither: against this project's own bounds. */
  setId: z.string().optional(),
  referenceIds: versionIds.optional(),
  /** A version of the same song that is only its lead, or all but its lead. At most one of the two. */
  leadVersionId: z.string().optional(),
  instrumentalVersionId: z.string().optional(),
});
export const placesSettingsSchema = z.object({
  level: placeLevelSchema,
  /** null: all there are. */
  placeIds: z.array(z.string()).nullable(),
  setId: z.string().nullable(),
  referenceIds: z.array(z.string()),
  leadVersionId: z.string().nullable(),
  instrumentalVersionId: z.string().nullable(),
});
export const songPlacesSchema = z.object({
  /** The newest run; null when none was ever started. */
  job: jobSchema.nullable(),
  /** What the report was made with. */
  settings: placesSettingsSchema.nullable(),
  report: placesReportSchema.nullable(),
  /** Whether a place, or the set, has been changed since; then asking again gives another result. */
  stale: z.boolean(),
  madeAt: z.string().nullable(),
});

export const sweepQuery = z.object({
  /** Length of the main sweep, s. */
  seconds: z.coerce.number().min(2).max(30).default(10),
  /** Its peak, dBFS. */
  levelDbfs: z.coerce.number().min(-60).max(-6).default(-12),
  toHz: z.coerce.number().min(8000).max(22000).default(20000),
  /** Sample rate, Hz. */
  rate: z.coerce.number().int().min(44100).max(192000).default(48000),
});
export const sweepAboutSchema = z.object({
  /** Of the whole signal. */
  seconds: z.number(),
  quietStartSeconds: z.number(),
  quietDbfs: z.number(),
  mainStartSeconds: z.number(),
  mainSeconds: z.number(),
  mainDbfs: z.number(),
  /** Before it is played: ears, tweeters, cars. Most important first. */
  cautions: z.array(z.string()),
  /** How to do it, in order. */
  steps: z.array(z.string()),
});

/** What the recording is of. */
export const measuringPatch = z.object({
  /** The version that was played there instead of a sweep; null: a sweep. */
  referenceVersionId: z.string().nullable().optional(),
  /** Length of the sweep's main part as it was made, s; null: the usual lengths (5, 10 and 20 s) are tried. */
  sweepSeconds: z.number().min(2).max(30).nullable().optional(),
  sweepToHz: z.number().min(8000).max(22000).optional(),
  /** Text of the microphone's file: lines of Hz and dB; null: none. */
  microphone: z.string().max(200_000).nullable().optional(),
});

export const measuringSchema = z.object({
  id: z.string(),
  state: z.enum(['waiting', 'running', 'done', 'failed', 'cancelled']),
  stage: z.string(),
  /** 0..1 */
  progress: z.number(),
  error: z.object({ code: z.string(), message: z.string() }).nullable(),
  recording: z.object({ name: z.string(), sha256: z.string(), bytes: z.number() }).nullable(),
  referenceVersionId: z.string().nullable(),
  sweepSeconds: z.number().nullable(),
  sweepToHz: z.number(),
  /** Points of the microphone's curve; 0 without one. */
  microphonePoints: z.number().int(),
  measured: measuredSchema.nullable(),
  /** The place that was last made of it. */
  placeId: z.string().nullable(),
  createdAt: z.string(),
});

/** What a recording cannot know. */
export const measuredChoice = z.object({
  name,
  layout: placeSchema.shape.layout,
  noiseDba: z.number().min(0).max(110),
  talkOverDba: z.number().min(30).max(110).default(62),
  loudDba: z.number().min(30).max(120).default(80),
});

export type PlaceSource = z.infer<typeof placeSourceSchema>;
export type PlaceEntry = z.infer<typeof placeEntrySchema>;
export type PlacePatch = z.input<typeof placePatch>;
export type NewPlace = z.input<typeof newPlace>;
export type PlacesRequest = z.input<typeof placesRequest>;
export type PlacesSettings = z.infer<typeof placesSettingsSchema>;
export type SongPlaces = z.infer<typeof songPlacesSchema>;
export type SweepQuery = z.input<typeof sweepQuery>;
export type SweepAbout = z.infer<typeof sweepAboutSchema>;
/** What is left out: a sweep of a usual length to 20 kHz, no microphone file. */
export type NewMeasuring = z.input<typeof measuringPatch>;
export type MeasuringPatch = z.input<typeof measuringPatch>;
export type { Measured } from '../judge/measured-report.ts';
export type Measuring = z.infer<typeof measuringSchema>;
export type MeasuredChoice = z.input<typeof measuredChoice>;
