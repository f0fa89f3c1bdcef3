import { z } from 'zod';
import { mostStimuli } from './rating-screens.ts';

/** What a shoot-out is made of, as the bench keeps it and the host sees it. Voters see voter-shapes.ts and nothing else. */
const id = z.string().min(1).max(64);
const span = z.object({ startSeconds: z.number(), endSeconds: z.number() });
/** 0..1 */
const share = z.number().min(0).max(1);
/** An open end is null. */
const interval = z.object({ low: z.number().nullable(), high: z.number().nullable() });

export const shootoutKind = z.enum(['preference', 'rating', 'abx']);

/** One master that takes part; who made it is the host's secret until the reveal. */
export const entrySchema = z.object({
  id,
  versionId: id,
  maker: z.string().max(200),
  /** What was odd about the file and what was put right, plain sentences. */
  notes: z.array(z.string()),
});

export const shootoutSchema = z.object({
  id,
  songId: id,
  /** The mix that was sent out; its clock is the timeline, and it is the reference of a rating of damage. */
  mixVersionId: id,
  title: z.string().max(200),
  kind: shootoutKind,
  /** Of ratings: 'damage' has a hidden reference and anchors, 'taste' has none. */
  question: z.enum(['taste', 'damage']),
  /** Draws every order; it stays with the host. */
  seed: z.string().min(16).max(200),
  state: z.enum(['draft', 'open', 'revealed']),
  sections: z.array(span).min(1),
  entries: z.array(entrySchema).min(2).max(26),
  createdAt: z.string(),
  /** null until the reveal, which ends voting. */
  revealedAt: z.string().nullable(),
});

/** What stands behind a slider: an entry by its id, or one of three that no id may be called. */
const stimulus = z.string().min(1).max(64);

/** One question to one listener, with its answer key. */
export const roundSchema = z.discriminatedUnion('kind', [
  z.object({
    kind: z.literal('preference'),
    id,
    section: z.number().int().min(0),
    firstId: id,
    secondId: id,
    /** The earlier round that this one asks again, turned; null for a new one. */
    repeatsId: id.nullable(),
  }),
  z.object({
    kind: z.literal('rating'),
    id,
    section: z.number().int().min(0),
    /** Entry ids, and 'reference', 'low-anchor', 'mid-anchor', from the first slider to the last. */
    order: z.array(stimulus).min(1).max(mostStimuli),
  }),
  z.object({
    kind: z.literal('abx'),
    id,
    section: z.number().int().min(0),
    aId: id,
    bId: id,
    x: z.enum(['a', 'b']),
  }),
]);

/**
 * Who listens. `letters[i]` is what entry i is called to this listener wherever it is named outside of rounds (free
 * listening, a summary of the own votes); in rounds the names are anew each time.
 */
export const listenerSchema = z.object({
  id,
  name: z.string().max(100),
  where: z.enum(['here', 'network', 'folder']),
  letters: z.array(z.string().regex(/^[A-Z]$/)),
  rounds: z.array(roundSchema),
});

/** An answer that was taken in. The first to a round counts; there is no second. */
export const voteSchema = z.object({
  listenerId: id,
  roundId: id,
  answer: z.union([
    z.enum(['first', 'tie', 'second']),
    z.enum(['a', 'b']),
    /** One score a slider, in the order of the round. */
    z.array(z.number().min(0).max(100)).min(1).max(mostStimuli),
  ]),
  answeredAt: z.string(),
});

export const strengthSchema = z.object({
  entryId: id,
  /** Wins and half the ties. */
  points: z.number(),
  /** ln of the odds, mean 0 over all entries. */
  strength: z.number(),
  error: z.number(),
  /** 95 %, by likelihood. */
  interval,
  /** 95 %, by votes drawn again, and by listeners drawn again (null with fewer than three). */
  votesInterval: interval,
  listenersInterval: interval.nullable(),
  /** Share of votes it would get against the mean of all, ties aside. */
  shareAgainstMean: share,
  /** Chance that it is the best for these listeners, and for others like them (null with fewer than three). */
  chanceBest: share,
  chanceBestForOthers: share.nullable(),
});

