import { z } from 'zod';

/** What was found in a recording of a sweep, or of a known song, in a place. */
export const measuredSchema = z.object({
  how: z.enum(['sweep', 'reference']),
  /** How far it stands out of the recording, dB, and where it begins, s. */
  foundDb: z.number(),
  startSeconds: z.number(),
  /** As found; null with a reference. */
  sweepSeconds: z.number().nullable(),
  clipped: z.boolean(),
  /** How far the recorder moved its own gain, dB; null where that could not be followed. */
  gainMovedDb: z.number().nullable(),
  bands: z.array(
    z.object({
      centreHz: z.number(),
      /** Against the middle; null where nothing can be said. */
      db: z.number().nullable(),
      /** Expected error, dB. */
      errorDb: z.number(),
      sure: z.boolean(),
      /** null with a reference. */
      overNoiseDb: z.number().nullable(),
      distortionDb: z.number().nullable(),
      /** Noise against the other bands, dB. */
      noiseDb: z.number().nullable(),
    }),
  ),
  sureBands: z.number().int(),
  /** Whether enough is sure to make a place of it. */
  enough: z.boolean(),
  /** What was found and how sure it is, in words: first the whole, then clipping, gain, bands that are not sure. */
  sentences: z.array(z.string()),
});

export type Measured = z.infer<typeof measuredSchema>;
