import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import { basename } from 'node:path';
import { z } from 'zod';
import type { Bench } from '../../bench/bench.ts';
import type { App } from '../app-type.ts';
import { detailOf, entryOf, summaryOf, writtenOf } from '../shootout-answers.ts';
import {
  entryPatch,
  entrySchema,
  newShootout,
  packCheckSchema,
  packRequest,
  planSchema,
  shootoutDetailSchema,
  shootoutPatch,
  shootoutSummarySchema,
  sizeSchema,
  versionEntry,
  writtenSchema,
} from '../shootout-api.ts';

const params = z.object({ id: z.string() });
const entryParams = params.extend({ entryId: z.string() });

/** Making a shoot-out: drafts, packs, entries, opening. Files that come back are taken in by upload.ts. */
export function shootoutRoutes(app: App, bench: Bench): void {
  const { host } = bench.shootouts;

  app.get(
    '/api/shootouts',
    {
      schema: {
        summary: 'Shoot-outs, newest first',
        querystring: z.object({ songId: z.string().optional() }),
        response: { 200: z.object({ shootouts: z.array(shootoutSummarySchema) }) },
      },
    },
    async ({ query }) => ({ shootouts: (await host.store.list(query.songId)).map(summaryOf) }),
  );

  app.post(
    '/api/shootouts',
    {
      schema: {
        summary: 'Make a shoot-out of a mix',
        body: newShootout,
        response: { 201: shootoutDetailSchema },
      },
    },
    async ({ body }, reply) => reply.code(201).send(detailOf(await host.make(body))),
  );

  app.get(
    '/api/shootouts/:id',
    { schema: { summary: 'One shoot-out', params, response: { 200: shootoutDetailSchema } } },
    async ({ params: { id } }) => detailOf(await host.store.get(id)),
  );

  app.patch(
    '/api/shootouts/:id',
    {
      schema: {
        summary: 'Change a draft, or the title at any time',
        params,
        body: shootoutPatch,
        response: { 200: shootoutDetailSchema },
      },
    },
    async ({ params: { id }, body }) => detailOf(await host.change(id, body)),
  );

  app.post(
    '/api/shootouts/:id/restore',
    { schema: { summary: 'Take back a deletion', params, response: { 200: shootoutDetailSchema } } },
    async ({ params: { id } }) => detailOf(await host.restore(id)),
  );

  app.get(
    '/api/shootouts/:id/pack',
    {
      schema: {
        summary: 'Whether the mix is fit to be sent out',
        params,
        response: { 200: packCheckSchema },
      },
    },
    async ({ params: { id } }) => {
      const { fit, findings } = await bench.shootouts.packFitness(id);
      return {
        fit,
        findings: findings.map(({ severity, title, detail, advice }) => ({
          severity,
          title,
          text: [detail, advice].filter((part) => part !== '').join(' '),
        })),
      };
    },
  );

  app.post(
    '/api/shootouts/:id/pack',
    {
      schema: {
        summary: 'Write what goes out to makers: the mix, a brief, checksums',
        params,
        body: packRequest,
        response: { 201: writtenSchema },
      },
    },
    async ({ params: { id }, body }, reply) => {
      const inside = body.folder === undefined ? null : await bench.folders.resolve(body.folder);
      return reply.code(201).send(writtenOf(await bench.shootouts.writePack(id, body.brief, inside)));
    },
  );

  app.get(
    '/api/shootouts/written/:key/*',
    {
      schema: {
        summary: 'One file of what was written without naming a folder',
        params: z.object({ key: z.string(), '*': z.string().max(400) }),
      },
    },
    async ({ params: { key, '*': name } }, reply) => {
      const path = bench.shootouts.outgoing.filePath(key, name);
      const { size } = await stat(path);
      return reply
        .header('content-length', String(size))
        .header('content-disposition', `attachment; filename*=UTF-8''${encodeURIComponent(basename(name))}`)
        .type('application/octet-stream')
        .send(createReadStream(path));
    },
  );

  app.post(
    '/api/shootouts/:id/entries/versions',
    {
      schema: {
        summary: 'Enter a version that is on the bench',
        params,
        body: versionEntry,
        response: { 201: entrySchema },
      },
    },
    async ({ params: { id }, body }, reply) => reply.code(201).send(entryOf(await host.enter(id, body))),
  );

  app.patch(
    '/api/shootouts/:id/entries/:entryId',
    {
      schema: {
        summary: 'Say who made an entry, or that it is yours',
        params: entryParams,
        body: entryPatch,
        response: { 200: entrySchema },
      },
    },
    async ({ params: { id, entryId }, body }) => entryOf(await host.changeEntry(id, entryId, body)),
  );

  app.delete(
    '/api/shootouts/:id/entries/:entryId',
    { schema: { summary: 'Take an entry out of a draft', params: entryParams } },
    async ({ params: { id, entryId } }, reply) => {
      await host.removeEntry(id, entryId);
      return reply.code(204).send();
    },
  );

  app.post(
    '/api/shootouts/:id/plan',
    {
      schema: {
        summary: 'How long it takes and what it can tell apart',
        params,
        body: sizeSchema,
        response: { 200: planSchema },
      },
    },
    async ({ params: { id }, body }) => {
      const plan = await bench.shootouts.plan(id, body);
      return { ...plan, sentences: [...plan.sentences] };
    },
  );

  app.post(
    '/api/shootouts/:id/open',
    {
      schema: {
        summary: 'Make the masters fair, draw the rounds, and open the vote',
        params,
        body: sizeSchema,
        response: { 200: shootoutDetailSchema },
      },
    },
    async ({ params: { id }, body }) => detailOf(await host.open(id, body)),
  );
}
