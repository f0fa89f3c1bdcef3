import { z } from 'zod';
import { formatFailureSchema } from '../survive/survive-report.ts';

/**
 * What finishing a song through a chain gave: the one shape that `finish --json` prints, the API serves and the page shows.
 * Levels are rounded only when shown. null stands where a figure does not exist (silence, too short), never an infinity.
 */
const figure = z.number().nullable();

/** A chain as plain data: src/finish/chain.ts reads it (`readChain`) and says what is wrong with it. */
const chainData = z.object({ version: z.number(), parts: z.array(z.unknown()) });

/** What the limiter did to the sound that reached it, scaled to the same level where levels would matter. */
export const limitingCostSchema = z.object({
  /** Highest sample over RMS of all channels, dB, before the limiter and after. */
  crestBeforeDb: figure,
  crestAfterDb: figure,
  /** Onsets found in the sound before the limiter, and by how much they rise less (negative) or more after it, dB on average. */
  onsets: z.object({ count: z.number().int(), changeDb: figure }),
  /** How far the limiter turned down. */
  reduction: z.object({
    /** The most at any moment, dB (0 or more). */
    deepestDb: z.number(),
    /** In 95 % of the time no more than this, dB. */
    p95Db: z.number(),
    /** Average over the time in which it turned down by more than 0.1 dB, dB; 0 when it never did. */
    workingDb: z.number(),
    /** Share of the time in which it turned down by more than 0.1 dB, by more than 1 dB, by more than 3 dB; 0..1. */
    share: z.object({ over01Db: z.number(), over1Db: z.number(), over3Db: z.number() }),
  }),
  /** Power of what is left when the limiter's input, scaled as well as can be, is taken away from its output, dB under the output. */
  errorDb: figure,
  /** Mean distance in specific loudness at 70 dB SPL (ISO 532-1), sone. */
  distanceSone: figure,
});

/** The same finishing with the ceiling at another height, the limiter driven as hard. */
export const ceilingStepSchema = z.object({
  ceilingDbtp: z.number(),
  integratedLufs: figure,
  /** Against the highest ceiling of the table, LU: what these tenths cost; 0 in the first row. */
  lostLu: figure,
  /** How far the limiter turned down, dB: most, and on average of the time in which it did. */
  deepestDb: z.number(),
  workingDb: z.number(),
});

/** What lossy coding made of the very bytes that were written. */
export const finishSurvivalSchema = z.object({
  /** Highest true peak allowed after decoding, dBTP. */
  limitDbtp: z.number(),
  /** Whether every format was really coded from these bytes and stayed at or under the limit. */
  verified: z.boolean(),
  /** Real encodes made on the way, those of the final bytes included. */
  encodes: z.number().int(),
  formats: z.array(z.object({ formatId: z.string(), format: z.string(), truePeakDbtp: figure })),
  failed: z.array(formatFailureSchema),
  /** Ceilings that were tried, in order, with the highest decoded peak that was seen at each. */
  tried: z.array(z.object({ ceilingDbtp: z.number(), highestDbtp: figure })),
});

/** A level that playback is brought to, and what is left of the master there. */
export const normalisedSchema = z.object({
  targetLufs: z.number(),
  /** Id of the target's source in docs/sources.md. */
  source: z.string(),
  /** dB it is turned by: never up, because peaks would not bear it. */
  turnedByDb: z.number(),
  playsAtLufs: z.number(),
  /** True peak as it then plays, dBTP. */
  truePeakDbtp: figure,
});

export const finishReportSchema = z.object({
  source: z.object({
    name: z.string(),
    sha256: z.string(),
    sampleRate: z.number().int(),
    channels: z.number().int(),
    seconds: z.number(),
    integratedLufs: figure,
    truePeakDbtp: figure,
  }),
  /** What was written. */
  made: z.object({
    sampleRate: z.number().int(),
    channels: z.number().int(),
    frames: z.number().int(),
    seconds: z.number(),
    /** How samples are stored. */
    bits: z.enum(['16', '24', '32f']),
    /** Of the whole file: the same chain on the same file gives the same bytes. */
    sha256: z.string(),
    bytes: z.number().int(),
    integratedLufs: figure,
    truePeakDbtp: figure,
    samplePeakDbfs: figure,
  }),
  /** The chain as it was rendered: the one asked for, with what reached the goals filled in. */
  chain: chainData,
  /** Of the limiter that holds the peaks; null when none does. */
  ceilingDbtp: figure,
  /** What was asked for and reached, LUFS; null when no loudness was asked for. */
  loudnessLufs: figure,
  /** What the limiter did; null when there is none. */
  cost: limitingCostSchema.nullable(),
  survive: finishSurvivalSchema.nullable(),
  /** What each tenth of ceiling costs; filled in when formats were asked for. */
  steps: z.array(ceilingStepSchema),
  normalised: z.array(normalisedSchema),
  /** Plain sentences: what was done, what it cost, what was decided for lack of a word from you. */
  sentences: z.array(z.string()),
});

export type LimitingCost = z.infer<typeof limitingCostSchema>;
export type CeilingStep = z.infer<typeof ceilingStepSchema>;
export type FinishSurvival = z.infer<typeof finishSurvivalSchema>;
export type Normalised = z.infer<typeof normalisedSchema>;
export type FinishReport = z.infer<typeof finishReportSchema>;
