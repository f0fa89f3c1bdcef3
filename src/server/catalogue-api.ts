import { z } from 'zod';
import { outlierFigures } from '../catalogue/looking/middles.ts';
import { songSortNames } from '../catalogue/looking/song-sorts.ts';
import { fileReportSchema, kindSchema, severitySchema } from '../judge/file-report.ts';
import { profileIds } from '../judge/profiles.ts';

/**
 * Catalogues in the HTTP interface: looking at runs that the command line made (`everyroom catalogue check`).
 *
 * GET    /api/catalogue                        { where: 'sqlite' | 'postgres', runs: CatalogueRun[] }, newest first
 * GET    /api/catalogue/runs/:runId            CatalogueRunDetail
 * POST   /api/catalogue/runs/:runId/stop       CatalogueRun: what waits is left undone
 * GET    /api/catalogue/runs/:runId/songs?SongsQuery   SongsPage: sorted, filtered and cut into pages here
 * GET    /api/catalogue/runs/:runId/songs/:seq CatalogueVerdict
 * GET    /api/catalogue/runs/:runId/compare?with  CatalogueComparison: against the earlier run `with`
 * GET    /api/catalogue/runs/:runId/export?format  text/csv or application/x-ndjson, streamed
 *
 * Every error as elsewhere; DATABASE_UNREACHABLE and DATABASE_REFUSED (503) where DATABASE_URL is set.
 */
const whole = z.number().int();
const figure = z.number().nullable();

export const catalogueRunSchema = z.object({
  id: z.string(),
  /** The folder or list, as it was named. */
  what: z.string(),
  profile: z.enum(profileIds),
  kind: kindSchema,
  lossy: z.boolean(),
  engine: z.string(),
  startedMs: z.number(),
  /** When the list was whole; null before. */
  listedMs: figure,
  endedMs: figure,
  /** Lines of the list that named a song again. */
  repeats: whole,
  /** Its list is being made now. */
  listing: z.boolean(),
  counts: z.object({
    total: whole,
    waiting: whole,
    working: whole,
    done: whole,
    failed: whole,
    stopped: whole,
    mend: whole,
    look: whole,
    fine: whole,
    measured: whole,
  }),
});

const openSeverity = z.enum(['mend', 'look']);
const ruleCount = z.object({ rule: z.string(), severity: openSeverity, songs: whole, title: z.string() });
const outlierFigure = z.enum(outlierFigures);

export const catalogueRunDetailSchema = catalogueRunSchema.extend({
  /** Songs a minute over the last while; null while it is not worked on, or too little was seen. */
  aMinute: figure,
  /** At that rate; null when it is not known. */
  secondsLeft: figure,
  /** Machines that have songs of it in hand. */
  workers: z.array(z.object({ machine: z.string(), songs: whole })),
  rules: z.array(ruleCount),
  faults: z.array(z.object({ code: z.string(), songs: whole })),
  middles: z.array(
    z.object({
      figure: outlierFigure,
      songs: whole,
      lowerQuartile: z.number(),
      median: z.number(),
      upperQuartile: z.number(),
      low: z.number(),
      high: z.number(),
      below: whole,
      above: whole,
    }),
  ),
  /** Earlier runs of the same folder or list, to compare with. */
  earlier: z.array(
    z.object({ id: z.string(), startedMs: z.number(), engine: z.string(), profile: z.enum(profileIds) }),
  ),
});

const songState = z.enum(['waiting', 'working', 'done', 'failed', 'stopped']);

export const catalogueSongSchema = z.object({
  /** Its place in the list, from 1. */
  seq: whole,
  source: z.string(),
  name: z.string(),
  state: songState,
  tries: whole,
  sha256: z.string().nullable(),
  error: z.object({ code: z.string(), message: z.string() }).nullable(),
  /** Measured in this run, or known from before. */
  measured: z.boolean().nullable(),
  tookSeconds: figure,
  endedMs: figure,
  worst: severitySchema.nullable(),
  headline: z.string().nullable(),
  mendCount: figure,
  lookCount: figure,
  integratedLufs: figure,
  truePeakDbtp: figure,
  plrDb: figure,
  rangeLu: figure,
  tiltDbPerOctave: figure,
  seconds: figure,
});

export const songsQuery = z.object({
  sort: z.enum(songSortNames).default('order'),
  descending: z.stringbool().default(false),
  limit: z.coerce.number().int().min(1).max(200).default(50),
  after: z.string().max(2000).optional(),
  before: z.string().max(2000).optional(),
  state: songState.optional(),
  worst: severitySchema.optional(),
  rule: z.string().max(80).optional(),
  code: z.string().max(80).optional(),
  outlier: outlierFigure.optional(),
  text: z.string().max(200).optional(),
});

export const songsPageSchema = z.object({
  songs: z.array(catalogueSongSchema),
  total: whole,
  next: z.string().nullable(),
  previous: z.string().nullable(),
});

export const catalogueVerdictSchema = z.object({
  run: catalogueRunSchema,
  song: catalogueSongSchema,
  /** Judged now; null before it was checked. */
  report: fileReportSchema.nullable(),
});

const shortVerdict = z.object({
  worst: z.enum(['failed', 'mend', 'look', 'fine']),
  mendCount: whole,
  lookCount: whole,
  integratedLufs: figure,
  truePeakDbtp: figure,
});
const changedSong = z.object({
  seq: whole,
  name: z.string(),
  source: z.string(),
  before: shortVerdict,
  after: shortVerdict,
});

export const catalogueComparisonSchema = z.object({
  better: whole,
  worse: whole,
  same: whole,
  moved: whole,
  added: whole,
  gone: whole,
  worseSongs: z.array(changedSong),
  betterSongs: z.array(changedSong),
  rulesBefore: z.array(ruleCount),
  rulesAfter: z.array(ruleCount),
});

export type CatalogueRun = z.infer<typeof catalogueRunSchema>;
export type CatalogueRunDetail = z.infer<typeof catalogueRunDetailSchema>;
export type CatalogueSongRow = z.infer<typeof catalogueSongSchema>;
export type SongsQuery = z.input<typeof songsQuery>;
export type SongsPage = z.infer<typeof songsPageSchema>;
export type CatalogueVerdict = z.infer<typeof catalogueVerdictSchema>;
export type CatalogueComparison = z.infer<typeof catalogueComparisonSchema>;
