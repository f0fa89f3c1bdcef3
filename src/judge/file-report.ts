import { z } from 'zod';
import { profileIds } from './profiles.ts';

/**
 * The verdict on one file: the one shape that the terminal's --json prints, the API serves, the page shows and
 * the store keeps. Levels are rounded only when shown. null stands where a figure does not exist (silence, too
 * short), never an infinity.
 */
const figure = z.number().nullable();
const span = z.object({ startSeconds: z.number(), endSeconds: z.number() });
const over = span.extend({ channel: z.number().int(), peakDbtp: z.number() });

/** What a version of a song is: a mix to be finished, a finished master, or somebody's released record. */
export const kindSchema = z.enum(['mix', 'master', 'reference']);

export const severitySchema = z.enum(['mend', 'look', 'fine']);

export const findingSchema = z.object({
  /** Stable id of the rule, kebab-case. */
  id: z.string(),
  /** mend: should not leave the bench so. look: worth a listen or a thought. fine: checked and good. */
  severity: severitySchema,
  /** A sentence fragment: what it is. */
  title: z.string(),
  /** One or two plain sentences: what was found, with figures. */
  detail: z.string(),
  /** What to do; empty where there is nothing to do. */
  advice: z.string(),
  /** The measured figure and its unit, and the limit it is held against; null where the finding has none. */
  value: figure,
  unit: z.string(),
  limit: figure,
  /** Id of the limit's source in docs/sources.md. */
  source: z.string(),
  /** Where in the song, at most 50, in order of time. */
  spans: z.array(span),
});

export const roundTripSchema = z.object({
  format: z.string(),
  encoder: z.string(),
  settings: z.string(),
  nominalKbps: z.number(),
  actualKbps: z.number(),
  delaySamples: z.number(),
  truePeakDbtp: figure,
  growthDb: figure,
  overs: z.number().int(),
  overSpans: z.array(over),
});

export const fileReportSchema = z.object({
  file: z.object({
    name: z.string(),
    container: z.string(),
    codec: z.string(),
    sampleRate: z.number().int(),
    channels: z.number().int(),
    bitDepth: z.number().int().nullable(),
    frames: z.number().int(),
    seconds: z.number(),
    sha256: z.string(),
    tags: z.record(z.string(), z.string()),
    warnings: z.array(z.string()),
  }),
  kind: kindSchema,
  /** What the song is for: whose limits it was held against (src/judge/profiles.ts). */
  profile: z.object({ id: z.enum(profileIds), name: z.string() }),
  loudness: z.object({
    integratedLufs: figure,
    rangeLu: figure,
    maxMomentaryLufs: figure,
    maxShortTermLufs: figure,
    reason: z.string().nullable(),
  }),
  peak: z.object({
    samplePeakDbfs: figure,
    truePeakDbtp: figure,
    plrDb: figure,
    crestDb: figure,
    overCount: z.number().int(),
    overs: z.array(over),
    clippedRunCount: z.number().int(),
    clippedRuns: z.array(span),
  }),
  tone: z.object({
    centresHz: z.array(z.number()),
    levelsDb: z.array(figure),
    tiltDbPerOctave: figure,
    lowDb: figure,
    midDb: figure,
    highDb: figure,
  }),
  lossy: z.array(roundTripSchema),
  /** Formats whose round trip could not be made, with the reason. */
  lossyFailed: z.array(z.object({ format: z.string(), code: z.string(), reason: z.string() })),
  /** One plain sentence: the verdict. */
  headline: z.string(),
  findings: z.array(findingSchema),
});

export type Severity = z.infer<typeof severitySchema>;
export type Finding = z.infer<typeof findingSchema>;
export type FileReport = z.infer<typeof fileReportSchema>;

/** A file that could not be read, beside the reports of those that could. */
export const fileFailureSchema = z.object({ name: z.string(), code: z.string(), message: z.string() });
export type FileFailure = z.infer<typeof fileFailureSchema>;

/** What `check --json` prints. */
export const checkReportSchema = z.object({
  files: z.array(fileReportSchema),
  failed: z.array(fileFailureSchema),
});
export type CheckReport = z.infer<typeof checkReportSchema>;
