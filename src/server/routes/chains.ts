import { z } from 'zod';
import type { Bench } from '../../bench/bench.ts';
import type { ChainDetail } from '../../bench/store/chains.ts';
import type { Chain } from '../../finish/chain.ts';
import type { SettingValue, SettingValues } from '../../finish/settings.ts';
import type { Proposal } from '../../judge/proposal.ts';
import type { App } from '../app-type.ts';
import {
  acceptedSchema,
  chainChange,
  chainCopy,
  chainDetailSchema,
  chainDifferenceSchema,
  chainLookSchema,
  chainPatch,
  chainReturn,
  type chainSchema,
  chainSeen,
  chainStepDetailSchema,
  chainStepsSchema,
  chainSummarySchema,
  lookRequest,
  newChain,
  newSnapshot,
  proposalRequest,
  proposalSchema,
  type settingsSchema,
} from '../chains-api.ts';

const ofVersion = z.object({ versionId: z.string() });
const params = z.object({ chainId: z.string() });
const stepParams = params.extend({ step: z.coerce.number().int() });
const snapshotParams = params.extend({ snapshotId: z.string() });
const stepNumber = z.coerce.number().int().min(0);

export function chainRoutes(app: App, bench: Bench): void {
  const { chains, songs } = bench;
  const answer = { 200: chainDetailSchema };

  app.get(
    '/api/songs/:songId/chains',
    {
      schema: {
        summary: 'Finishing chains of a song, changed last first',
        params: z.object({ songId: z.string() }),
        response: { 200: z.object({ chains: z.array(chainSummarySchema) }) },
      },
    },
    async ({ params }) => ({ chains: await chains.ofSong(params.songId) }),
  );

  app.post(
    '/api/versions/:versionId/chains',
    {
      schema: {
        summary: 'Make a chain, from nothing or from one that was saved',
        params: ofVersion,
        body: newChain,
        response: { 201: chainDetailSchema },
      },
    },
    async ({ params, body }, reply) => {
      const version = await songs.getVersion(params.versionId);
      return reply.code(201).send(told(await chains.make(version, body.name, body.chain)));
    },
  );

  app.get(
    '/api/chains/:chainId',
    { schema: { summary: 'A chain as it is now', params, response: answer } },
    async ({ params }) => told(await chains.get(params.chainId)),
  );

  app.patch(
    '/api/chains/:chainId',
    { schema: { summary: 'Rename a chain', params, body: chainPatch, response: answer } },
    async ({ params, body }) => told(await chains.rename(params.chainId, body.name)),
  );

  app.delete(
    '/api/chains/:chainId',
    { schema: { summary: 'Delete a chain; it can be restored for a day', params } },
    async ({ params }, reply) => {
      await chains.delete(params.chainId);
      return reply.code(204).send();
    },
  );

  app.post(
    '/api/chains/:chainId/restore',
    { schema: { summary: 'Take back a deletion', params, response: answer } },
    async ({ params }) => told(await chains.restore(params.chainId)),
  );

  app.post(
    '/api/chains/:chainId/copy',
    {
      schema: {
        summary: 'What a chain is now, for another version',
        params,
        body: chainCopy,
        response: { 201: chainDetailSchema },
      },
    },
    async ({ params, body }, reply) => {
      const version = await songs.getVersion(body.versionId);
      return reply.code(201).send(told(await chains.copy(params.chainId, version, body.name)));
    },
  );

  app.put(
    '/api/chains/:chainId/chain',
    { schema: { summary: 'Change a chain, as one step', params, body: chainChange, response: answer } },
    async ({ params, body }) => told(await chains.change(params.chainId, body.revision, body.chain)),
  );

  app.post(
    '/api/chains/:chainId/undo',
    { schema: { summary: 'Take the last step back', params, body: chainSeen, response: answer } },
    async ({ params, body }) => told(await chains.undo(params.chainId, body.revision)),
  );

  app.post(
    '/api/chains/:chainId/redo',
    {
      schema: {
        summary: 'Make the step that was taken back again',
        params,
        body: chainSeen,
        response: answer,
      },
    },
    async ({ params, body }) => told(await chains.redo(params.chainId, body.revision)),
  );

  app.post(
    '/api/chains/:chainId/return',
    {
      schema: { summary: 'An earlier step again, as a new one', params, body: chainReturn, response: answer },
    },
    async ({ params, body }) => told(await chains.goBack(params.chainId, body.revision, body.step)),
  );

  app.get(
    '/api/chains/:chainId/steps',
    {
      schema: {
        summary: 'All that a chain ever was, newest first',
        params,
        querystring: z.object({ before: stepNumber.optional() }),
        response: { 200: chainStepsSchema },
      },
    },
    ({ params, query }) => chains.steps(params.chainId, query.before),
  );

  app.get(
    '/api/chains/:chainId/steps/:step',
    {
      schema: {
        summary: 'A chain at one step',
        params: stepParams,
        response: { 200: chainStepDetailSchema },
      },
    },
    async ({ params }) => {
      const { chain, ...step } = await chains.step(params.chainId, params.step);
      return { ...step, chain: chainData(chain) };
    },
  );

  app.get(
    '/api/chains/:chainId/difference',
    {
      schema: {
        summary: 'What makes one step of a chain another, in words',
        params,
        querystring: z.object({ from: stepNumber, to: stepNumber }),
        response: { 200: chainDifferenceSchema },
      },
    },
    async ({ params, query }) => ({ words: await chains.difference(params.chainId, query.from, query.to) }),
  );

  app.post(
    '/api/chains/:chainId/snapshots',
    {
      schema: {
        summary: 'Give what a chain is now a name',
        params,
        body: newSnapshot,
        response: { 201: chainDetailSchema },
      },
    },
    async ({ params, body }, reply) =>
      reply.code(201).send(told(await chains.addSnapshot(params.chainId, body.revision, body.name))),
  );

  app.patch(
    '/api/chains/:chainId/snapshots/:snapshotId',
    {
      schema: { summary: 'Rename a snapshot', params: snapshotParams, body: chainPatch, response: answer },
    },
    async ({ params, body }) =>
      told(await chains.renameSnapshot(params.chainId, params.snapshotId, body.name)),
  );

  app.delete(
    '/api/chains/:chainId/snapshots/:snapshotId',
    {
      schema: { summary: 'Forget a snapshot; its step stays', params: snapshotParams, response: answer },
    },
    async ({ params }) => told(await chains.deleteSnapshot(params.chainId, params.snapshotId)),
  );

  app.post(
    '/api/chains/:chainId/proposals',
    {
      schema: {
        summary: 'What a chain could begin from; nothing is changed',
        params,
        body: proposalRequest,
        response: { 200: proposalSchema },
      },
    },
    async ({ params, body }) => proposed(await chains.propose(params.chainId, body)),
  );

  app.post(
    '/api/chains/:chainId/accept',
    {
      schema: {
        summary: 'Take over what was not refused of a proposal, as one step',
        params,
        body: acceptedSchema,
        response: answer,
      },
    },
    async ({ params, body }) => told(await chains.accept(params.chainId, body.revision, body)),
  );

  app.post(
    '/api/versions/:versionId/chain-look',
    {
      schema: {
        summary:
          'What limiters and compressors of a chain take away over time; answers when it has been found out',
        params: ofVersion,
        body: lookRequest,
        response: { 200: chainLookSchema },
      },
    },
    async ({ params, body }, reply) => {
      const stop = new AbortController();
      // Whoever stops waiting for the answer does not want the work done.
      reply.raw.once('close', () => stop.abort());
      const version = await songs.getVersion(params.versionId);
      return chains.look(version, body.chain, { signal: stop.signal });
    },
  );
}

/** Plain data of a chain without its readonly marks, which the answers' schemas do not have. */
type SettingsData = z.infer<typeof settingsSchema>;

function chainData({ version, parts }: Chain): z.infer<typeof chainSchema> {
  return { version, parts: parts.map((part) => ({ ...part, settings: settingsData(part.settings) })) };
}

function settingsData(values: SettingValues): SettingsData {
  const plain = (value: SettingValue): SettingsData[string] => {
    if (Array.isArray(value)) return value.map(settingsData);
    return typeof value === 'object' ? settingsData(value as SettingValues) : value;
  };
  return Object.fromEntries(Object.entries(values).map(([name, value]) => [name, plain(value)]));
}

function told({ chain, ...detail }: ChainDetail): z.infer<typeof chainDetailSchema> {
  return { ...detail, chain: chainData(chain) };
}

function proposed({ bands, parts, ...proposal }: Proposal): z.infer<typeof proposalSchema> {
  return {
    ...proposal,
    bands: bands.map((each) => ({ ...each, band: settingsData(each.band) })),
    parts: parts.map((each) => ({ ...each, settings: settingsData(each.settings) })),
  };
}
