import { z } from 'zod';
import { fileReportSchema, kindSchema, severitySchema } from '../judge/file-report.ts';
import { profileIds } from '../judge/profiles.ts';
import { surviveReportSchema } from '../survive/survive-report.ts';

/**
 * The shapes of the HTTP interface. The page imports these types and nothing else of the server.
 *
 * GET    /api/health                     Health
 * GET    /api/songs                      { songs: Song[] }            newest change first
 * GET    /api/songs/:songId              Song
 * PATCH  /api/songs/:songId              SongPatch -> Song
 * DELETE /api/songs/:songId              204; POST /api/songs/:songId/restore -> Song takes it back
 * POST   /api/versions?name&songId&kind  body: the file's bytes (application/octet-stream), streamed to disk; kind is
 *                                        'master' when left out; without songId a new song is made
 *                                        -> 201 { song, version, job }; 200 with the version that is there when that
 *                                        song already holds the same bytes
 * GET    /api/versions/:versionId?profile Version & { report: FileReport | null }, held against the profile
 *                                        (judge/profiles.ts); nothing is measured again
 * PATCH  /api/versions/:versionId        VersionPatch -> Version
 * DELETE /api/versions/:versionId        204; POST /api/versions/:versionId/restore -> Version
 * POST   /api/versions/:versionId/check  { lossy?: boolean } -> Job   (the running job if there is one)
 * GET    /api/versions/:versionId/traces Traces (measure/measurement.ts)
 * GET    /api/versions/:versionId/report?profile text/html, self-contained
 * GET    /api/versions/:versionId/change?from ChangeReport (judge/change-report.ts): what changed in this version from
 *                                        another of the same song; answers when it has been found out
 * GET    /api/versions/:versionId/survive   Survival: what is known so far, and the run
 * POST   /api/versions/:versionId/survive   SurviveRequest -> Job     (the running one when it has the same settings)
 * GET    /api/versions/:versionId/survive/:formatId/excerpt?what&start&seconds&match
 *                                        audio/wav, 32-bit float, never above −1 dBTP; what was done to its level is in
 *                                        the headers x-everyroom-gain-db, -raised-db, -matched-db and -level-db, how
 *                                        many seconds there are in -seconds
 * GET    /api/survive/formats            { formats: SurviveFormat[] }
 * GET    /api/jobs                       { jobs: Job[] }              queued and running
 * GET    /api/jobs/:jobId                Job
 * POST   /api/jobs/:jobId/cancel         Job
 * POST   /api/demo                       { songs: Song[] }            puts the demo record on the bench, once
 * GET    /api/events                     text/event-stream: event 'job' with a Job, event 'songs' with {} when a list changed,
 *                                        event 'survive' with { versionId } when more is known of how it survives,
 *                                        event 'desk' with { what: 'sets' | 'notes' | 'watch' | 'timeline', versionId?, songId? }
 *                                        when those read differently (desk-api.ts and keeping-api.ts have the desk's routes)
 * GET    /api/openapi.json               this, as OpenAPI
 *
 * Every error: ApiError with the HTTP status that fits.
 */
export const versionKind = kindSchema;
/** What a report is held against; the usual profile of the version's kind when left out. */
export const profileQuery = z.object({ profile: z.enum(profileIds).optional() });

export const jobSchema = z.object({
  id: z.string(),
  versionId: z.string(),
  kind: z.enum(['check', 'survive', 'places']),
  state: z.enum(['queued', 'running', 'done', 'failed', 'cancelled']),
  /** What is being done now, for people: 'measuring', 'coding AAC 128'. */
  stage: z.string(),
  /** 0..1 */
  progress: z.number(),
  error: z.object({ code: z.string(), message: z.string() }).nullable(),
  createdAt: z.string(),
});

export const versionSchema = z.object({
  id: z.string(),
  songId: z.string(),
  name: z.string(),
  kind: versionKind,
  sha256: z.string(),
  bytes: z.number().int(),
  addedAt: z.string(),
  /** The verdict in short; null until checked. */
  verdict: z
    .object({
      headline: z.string(),
      worst: severitySchema,
      mendCount: z.number().int(),
      lookCount: z.number().int(),
      integratedLufs: z.number().nullable(),
      truePeakDbtp: z.number().nullable(),
      plrDb: z.number().nullable(),
      seconds: z.number(),
    })
    .nullable(),
  /** The newest check of it, whatever its state; null when none was ever started. */
  job: jobSchema.nullable(),
});

export const songSchema = z.object({
  id: z.string(),
  title: z.string(),
  /** True for songs of the invented demo record. */
  demo: z.boolean(),
  changedAt: z.string(),
  /** Oldest first. */
  versions: z.array(versionSchema),
});

export const healthSchema = z.object({
  name: z.literal('Everyroom'),
  version: z.string(),
  demoAvailable: z.boolean(),
});
export const songPatch = z.object({ title: z.string().trim().min(1).max(200) });
export const versionPatch = z.object({
  name: z.string().trim().min(1).max(200).optional(),
  kind: versionKind.optional(),
  songId: z.string().optional(),
});
export const apiErrorSchema = z.object({ error: z.object({ code: z.string(), message: z.string() }) });
export const versionDetailSchema = versionSchema.extend({ report: fileReportSchema.nullable() });

export const surviveSettingsSchema = z.object({
  formatIds: z.array(z.string()),
  limitDbtp: z.number(),
  findCeiling: z.boolean(),
});
export const surviveRequestSchema = z.object({
  /** The default set when left out. */
  formatIds: z.array(z.string().max(40)).min(1).max(40).optional(),
  /** Highest level allowed after decoding, dBTP. */
  limitDbtp: z.number().min(-12).max(0).default(0),
  findCeiling: z.boolean().default(true),
});
export const survivalSchema = z.object({
  /** The newest survive run; null when none was ever started. */
  job: jobSchema.nullable(),
  /** What the report was made with. */
  settings: surviveSettingsSchema.nullable(),
  /** What is known so far. */
  report: surviveReportSchema.nullable(),
  /** Whether the report is that of a run that came to its end. */
  complete: z.boolean(),
});
export const surviveFormatSchema = z.object({
  id: z.string(),
  label: z.string(),
  codec: z.enum(['aac', 'mp3', 'vorbis', 'opus', 'sbc']),
  /** Coded once more after the first decoding. */
  inSeries: z.boolean(),
});
export const excerptQuery = z.object({
  what: z.enum(['original', 'decoded', 'difference']),
  /** Where in the song it begins, seconds. */
  start: z.coerce.number().min(0).max(1e6),
  seconds: z.coerce.number().min(0.05).max(20),
  /** Brings the decoded sound to the original's level first. */
  match: z.stringbool().default(false),
});

export type Job = z.infer<typeof jobSchema>;
export type Version = z.infer<typeof versionSchema>;
export type VersionDetail = z.infer<typeof versionDetailSchema>;
export type Song = z.infer<typeof songSchema>;
export type Survival = z.infer<typeof survivalSchema>;
export type SurviveRequest = z.input<typeof surviveRequestSchema>;
export type SurviveFormat = z.infer<typeof surviveFormatSchema>;
export type Health = z.infer<typeof healthSchema>;
export type ApiError = z.infer<typeof apiErrorSchema>;
export type VersionKind = z.infer<typeof versionKind>;
