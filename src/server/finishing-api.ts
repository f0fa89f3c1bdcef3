import { z } from 'zod';
import { ceilingStepSchema, finishReportSchema } from '../judge/finish-report.ts';
import { jobSchema, versionKind } from './api.ts';

/**
 * The shapes of finishing in the HTTP interface.
 *
 * POST   /api/versions/:versionId/finish     FinishRequest -> Job ('finish'): renders the version through the chain; the result
 *                                            is a new version of the same song. An unfinished job with the same request is it
 * POST   /api/versions/:versionId/loudness   LoudnessRequest -> Job ('loudness'): the same chain at several loudnesses, kept as
 *                                            drafts that the desk can play; a newer request replaces an unfinished one
 * GET    /api/versions/:versionId/finishing  Finishing: what was asked of this version and what came of it
 * GET    /api/versions/:versionId/made-from  { made: Made | null }: how this version was finished, when it was finished here
 * POST   /api/versions/:versionId/chain-loudness  ChainLoudnessRequest -> ChainLoudness: how loud the chain's render is; answers
 *                                            when it has been found out (about a second a minute of sound), kept
 * POST   /api/versions/:versionId/ceiling-steps   CeilingStepsRequest -> { steps: CeilingStep[] }: what each tenth of ceiling
 *                                            costs; answers when it has been found out, kept
 * GET    /api/drafts/:draftId/sound?rate&from&frames  as /api/versions/:versionId/sound (desk-api.ts), on the source version's clock
 * POST   /api/drafts/:draftId/keep           KeepDraft -> Version: the draft becomes a version; no sample is rendered again
 * DELETE /api/drafts/:draftId                204
 *
 * Jobs are watched and cancelled like all others (api.ts). GET /api/events tells 'finish' with { versionId } (of the version
 * that is finished) when its Finishing reads differently.
 */

/** A chain as plain data; what is wrong with it is told as CHAIN_INVALID, with a sentence. */
export const chainBody = z.object({ version: z.number(), parts: z.array(z.unknown()).max(32) });

export const finishGoals = z.object({
  /** Integrated loudness of what is written, LUFS; reached by the limiter's gain. The chain's own level when left out. */
  loudnessLufs: z.number().min(-40).max(-3).optional(),
  /** Ceiling of the limiter, dBTP; the chain's own when left out. Not together with `survive`. */
  ceilingDbtp: z.number().min(-20).max(0).optional(),
  /** The highest ceiling at which every one of these formats decodes at or under the limit is searched by real encodes. */
  survive: z
    .object({
      formatIds: z.array(z.string().max(40)).min(1).max(40),
      limitDbtp: z.number().min(-6).max(0).default(0),
    })
    .optional(),
  /** How samples are stored; when left out a dither part at the end of the chain decides, 24 bits without one. */
  bits: z.enum(['16', '24', '32f']).optional(),
});

export const finishRequest = z.object({
  chain: chainBody,
  goals: finishGoals.default({}),
  /** What the new version is called; the version's name and what was done when left out. */
  name: z.string().trim().min(1).max(200).optional(),
  kind: versionKind.default('master'),
  /** Which chain of the bench made it, as whoever asks calls it (an id, a snapshot); kept beside the version. */
  chainId: z.string().max(60).optional(),
});

export const loudnessRequest = z.object({
  chain: chainBody,
  /** LUFS, integrated. */
  candidates: z.array(z.number().min(-40).max(-3)).min(1).max(6).default([-9, -11, -14]),
  goals: finishGoals.pick({ ceilingDbtp: true, bits: true }).default({}),
});

/** A finished rendering that is no version: played like one, forgotten when room is needed. */
export const draftSchema = z.object({
  id: z.string(),
  versionId: z.string(),
  /** dB to turn it by so that it is as loud as the quietest of its choice; 0 or less. */
  equalGainDb: z.number().max(0),
  sampleRate: z.number(),
  channels: z.number().int(),
  seconds: z.number(),
  report: finishReportSchema,
});

export const loudnessChoiceSchema = z.object({
  jobId: z.string(),
  /** In the order asked for. */
  candidates: z.array(
    z.object({
      targetLufs: z.number(),
      /** null while it is not made, or when it could not be. */
      draft: draftSchema.nullable(),
      /** Why it could not be made; null otherwise. */
      failure: z.object({ code: z.string(), message: z.string() }).nullable(),
    }),
  ),
  /** What the choice comes to, plain sentences; empty until all are made. */
  sentences: z.array(z.string()),
});

/** How a version was finished. */
export const madeSchema = z.object({
  /** The version that was made, and the one it was made from. */
  versionId: z.string(),
  fromVersionId: z.string(),
  chainId: z.string().nullable(),
  goals: finishGoals,
  report: finishReportSchema,
  madeAt: z.string(),
});

export const finishingSchema = z.object({
  /** The newest job that finishes this version, and the newest loudness choice's; whatever became of them. */
  job: jobSchema.nullable(),
  loudnessJob: jobSchema.nullable(),
  /** Versions made from it, newest first. */
  made: z.array(madeSchema),
  choice: loudnessChoiceSchema.nullable(),
});

export const chainLoudnessRequest = z.object({
  chain: chainBody,
  /** Only this part of the song, seconds of the version; the whole when left out. */
  span: z.object({ startSeconds: z.number().min(0), endSeconds: z.number().positive() }).optional(),
});
export const chainLoudnessSchema = z.object({
  /** Of the render; null for silence and what is shorter than 0.4 s. */
  integratedLufs: z.number().nullable(),
  truePeakDbtp: z.number().nullable(),
  /** The same of the version as it is, same part. */
  sourceLufs: z.number().nullable(),
  sourceTruePeakDbtp: z.number().nullable(),
});

export const ceilingStepsRequest = z.object({
  chain: chainBody,
  /** The highest ceiling of the table; the limiter's own when left out. */
  fromDbtp: z.number().min(-20).max(0).optional(),
  /** Rows, a tenth of a dB apart. */
  rows: z.number().int().min(2).max(11).default(6),
});
export const ceilingStepsSchema = z.object({ steps: z.array(ceilingStepSchema) });

export const keepDraft = z.object({
  name: z.string().trim().min(1).max(200).optional(),
  kind: versionKind.default('master'),
  chainId: z.string().max(60).optional(),
});

export type FinishGoals = z.infer<typeof finishGoals>;
export type FinishRequest = z.input<typeof finishRequest>;
export type LoudnessRequest = z.input<typeof loudnessRequest>;
export type Draft = z.infer<typeof draftSchema>;
export type LoudnessChoice = z.infer<typeof loudnessChoiceSchema>;
export type Made = z.infer<typeof madeSchema>;
export type Finishing = z.infer<typeof finishingSchema>;
export type ChainLoudness = z.infer<typeof chainLoudnessSchema>;
export type CeilingStepsRequest = z.input<typeof ceilingStepsRequest>;
