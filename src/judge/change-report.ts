import { z } from 'zod';
import type { VersionChange } from '../compare/change-result.ts';
import { changeSentences } from './change-words.ts';

const figure = z.number().nullable();
const span = z.object({ startSeconds: z.number(), endSeconds: z.number() });
const bands = z.object({ centresHz: z.array(z.number()), changeDb: z.array(figure) });

/**
 * What changed between two versions of a song: what `compare --json` prints and the API serves. Every member of
 * `same` is explained in src/compare/change-result.ts.
 */
export const changeReportSchema = z.object({
  before: z.object({ name: z.string(), sha256: z.string() }),
  after: z.object({ name: z.string(), sha256: z.string() }),
  similarity: z.number(),
  /** Why the two cannot be compared; null when they can. */
  reason: z.string().nullable(),
  /** What changed, in plain sentences, what weighs most first. */
  sentences: z.array(z.string()),
  same: z
    .object({
      alignment: z.object({
        offsetSeconds: z.number(),
        offsetSamples: z.number(),
        driftPpm: z.number(),
        scatterSamples: z.number(),
        inverted: z.array(z.boolean()),
        swapped: z.boolean(),
      }),
      length: z.object({
        shared: span,
        headSeconds: z.number(),
        tailSeconds: z.number(),
        headSilent: z.boolean(),
        tailSilent: z.boolean(),
      }),
      gainDb: z.number(),
      tone: bands,
      sections: z.array(bands.extend({ ...span.shape, label: z.string(), levelDb: z.number() })),
      dynamics: z.object({
        crestDb: figure,
        plrDb: figure,
        rangeLu: figure,
        samplePeakDb: figure,
        truePeakDb: figure,
      }),
      width: z.object({ sideToMidDb: figure, sideToMidByBandDb: z.array(figure) }).nullable(),
      unlike: z.array(span),
    })
    .nullable(),
});

export type ChangeReport = z.infer<typeof changeReportSchema>;

/** A file that was compared: what a person calls it, and its bytes' hash. */
export type Compared = ChangeReport['before'];

export function changeReportOf(before: Compared, after: Compared, change: VersionChange): ChangeReport {
  return changeReportSchema.parse({ ...change, before, after, sentences: changeSentences(change) });
}
