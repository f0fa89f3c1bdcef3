import { z } from 'zod';

/**
 * The shapes of the listening desk in the HTTP interface.
 *
 * GET  /api/desk/songs/:songId?base         DeskSong: the versions of a song and how they lie on one timeline
 * GET  /api/desk/sets/:setId                { sources: DeskSource[] }: the references of a set that have been checked, each on its
 *                                           own clock
 * GET  /api/versions/:versionId/sound?rate&base&from&frames
 *                                           application/octet-stream: interleaved 32-bit float little-endian, two channels,
 *                                           `frames` of them from frame `from` of the timeline at `rate` (zeros outside the
 *                                           sound); converted, moved to the timeline of `base` (another version of the song;
 *                                           itself when left out) and kept on the first request. Headers
 *                                           x-everyroom-frames (length of the timeline at `rate`, frames)
 * POST /api/desk/match                      MatchRequest -> Match
 * GET  /api/desk/level                      Level
 * GET  /api/desk/level/at-ear?name&lufs     AtEar: how loud a sound of that loudness is where the listener sits (without `lufs`: a
 *                                           sound that has no loudness)
 * PUT  /api/desk/level                      LevelPatch -> Level
 * POST /api/desk/exposure                   ExposureReport -> Level: what was heard since the last one
 */
const spanSchema = z.object({ startSeconds: z.number(), endSeconds: z.number() });

export const deskSourceSchema = z.object({
  versionId: z.string(),
  songId: z.string(),
  name: z.string(),
  songTitle: z.string(),
  kind: z.enum(['mix', 'master', 'reference']),
  sampleRate: z.number(),
  channels: z.number().int(),
  seconds: z.number(),
  integratedLufs: z.number().nullable(),
  truePeakDbtp: z.number().nullable(),
  /** In the source's own time, in order; empty when nothing was found. */
  sections: z.array(spanSchema.extend({ label: z.string(), loudnessLufs: z.number().nullable() })),
  /** Index in `sections` of the loudest that can stand for the song. */
  loudestSection: z.number().int().nullable(),
  /**
   * How it lies on the base's timeline: found by aligning. 'itself' is the base; 'waiting' is being worked out;
   * 'unlike' could not be laid beside it (another song; `reason` says so) and plays from its own beginning.
   */
  aligned: z.enum(['itself', 'aligned', 'waiting', 'unlike']),
  reason: z.string().nullable(),
  offsetSeconds: z.number(),
  driftPpm: z.number(),
  inverted: z.boolean(),
  /** Whether its sides have changed places against the base's; it is played as it is. */
  swapped: z.boolean(),
  /** What a service that plays every song at one loudness would turn it by, dB. */
  serviceGainDb: z.number().max(0),
});
export const deskReferencesSchema = z.object({ sources: z.array(deskSourceSchema) });
export const deskSongSchema = z.object({
  songId: z.string(),
  title: z.string(),
  /** The version whose clock is the song's: the newest checked one when not asked for. */
  baseVersionId: z.string(),
  /** Versions of the song that have been checked, oldest first. */
  sources: z.array(deskSourceSchema),
  /** Names of versions that cannot be heard yet, with the reason (not checked yet; cannot be read). */
  missing: z.array(z.object({ versionId: z.string(), name: z.string(), reason: z.string() })),
});

/** Which sound is asked for; see the head of this file. */
export const soundQuery = z.object({
  rate: z.coerce.number().int().min(8000).max(192_000),
  base: z.string().optional(),
  from: z.coerce.number().int().min(-1e9).max(1e10),
  frames: z.coerce
    .number()
    .int()
    .min(1)
    .max(1 << 20),
});

