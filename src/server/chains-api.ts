import { z } from 'zod';

/**
 * Finishing chains in the HTTP interface. A chain belongs to a version of a song (usually its mix). Every change is a step that is
 * kept; what was answered is on the disk. Whoever changes a chain says which `revision` was seen: when another window was first, the
 * answer is 409 CHAIN_CONFLICT and nothing is changed. Changes are also told as the event 'chain' ({ chainId, songId }).
 *
 * GET    /api/songs/:songId/chains          { chains: ChainSummary[] }: of all versions of a song, changed last first
 * POST   /api/versions/:versionId/chains    NewChain -> 201 ChainDetail
 * GET    /api/chains/:chainId               ChainDetail
 * PATCH  /api/chains/:chainId               { name } -> ChainDetail
 * DELETE /api/chains/:chainId               204; POST /api/chains/:chainId/restore -> ChainDetail
 * POST   /api/chains/:chainId/copy          { versionId, name? } -> 201 ChainDetail: what it is now, for another version
 * PUT    /api/chains/:chainId/chain         ChainChange -> ChainDetail: one more step; none where nothing changed
 * POST   /api/chains/:chainId/undo          { revision } -> ChainDetail
 * POST   /api/chains/:chainId/redo          { revision } -> ChainDetail
 * POST   /api/chains/:chainId/return        { revision, step } -> ChainDetail: an earlier step again, as a new one
 * GET    /api/chains/:chainId/steps?before  { steps: ChainStep[], more }: newest first, a hundred at once
 * GET    /api/chains/:chainId/steps/:step   ChainStep with its chain
 * GET    /api/chains/:chainId/difference?from&to   { words }: what makes one step the other
 * POST   /api/chains/:chainId/snapshots     { revision, name } -> 201 ChainDetail: a name for what it is now
 * PATCH  /api/chains/:chainId/snapshots/:snapshotId   { name } -> ChainDetail
 * DELETE /api/chains/:chainId/snapshots/:snapshotId   ChainDetail: the step stays
 * POST   /api/chains/:chainId/proposals     ProposalRequest -> Proposal: nothing is changed by it
 * POST   /api/chains/:chainId/accept        Accepted -> ChainDetail: what was not refused of a proposal, as one step
 * POST   /api/versions/:versionId/chain-look   { chain } -> ChainLook: what its limiters and compressors take away; kept
 */

/** A chain's own form (src/finish/chain.ts); checked in full there, so that the answer names what is wrong. */
const settingSchema: z.ZodType<ChainSetting> = z.lazy(() =>
  z.union([
    z.number(),
    z.string(),
    z.record(z.string(), settingSchema),
    z.array(z.record(z.string(), settingSchema)),
  ]),
);
type ChainSetting = number | string | { [name: string]: ChainSetting } | { [name: string]: ChainSetting }[];
export const settingsSchema = z.record(z.string(), settingSchema);
const partSchema = z.object({
  id: z.string(),
  kind: z.string(),
  bypassed: z.boolean(),
  settings: settingsSchema,
});
export const chainSchema = z.object({ version: z.number(), parts: z.array(partSchema) });

export const chainName = z.string().trim().min(1).max(100);
const revision = z.number().int().min(0);

export const newChain = z.object({
  /** 'Chain 2' or the like when left out. */
  name: chainName.optional(),
  /** To begin from, from a file for instance; nothing when left out. */
  chain: z.unknown().optional(),
});
export const chainPatch = z.object({ name: chainName });
export const chainCopy = z.object({ versionId: z.string(), name: chainName.optional() });
export const chainChange = z.object({ revision, chain: z.unknown() });
export const chainSeen = z.object({ revision });
export const chainReturn = chainSeen.extend({ step: z.number().int().min(0) });
export const newSnapshot = chainSeen.extend({ name: chainName });

