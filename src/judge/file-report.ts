import { z } from 'zod';
import { wideBandNames } from '../measure/wide-bands.ts';
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

const faultsSchema = z.object({
  dc: z.object({ offsets: z.array(z.number()), worstDbfs: figure }),
  clicks: z.object({
    count: z.number().int(),
    clicks: z.array(span.extend({ channel: z.number().int(), sizeDbfs: z.number() })),
  }),
  dropouts: z.object({
    count: z.number().int(),
    dropouts: z.array(span.extend({ channel: z.number().int(), edgeDbfs: z.number() })),
  }),
  ends: z.object({
    headZeroSeconds: z.number(),
    tailZeroSeconds: z.number(),
    headQuietSeconds: figure,
    tailQuietSeconds: figure,
    headDbfs: figure,
    tailDbfs: figure,
    gaps: z.array(span),
    gapCount: z.number().int(),
  }),
  hum: z.object({
    mainsHz: z.union([z.literal(50), z.literal(60)]).nullable(),
    levelDbfs: figure,
    lines: z.array(z.object({ hz: z.number(), levelDbfs: z.number(), prominenceDb: z.number() })),
  }),
  noise: z.object({ quietestDbfs: figure, quietest: span.nullable(), floorDbfs: figure }),
  subsonic: z.object({ shareDb: figure, levelDbfs: figure }),
  grid: z.object({
    bits: z.number().int().nullable(),
    shareOn16Bits: figure,
    lastBitSeconds: z.number(),
    repeatShare: figure,
    undithered: z.boolean().nullable(),
  }),
  bandwidth: z.object({
    edgeHz: figure,
    dropDb: figure,
    tells: z.enum(['lossy', 'upsampled']).nullable(),
    sourceRateHz: figure,
  }),
});

const fitnessSchema = z.object({
  headroomDb: figure,
  nearTopShare: figure,
  busLimiting: z.enum(['none', 'some', 'heavy']).nullable(),
  loudnessOverNoiseDb: figure,
  bits: z.number().int().nullable(),
  topHz: figure,
});

const wideBand = z.object({
  name: z.enum(wideBandNames),
  lowHz: z.number(),
  highHz: z.number(),
});

const pairFigures = z.object({
  correlation: figure,
  balanceDb: figure,
  sideToMidDb: figure,
  foldLossDb: figure,
});

const stereoSchema = pairFigures.extend({
  bands: z.array(wideBand.extend(pairFigures.shape)),
  identical: z.boolean(),
  silentChannels: z.array(z.number().int()),
  delaySamples: figure,
  delayAgreement: figure,
  invertedSpans: z.array(span),
  invertedShare: figure,
});

const dynamicsSchema = z.object({
  crestBands: z.array(wideBand.extend({ crestDb: figure })),
  rmsSpreadDb: figure,
  onsetsPerSecond: figure,
  psrMedianDb: figure,
  psrMinDb: figure,
  loudnessHistogram: z.object({ fromLufs: figure, shares: z.array(z.number()) }),
  topShare: figure,
  edgeDb: figure,
  limiting: z.enum(['none', 'some', 'much']).nullable(),
  flatTopCount: z.number().int(),
  flatTopShare: figure,
  flatTops: z.array(span),
});

const lowEndSchema = z.object({
  centreHz: figure,
  centreSpreadOctaves: figure,
  levelSpreadDb: figure,
  presentShare: figure,
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
  /** How L and R stand to each other, whole and by band (src/measure/stereo-result.ts); null for mono. */
  stereo: stereoSchema.nullable(),
  /** Loud against quiet, and what was done to the peaks (src/measure/dynamics-result.ts). */
  dynamics: dynamicsSchema,
  /** Below 150 Hz (src/measure/low-end.ts). */
  lowEnd: lowEndSchema,
  /** What can be broken in a sound; every member is explained in src/measure/faults. */
  faults: faultsSchema,
  /** What a mix brings to whoever finishes it; measured for every file (src/measure/fitness.ts). */
  fitness: fitnessSchema,
  /** The form of the song (src/measure/sections.ts): for finding one's way, never for a verdict. */
  sections: z.object({
    sections: z.array(span.extend({ label: z.string(), loudnessLufs: figure })),
    loudest: z.number().int().nullable(),
    quietest: z.number().int().nullable(),
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
