import { z } from 'zod';
import type { Bench } from '../../bench/bench.ts';
import { learnedChainSentences } from '../../judge/chain-story.ts';
import type { App } from '../app-type.ts';
import type { Sharing } from '../sharing.ts';
import { detailOf, listenerOf } from '../shootout-answers.ts';
import {
  lessonsSchema,
  shootoutDetailSchema,
  shootoutResultsSchema,
  votesTakenSchema,
} from '../shootout-api.ts';

const params = z.object({ id: z.string() });

/** What comes of it: vote files, results, the reveal, lessons. */
export function shootoutOutcomeRoutes(app: App, bench: Bench, sharing: Sharing): void {
  const { host, invitations, booth, outcomes } = bench.shootouts;

  app.post(
    '/api/shootouts/:id/votes',
    {
      schema: {
        summary: 'Take in the vote file of a listener far away; the body is the file',
        params,
        body: z.unknown(),
        response: { 200: votesTakenSchema },
      },
    },
    async ({ params: { id }, body }) => {
      await host.store.get(id);
      const { listenerId, taken, before } = await booth.takeFile(id, JSON.stringify(body));
      const listener = await invitations.listener(id, listenerId);
      const left = listener.rounds - listener.answered;
      return {
        listener: listenerOf(listener),
        taken,
        before,
        sentences: [
          taken === 0
            ? `Every answer in it was here already; nothing of ${listener.name} was added.`
            : `${taken} ${taken === 1 ? 'answer' : 'answers'} of ${listener.name} taken in.`,
          ...(taken > 0 && before > 0 ? [`${before} had an answer already, which stays.`] : []),
          ...(left > 0 ? [`${left} of ${listener.rounds} rounds are without an answer.`] : []),
        ],
      };
    },
  );

  app.get(
    '/api/shootouts/:id/results',
    {
      schema: {
        summary: 'What the votes say; entries are letters before the reveal',
        params,
        response: { 200: shootoutResultsSchema },
      },
    },
    async ({ params: { id } }) => {
      const outcome = await outcomes.of(id);
      return {
        ...outcome,
        names: [...outcome.names],
        listenerNames: [...outcome.listenerNames],
        sentences: [...outcome.sentences],
        letters: outcome.letters.map(({ listenerId, letters }) => ({ listenerId, letters: [...letters] })),
      };
    },
  );

  app.post(
    '/api/shootouts/:id/reveal',
    {
      schema: {
        summary: 'End the vote and tell who is who; cannot be taken back',
        params,
        response: { 200: shootoutDetailSchema },
      },
    },
    async ({ params: { id } }) => {
      const revealed = await host.reveal(id);
      sharing.endSoon(id);
      return detailOf(revealed);
    },
  );

  app.delete(
    '/api/shootouts/:id',
    { schema: { summary: 'Delete a shoot-out; it can be restored for a day', params } },
    async ({ params: { id } }, reply) => {
      await host.delete(id);
      await sharing.off(id);
      return reply.code(204).send();
    },
  );

  app.get(
    '/api/shootouts/:id/lessons',
    {
      schema: {
        summary: 'What one maker did otherwise than another; after the reveal',
        params,
        querystring: z.object({ entry: z.string().optional(), against: z.string().optional() }),
        response: { 200: lessonsSchema },
      },
    },
    async ({ params: { id }, query }) => {
      const { entry, against, change, lessons, chain } = await outcomes.lessons(
        id,
        query.entry,
        query.against,
      );
      return {
        entryId: entry.id,
        againstId: against.id,
        name: entry.maker,
        againstName: against.maker,
        change,
        lessons: lessons.map((lesson) => ({ ...lesson })),
        chain: { ...chain, parts: chain.parts.map((part) => ({ ...part, settings: { ...part.settings } })) },
        chainSentences: learnedChainSentences(chain),
        versionIds: [against.versionId, entry.versionId] as [string, string],
      };
    },
  );
}
