import { z } from 'zod';
import { recordSchema } from '../deliver/record/record.ts';

/**
 * Records over HTTP: songs in order, how they meet, their words; delivering; approvals.
 *
 * GET    /api/records                         { records: RecordSummary[] }, the one changed last first
 * POST   /api/records                         NewRecord -> 201 RecordDetail
 * GET    /api/records/profiles                { profiles: ProfileTerms[] }
 * GET    /api/records/:id                     RecordDetail
 * PUT    /api/records/:id                     a record as src/deliver/record/record.ts has it -> RecordDetail (422 RECORD_INVALID
 *                                             names the place that is wrong)
 * DELETE /api/records/:id                     204; POST /api/records/:id/restore -> RecordDetail (for a day)
 * POST   /api/records/:id/artwork?name        body: the bytes of a JPEG or PNG -> RecordDetail
 * DELETE /api/records/:id/artwork             RecordDetail
 * POST   /api/records/:id/plan                RecordPlan: what would be written, how songs stand beside each other, what is missing
 * GET    /api/records/:id/joins/:first         audio/wav: the end of song `first` (from 0) and the beginning of the next, as they meet
 * POST   /api/records/:id/deliveries          { folder? } -> 201 Delivery: begins; a folder is named by a token of GET /api/watch/folders
 * POST   /api/deliveries/:id/stop             Delivery: stands still; POST /api/deliveries/:id/resume goes on where it was
 * GET    /api/deliveries/:id/report           the report, HTML (404 before there is one)
 *
 * GET    /api/versions/:id/reviews            Reviews: what was said of a version, and whether it is approved
 * POST   /api/versions/:id/reviews/links      NewReviewLink -> 201 ReviewLink
 * DELETE /api/versions/:id/reviews/links      204: all links are dead
 * PUT    /api/versions/:id/reviews/sharing    { on, hours? } -> ReviewSharing: one version at a time; GET /api/reviews/sharing
 *
 * GET /api/events tells 'record' ({ recordId }) whenever one of these answers has changed; null: what was said of a version.
 *
 * The visitor's side, on the shared address and on loopback: GET /r/:token the page, GET /r/:token/sound the song,
 * POST /r/:token/words { what, text, atSeconds } -> 204.
 */
export const newRecord = z.object({
  title: z.string().trim().min(1).max(200),
  artist: z.string().trim().min(1).max(200),
  kind: z.enum(['single', 'ep', 'album']).default('album'),
  versionIds: z.array(z.string()).min(1).max(99),
});

export const recordSummarySchema = z.object({
  id: z.string(),
  title: z.string(),
  artist: z.string(),
  kind: z.enum(['single', 'ep', 'album']),
  songs: z.number().int(),
  changedAt: z.string(),
});

const checkSchema = z.object({
  id: z.string(),
  what: z.string(),
  passed: z.boolean(),
  wanted: z.string(),
  found: z.string(),
});
const figureSchema = z.object({
  id: z.string(),
  label: z.string(),
  unit: z.string(),
  /** How far from the middle is usual. */
  usual: z.number(),
  middle: z.number().nullable(),
  /** Of each song. */
  values: z.array(z.number().nullable()),
});
export const recordPlanSchema = z.object({
  state: z.enum(['planned', 'refused', 'done']),
  headline: z.string(),
  seconds: z.number(),
  findings: z.array(
    z.object({
      id: z.string(),
      weight: z.enum(['must', 'know']),
      sentence: z.string(),
      /** By whom it was taken on; null where it was not. */
      takenBy: z.string().nullable(),
    }),
  ),
  /** How many things stand in the way. */
  open: z.number().int(),
  tracks: z.array(z.object({ startSeconds: z.number(), seconds: z.number() })),
  figures: z.array(figureSchema),
  sentences: z.array(z.string()),
  files: z.array(
    z.object({
      name: z.string(),
      profile: z.string(),
      seconds: z.number(),
      bytes: z.number().nullable(),
      integratedLufs: z.number().nullable(),
      truePeakDbtp: z.number().nullable(),
      met: z.number().int(),
      points: z.number().int(),
      failed: z.array(checkSchema),
    }),
  ),
});

export const deliverySchema = z.object({
  id: z.string(),
  folder: z.string(),
  state: z.enum(['running', 'done', 'refused', 'failed', 'stopped']),
  stage: z.string(),
  progress: z.number(),
  result: recordPlanSchema.nullable(),
  error: z.object({ code: z.string(), message: z.string() }).nullable(),
  createdAt: z.string(),
});
export const deliveryRequest = z.object({ folder: z.string().optional() });

export const recordDetailSchema = z.object({
  id: z.string(),
  record: recordSchema,
  /** Of each song of the record. */
  songs: z.array(
    z.object({
      /** null where the version is gone. */
      versionId: z.string().nullable(),
      versionName: z.string(),
      songId: z.string().nullable(),
      /** Other versions that could stand here instead, oldest first. */
      others: z.array(z.object({ versionId: z.string(), name: z.string() })),
      seconds: z.number().nullable(),
      approval: z
        .object({
          by: z.string(),
          at: z.string(),
          what: z.enum(['approved', 'withdrawn']),
          current: z.boolean(),
        })
        .nullable(),
    }),
  ),
  artwork: z.object({ name: z.string() }).nullable(),
  deliveries: z.array(deliverySchema),
  changedAt: z.string(),
});

export const profileTermsSchema = z.object({
  id: z.string(),
  name: z.string(),
  about: z.string(),
  terms: z.array(z.string()),
});

export const reviewSchema = z.object({
  id: z.string(),
  what: z.enum(['approved', 'wish', 'withdrawn']),
  by: z.string(),
  text: z.string(),
  atSeconds: z.number().nullable(),
  at: z.string(),
});
export const reviewsSchema = z.object({ approved: z.boolean(), words: z.array(reviewSchema) });
export const newReviewLink = z.object({
  name: z.string().trim().min(1).max(100),
  note: z.string().trim().max(2000).default(''),
  hours: z.number().min(0.25).max(168).default(72),
});
export const reviewLinkSchema = z.object({
  /** '/r/…', for this machine. */
  path: z.string(),
  /** One for each address while it is shared. */
  links: z.array(z.object({ url: z.string(), qrSvg: z.string() })),
});
export const reviewSharingSchema = z.object({
  on: z.boolean(),
  versionId: z.string().nullable(),
  addresses: z.array(z.string()),
  expiresAt: z.string().nullable(),
});
export const reviewSharingRequest = z.object({
  on: z.boolean(),
  hours: z.number().min(0.25).max(72).default(24),
});
export const reviewWord = z.object({
  what: z.enum(['approved', 'wish', 'withdrawn']),
  text: z.string().trim().max(2000).default(''),
  atSeconds: z.number().min(0).max(86_400).nullable().default(null),
});

export type NewRecord = z.input<typeof newRecord>;
export type RecordSummary = z.infer<typeof recordSummarySchema>;
export type RecordDetail = z.infer<typeof recordDetailSchema>;
export type RecordPlan = z.infer<typeof recordPlanSchema>;
export type Delivery = z.infer<typeof deliverySchema>;
export type ProfileTerms = z.infer<typeof profileTermsSchema>;
export type Reviews = z.infer<typeof reviewsSchema>;
export type NewReviewLink = z.input<typeof newReviewLink>;
export type ReviewLink = z.infer<typeof reviewLinkSchema>;
export type ReviewSharing = z.infer<typeof reviewSharingSchema>;
