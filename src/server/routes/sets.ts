import { z } from 'zod';
import type { Bench } from '../../bench/bench.ts';
import { spreadReport, standingReportOf } from '../../judge/standing-report.ts';
import type { App } from '../app-type.ts';
import { setDetailSchema, setName, setSchema, standingSchema } from '../keeping-api.ts';

const params = z.object({ setId: z.string() });
const memberParams = params.extend({ versionId: z.string() });

export function setRoutes(app: App, bench: Bench): void {
  app.get(
    '/api/sets',
    {
      schema: {
        summary: 'Reference sets, by name',
        response: { 200: z.object({ sets: z.array(setSchema) }) },
      },
    },
    async () => ({ sets: await bench.sets.list() }),
  );

  app.post(
    '/api/sets',
    { schema: { summary: 'Make a reference set', body: setName, response: { 201: setSchema } } },
    async ({ body }, reply) => reply.code(201).send(await bench.sets.make(body.name)),
  );

  app.get(
    '/api/sets/:setId',
    {
      schema: {
        summary: 'A set with how far its references lie apart',
        params,
        response: { 200: setDetailSchema },
      },
    },
    async ({ params }) => {
      const set = await bench.sets.get(params.setId);
      const { whole, loudest } = await bench.sets.spreads(set);
      return { ...set, whole: spreadReport(whole), loudest: spreadReport(loudest) };
    },
  );

  app.patch(
    '/api/sets/:setId',
    { schema: { summary: 'Rename a set', params, body: setName, response: { 200: setSchema } } },
    ({ params, body }) => bench.sets.rename(params.setId, body.name),
  );

  app.delete(
    '/api/sets/:setId',
    { schema: { summary: 'Delete a set, not its references; it can be restored for a day', params } },
    async ({ params }, reply) => {
      await bench.sets.delete(params.setId);
      return reply.code(204).send();
    },
  );

  app.post(
    '/api/sets/:setId/restore',
    { schema: { summary: 'Take back a deletion', params, response: { 200: setSchema } } },
    ({ params }) => bench.sets.restore(params.setId),
  );

  app.put(
    '/api/sets/:setId/members/:versionId',
    { schema: { summary: 'Add a reference', params: memberParams, response: { 200: setSchema } } },
    ({ params }) => bench.sets.add(params.setId, params.versionId),
  );

  app.delete(
    '/api/sets/:setId/members/:versionId',
    {
      schema: {
        summary: 'Take a reference out of the set',
        params: memberParams,
        response: { 200: setSchema },
      },
    },
    ({ params }) => bench.sets.remove(params.setId, params.versionId),
  );

  app.get(
    '/api/versions/:versionId/standing',
    {
      schema: {
        summary: 'Where a version stands in a set, as a whole and by its sections',
        params: z.object({ versionId: z.string() }),
        querystring: z.object({ set: z.string() }),
        response: { 200: standingSchema },
      },
    },
    async ({ params, query }) => {
      const version = await bench.songs.getVersion(params.versionId);
      const set = await bench.sets.get(query.set);
      const standing = standingReportOf(await bench.sets.standing(version, set));
      return { versionId: version.id, setId: set.id, ...standing };
    },
  );
}