export const pairResultSchema = z.object({
  votes: z.number().int(),
  listenerIds: z.array(id),
  /** true where half-votes had to be added because someone always won. */
  steadied: z.boolean(),
  /** From the strongest down. */
  strengths: z.array(strengthSchema),
  /** ln of the odds of the one that stood first, its error, and the share of votes it stands for between equals. */
  order: z.object({ strength: z.number(), error: z.number(), share }),
  tieShare: share,
  /** Each pair once, the stronger first. */
  pairs: z.array(z.object({ entryId: id, otherId: id, difference: z.number(), interval, share: share })),
  /** 'All are equal': likelihood ratio, and the exact tests that the verdict uses. */
  equality: z.object({
    statistic: z.number(),
    df: z.number().int(),
    p: share,
    indifferenceP: share,
    commonTasteP: share.nullable(),
  }),
  verdict: z.object({
    crowned: z.enum(['none', 'these-listeners', 'listeners-like-these']),
    leaderId: id.nullable(),
    notBeatenIds: z.array(id),
  }),
});

export const consistencySchema = z.object({
  listenerId: id,
  votes: z.number().int(),
  triads: z.object({
    decided: z.number().int(),
    circular: z.number().int(),
    consistence: z.number().nullable(),
    chance: share.nullable(),
  }),
  repeats: z.object({
    asked: z.number().int(),
    same: z.number().int(),
    turned: z.number().int(),
    chance: share.nullable(),
  }),
  setAside: z.enum(['repeats', 'triads']).nullable(),
});

export const ratingResultSchema = z.object({
  listenerIds: z.array(id),
  stimuli: z.array(
    z.object({
      /** An entry id, 'reference', 'mid-anchor' or 'low-anchor'. */
      stimulus,
      mean: z.number(),
      interval,
      median: z.number(),
      quartiles: z.tuple([z.number(), z.number()]),
    }),
  ),
  placeEffects: z.array(z.number()),
  indifferenceP: share,
  crownedId: id.nullable(),
});

/** Always with and without those set aside; `kept` is null when nobody is set aside, or nobody left. */
export const resultsSchema = z.discriminatedUnion('kind', [
  z.object({
    kind: z.literal('preference'),
    all: pairResultSchema.nullable(),
    kept: pairResultSchema.nullable(),
    listeners: z.array(consistencySchema),
  }),
  z.object({
    kind: z.literal('rating'),
    all: ratingResultSchema.nullable(),
    kept: ratingResultSchema.nullable(),
    listeners: z.array(
      z.object({
        listenerId: id,
        screens: z.number().int(),
        referenceMissed: z.number().int(),
        anchorMissed: z.number().int(),
        kept: z.boolean(),
      }),
    ),
  }),
  z.object({
    kind: z.literal('abx'),
    listeners: z.array(
      z.object({
        listenerId: id,
        /** Fixed beforehand. */
        trials: z.number().int(),
        answered: z.number().int(),
        /** null until every trial is answered: a look in between would spoil the test. */
        result: z
          .object({
            correct: z.number().int(),
            p: share,
            needed: z.number().int().nullable(),
            heard: z.boolean(),
            share: z.object({ low: share, high: share }),
          })
          .nullable(),
      }),
    ),
  }),
]);

export type Shootout = z.infer<typeof shootoutSchema>;
export type Round = z.infer<typeof roundSchema>;
export type Listener = z.infer<typeof listenerSchema>;
export type Vote = z.infer<typeof voteSchema>;
export type PairResult = z.infer<typeof pairResultSchema>;
export type RatingSummary = z.infer<typeof ratingResultSchema>;
export type Results = z.infer<typeof resultsSchema>;