export const chainSummarySchema = z.object({
  id: z.string(),
  songId: z.string(),
  versionId: z.string(),
  versionName: z.string(),
  name: z.string(),
  /** How many parts it has now. */
  parts: z.number().int(),
  changedAt: z.string(),
});
export const chainDetailSchema = chainSummarySchema.omit({ parts: true }).extend({
  /** Rises with every change, undo and redo; named by who changes it. */
  revision,
  /** The step it stands at. */
  step: z.number().int(),
  chain: chainSchema,
  /** What undoing takes back and redoing makes again, in words; null where there is nothing to. */
  undo: z.array(z.string()).nullable(),
  redo: z.array(z.string()).nullable(),
  /** Oldest first. */
  snapshots: z.array(
    z.object({ id: z.string(), name: z.string(), step: z.number().int(), createdAt: z.string() }),
  ),
});
export const chainStepSchema = z.object({
  step: z.number().int(),
  /** The step it was made from; null for the first. */
  from: z.number().int().nullable(),
  /** What changed, a sentence each. */
  words: z.array(z.string()),
  madeAt: z.string(),
});
export const chainStepsSchema = z.object({ steps: z.array(chainStepSchema), more: z.boolean() });
export const chainStepDetailSchema = chainStepSchema.extend({ chain: chainSchema });
export const chainDifferenceSchema = z.object({ words: z.array(z.string()) });

export const proposalRequest = z.discriminatedUnion('from', [
  /** The correction solved from a walk through places. */
  z.object({ from: z.literal('walk'), walkId: z.string() }),
  /** Towards the median tone of a reference set. */
  z.object({
    from: z.literal('references'),
    setId: z.string(),
    /** How much of the difference, %. */
    strengthPercent: z.number().min(0).max(100).default(50),
  }),
  /** Towards one master of a shoot-out after its reveal: the winner and yours when left out. */
  z.object({
    from: z.literal('shootout'),
    shootoutId: z.string(),
    entryId: z.string().optional(),
    againstId: z.string().optional(),
  }),
]);
export const proposalSchema = z.object({
  /** What it is, for the history: 'half of the way to the references “Evening”'. */
  title: z.string(),
  /** What it comes to, in a sentence. */
  headline: z.string(),
  /** What is to be known beside it: what is not proposed and why, how much it can be trusted. */
  sentences: z.array(z.string()),
  /** What was to be approached, dB; null where nothing is known. Empty where there is no curve. */
  target: z.array(z.object({ hertz: z.number(), gainDb: z.number().nullable() })),
  /** The equaliser, band by band. */
  bands: z.array(
    z.object({
      id: z.string(),
      /** Settings of a band of the equaliser. */
      band: settingsSchema,
      /** '2.1 dB less around 230 Hz, broad'. */
      words: z.string(),
      /** What speaks for it, or against it. */
      why: z.string().nullable(),
      /** Whether it plainly mends something; the others are there to be heard. */
      advised: z.boolean(),
    }),
  ),
  /** Other parts. */
  parts: z.array(
    z.object({
      id: z.string(),
      kind: z.string(),
      settings: settingsSchema,
      words: z.string(),
      why: z.string().nullable(),
      advised: z.boolean(),
    }),
  ),
});
export const acceptedSchema = chainSeen.extend({
  title: z.string().trim().min(1).max(300),
  bands: z.array(settingsSchema).max(12),
  parts: z.array(z.object({ kind: z.string(), settings: settingsSchema })).max(10),
});

export const lookRequest = z.object({ chain: z.unknown() });
export const chainLookSchema = z.object({
  /** What limiters and compressors take away at their most in each stretch of `stepSeconds`, dB, at most 0. */
  reductions: z.array(
    z.object({
      partId: z.string(),
      stepSeconds: z.number(),
      reductionDb: z.array(z.number()),
      mostDb: z.number(),
      /** Share of the time in which it took 1 dB and more. */
      busyShare: z.number(),
    }),
  ),
  /** By how much the chain is late while it is played live, ms. */
  latencyMs: z.number(),
});

export type ChainSummary = z.infer<typeof chainSummarySchema>;
export type ChainDetail = z.infer<typeof chainDetailSchema>;
export type ChainStep = z.infer<typeof chainStepSchema>;
export type ChainSteps = z.infer<typeof chainStepsSchema>;
export type ChainStepDetail = z.infer<typeof chainStepDetailSchema>;
export type ProposalRequest = z.input<typeof proposalRequest>;
export type Proposal = z.infer<typeof proposalSchema>;
export type Accepted = z.input<typeof acceptedSchema>;
export type ChainLook = z.infer<typeof chainLookSchema>;
