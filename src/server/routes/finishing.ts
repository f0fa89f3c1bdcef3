import type { ServerResponse } from 'node:http';
import { z } from 'zod';
import type { Bench } from '../../bench/bench.ts';
import type { Draft as BenchDraft, Making } from '../../bench/store/finishings.ts';
import { choiceSentences } from '../../judge/finish-words.ts';
import { jobSchema, versionSchema } from '../api.ts';
import type { App } from '../app-type.ts';
import { soundQuery } from '../desk-api.ts';
import {
  ceilingStepsRequest,
  ceilingStepsSchema,
  chainLoudnessRequest,
  chainLoudnessSchema,
  type Draft,
  finishGoals,
  finishingSchema,
  finishRequest,
  keepDraft,
  type LoudnessChoice,
  loudnessRequest,
  type Made,
  madeSchema,
} from '../finishing-api.ts';

const params = z.object({ versionId: z.string() });
const draftParams = z.object({ draftId: z.string() });

/** Finishing: what is asked for, what came of it, and drafts. */
export function finishingRoutes(app: App, bench: Bench): void {
  const { finishing, songs, jobs } = bench;

  app.post(
    '/api/versions/:versionId/finish',
    {
      schema: {
        summary:
          'Render a version through a chain into a new version; the unfinished job of the same request is it',
        params,
        body: finishRequest,
        response: { 200: jobSchema },
      },
    },
    async ({ params, body }) => finishing.ask(await songs.getVersion(params.versionId), body, jobs),
  );

  app.post(
    '/api/versions/:versionId/loudness',
    {
      schema: {
        summary: 'Render a version at several loudnesses, as drafts; replaces an unfinished choice',
        params,
        body: loudnessRequest,
        response: { 200: jobSchema },
      },
    },
    async ({ params, body }) => finishing.askLoudness(await songs.getVersion(params.versionId), body, jobs),
  );

  app.get(
    '/api/versions/:versionId/finishing',
    {
      schema: {
        summary: 'What was asked of a version and what came of it',
        params,
        response: { 200: finishingSchema },
      },
    },
    async ({ params }) => {
      const version = await songs.getVersion(params.versionId);
      const { job, loudnessJob, made, drafts } = await finishing.state(version, jobs);
      return { job, loudnessJob, made: made.map(madeOf), choice: choiceOf(drafts) };
    },
  );

  app.get(
    '/api/versions/:versionId/made-from',
    {
      schema: {
        summary: 'How a version was finished, when it was finished here',
        params,
        response: { 200: z.object({ made: madeSchema.nullable() }) },
      },
    },
    async ({ params }) => {
      const making = await finishing.madeFrom(await songs.getVersion(params.versionId));
      return { made: making && madeOf(making) };
    },
  );

  app.post(
    '/api/versions/:versionId/chain-loudness',
    {
      schema: {
        summary: 'How loud a version is after a chain; answers when it has been found out',
        params,
        body: chainLoudnessRequest,
        response: { 200: chainLoudnessSchema },
      },
    },
    async ({ params, body: { chain, span } }, reply) => {
      const signal = leaving(reply);
      const version = await songs.getVersion(params.versionId);
      return finishing.chainLoudness(version, chain, span ?? null, { signal });
    },
  );

  app.post(
    '/api/versions/:versionId/ceiling-steps',
    {
      schema: {
        summary: 'What each tenth of ceiling costs; answers when it has been found out',
        params,
        body: ceilingStepsRequest,
        response: { 200: ceilingStepsSchema },
      },
    },
    async ({ params, body }, reply) => {
      const signal = leaving(reply);
      const version = await songs.getVersion(params.versionId);
      return { steps: await finishing.ceilingSteps(version, body, { signal }) };
    },
  );

  app.get(
    '/api/drafts/:draftId/sound',
    {
      schema: {
        summary: 'Frames of a draft at a device’s rate: interleaved 32-bit floats, two channels',
        params: draftParams,
        querystring: soundQuery.omit({ base: true }),
      },
    },
    async ({ params: { draftId }, query }, reply) => {
      const { bytes, timelineFrames } = await finishing.draftSound(draftId, query, bench.playback);
      return reply
        .header('x-everyroom-frames', String(timelineFrames))
        .type('application/octet-stream')
        .send(Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength));
    },
  );

  app.post(
    '/api/drafts/:draftId/keep',
    {
      schema: {
        summary: 'Make a draft a version of its song; nothing is rendered again',
        params: draftParams,
        body: keepDraft.nullish(),
        response: { 201: versionSchema },
      },
    },
    async ({ params: { draftId }, body }, reply) =>
      reply.code(201).send(await finishing.keepAsVersion(draftId, keepDraft.parse(body ?? {}), songs)),
  );

  app.delete(
    '/api/drafts/:draftId',
    { schema: { summary: 'Forget a draft', params: draftParams } },
    async ({ params: { draftId } }, reply) => {
      await finishing.dropDraft(draftId);
      return reply.code(204).send();
    },
  );
}

/** Aborted when whoever asked stops waiting: then the work is not wanted either. */
function leaving(reply: { readonly raw: ServerResponse }): AbortSignal {
  const stop = new AbortController();
  reply.raw.once('close', () => stop.abort());
  return stop.signal;
}

function madeOf({ goals, ...making }: Making): Made {
  return { ...making, goals: finishGoals.parse(goals) };
}

function choiceOf(drafts: readonly BenchDraft[]): LoudnessChoice | null {
  if (drafts.length === 0) return null;
  const reports = drafts.flatMap(({ made }) => (made ? [made.report] : []));
  const levels = reports.flatMap(({ made }) => made.integratedLufs ?? []);
  const quietest = Math.min(...levels);
  return {
    jobId: drafts[0].jobId,
    candidates: drafts.map((draft) => ({
      targetLufs: draft.targetLufs,
      draft: draftAnswer(draft, quietest),
      failure: draft.failure,
    })),
    sentences: choiceSentences(reports),
  };
}

function draftAnswer({ id, versionId, made }: BenchDraft, quietestLufs: number): Draft | null {
  if (!made) return null;
  const { sampleRate, channels, seconds, integratedLufs } = made.report.made;
  return {
    id,
    versionId,
    equalGainDb: integratedLufs === null ? 0 : Math.min(0, quietestLufs - integratedLufs),
    sampleRate,
    channels,
    seconds,
    report: made.report,
  };
}