export const matchRequest = z.object({
  /** The parts that will be heard, each in its own source's file time (not the timeline of the base). */
  parts: z
    .array(z.object({ versionId: z.string(), startSeconds: z.number().min(0), endSeconds: z.number() }))
    .min(1)
    .max(40),
});
export const matchSchema = z.object({
  /** In the order asked for. */
  parts: z.array(
    z.object({
      versionId: z.string(),
      /** Integrated loudness of that part; null when too short or silent, and then its gain is 0. */
      loudnessLufs: z.number().nullable(),
      /** At most 0: everything is brought down to the quietest. */
      gainDb: z.number().max(0),
    }),
  ),
  /** The loudness all are brought to; null when no part has one. */
  matchedLufs: z.number().nullable(),
});

const listenerSchema = z.enum(['adult', 'sensitive']);

/** What is known of how loud the listener hears, and for how long. */
export const levelSchema = z.object({
  calibration: z
    .object({
      /** A-weighted level at the ear for a sound of 0 LUFS with the desk's own level at 0 dB, dB SPL; rough. */
      splAtZeroLufsDb: z.number(),
      /** How far off that may be either way, dB. */
      uncertaintyDb: z.number(),
      /** 'meter': read from a level meter; 'talk': from whether one can talk over it. */
      by: z.enum(['meter', 'talk']),
      madeAt: z.string(),
    })
    .nullable(),
  /** Sound heard in the last seven days and today, as shares of the weekly (WHO–ITU H.870) and daily (NIOSH) allowance. */
  week: z.object({ seconds: z.number(), shareOfAllowance: z.number().nullable() }),
  today: z.object({ seconds: z.number(), shareOfAllowance: z.number().nullable() }),
  /** Seconds listened without a pause of five minutes, for suggesting one. */
  sinceBreakSeconds: z.number(),
  /** What to say now, in plain words; null when nothing needs saying. */
  advice: z.string().nullable(),
  /** Whose weekly allowance: WHO–ITU H.870 gives adults 80 dBA for 40 h, sensitive listeners (children) 75 dBA. */
  listener: listenerSchema,
  /** Whether the caution of the first visit has been read. */
  cautionRead: z.boolean(),
});
export const levelPatch = z.object({
  calibration: levelSchema.shape.calibration.unwrap().omit({ madeAt: true }).nullable().optional(),
  /** The calibration made from what was heard, instead of `calibration`; the uncertainty is filled in. */
  heard: z
    .discriminatedUnion('by', [
      /** What a level meter showed, dBA, where the ears are. */
      z.object({ by: z.literal('meter'), splDb: z.number().min(30).max(120), noiseLufs: z.number() }),
      /** How one has to speak to be understood at arm's length over it. */
      z.object({
        by: z.literal('talk'),
        voice: z.enum(['normal', 'raised', 'loud', 'shouting']),
        noiseLufs: z.number(),
      }),
    ])
    .optional(),
  listener: listenerSchema.optional(),
  cautionRead: z.boolean().optional(),
});
export const atEarQuery = z.object({
  /** What a person calls the sound. */
  name: z.string().max(1000),
  /** As it is sent out, LUFS. */
  lufs: z.coerce.number().min(-200).max(60).optional(),
});
export const atEarSchema = z.object({
  /** A-weighted level where the listener sits, dB SPL, rough; null before there is a calibration, and for silence. */
  splDb: z.number().nullable(),
  sentence: z.string(),
});
export const exposureReport = z.object({
  /** Length of the stretch that was heard, s. */
  seconds: z.number().min(0).max(600),
  /** A-weighted mean level of what was sent out during it, dB relative to full scale (power of a full-scale square is 0; mean of the two channels); null: silence. */
  levelDbfsA: z.number().nullable(),
});

export type DeskSource = z.infer<typeof deskSourceSchema>;
export type DeskSong = z.infer<typeof deskSongSchema>;
export type MatchRequest = z.input<typeof matchRequest>;
export type Match = z.infer<typeof matchSchema>;
export type Level = z.infer<typeof levelSchema>;
export type LevelPatch = z.input<typeof levelPatch>;
export type AtEar = z.infer<typeof atEarSchema>;
export type ExposureReport = z.input<typeof exposureReport>;
