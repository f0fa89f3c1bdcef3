import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import { z } from 'zod';
import { CodedError } from '../../audio/coded-error.ts';
import type { Bench } from '../../bench/bench.ts';
import { version } from '../../bench/version.ts';
import { deliveryHtml } from '../../deliver/paper/delivery-html.ts';
import { profileTerms } from '../../deliver/profiles/profile-terms.ts';
import { deliveryProfiles } from '../../deliver/profiles/profiles.ts';
import type { App } from '../app-type.ts';
import { reportPolicy } from '../headers.ts';
import { deliveryOf, recordDetailOf, recordPlanOf, recordSummaryOf } from '../record-answers.ts';
import {
  deliveryRequest,
  deliverySchema,
  newRecord,
  profileTermsSchema,
  recordDetailSchema,
  recordPlanSchema,
  recordSummarySchema,
} from '../records-api.ts';

const params = z.object({ id: z.string() });
const detail = { 200: recordDetailSchema };

/** Records: setting them up, planning and delivering. */
export function recordRoutes(app: App, bench: Bench): void {
  const { records } = bench;

  app.get(
    '/api/records',
    {
      schema: {
        summary: 'Records, the one changed last first',
        response: { 200: z.object({ records: z.array(recordSummarySchema) }) },
      },
    },
    async () => ({ records: (await records.store.list()).map(recordSummaryOf) }),
  );

  app.post(
    '/api/records',
    {
      schema: {
        summary: 'Make a record of versions',
        body: newRecord,
        response: { 201: recordDetailSchema },
      },
    },
    async ({ body }, reply) => reply.code(201).send(await recordDetailOf(bench, await records.make(body))),
  );

  app.get(
    '/api/records/profiles',
    {
      schema: {
        summary: 'What can be delivered, and what each asks for',
        response: { 200: z.object({ profiles: z.array(profileTermsSchema) }) },
      },
    },
    async () => ({
      profiles: deliveryProfiles.map((profile) => ({
        id: profile.id,
        name: profile.name,
        about: profile.about,
        terms: profileTerms(profile),
      })),
    }),
  );

  app.get(
    '/api/records/:id',
    { schema: { summary: 'One record', params, response: detail } },
    async ({ params: { id } }) => recordDetailOf(bench, await records.store.get(id)),
  );

  app.put(
    '/api/records/:id',
    // Read by the record's own reader, which says in a sentence what is wrong and where.
    { schema: { summary: 'Change a record: all of it anew', params, body: z.unknown(), response: detail } },
    async ({ params: { id }, body }) => recordDetailOf(bench, await records.change(id, body)),
  );

  app.delete(
    '/api/records/:id',
    {
      schema: { summary: 'Delete a record; it can be restored for a day. What was delivered stays', params },
    },
    async ({ params: { id } }, reply) => {
      await records.delete(id);
      return reply.code(204).send();
    },
  );

  app.post(
    '/api/records/:id/restore',
    { schema: { summary: 'Take back a deletion', params, response: detail } },
    async ({ params: { id } }) => recordDetailOf(bench, await records.restore(id)),
  );

  app.delete(
    '/api/records/:id/artwork',
    { schema: { summary: 'Take the artwork away', params, response: detail } },
    async ({ params: { id } }) => recordDetailOf(bench, await records.dropArtwork(id)),
  );

  app.post(
    '/api/records/:id/plan',
    {
      schema: {
        summary: 'What would be delivered, and what stands in the way',
        params,
        response: { 200: recordPlanSchema },
      },
    },
    async ({ params: { id }, raw }) => {
      const gone = new AbortController();
      raw.once('close', () => raw.destroyed && gone.abort());
      return recordPlanOf(await records.plan(id, gone.signal));
    },
  );

  app.get(
    '/api/records/:id/joins/:first',
    {
      schema: {
        summary: 'How a song (from 0) and the next one meet, ten seconds of each, as WAV',
        params: params.extend({ first: z.coerce.number().int().min(0).max(98) }),
      },
    },
    async ({ params: { id, first }, raw }, reply) => {
      const gone = new AbortController();
      raw.once('close', () => raw.destroyed && gone.abort());
      const path = await records.joinSound(id, first, gone.signal);
      const { size } = await stat(path);
      return reply.header('content-length', String(size)).type('audio/wav').send(createReadStream(path));
    },
  );

  app.post(
    '/api/records/:id/deliveries',
    {
      schema: {
        summary: 'Begin to deliver into a new folder',
        params,
        body: deliveryRequest,
        response: { 201: deliverySchema },
      },
    },
    async ({ params: { id }, body: { folder } }, reply) => {
      const inside = folder === undefined ? null : await bench.folders.resolve(folder);
      return reply.code(201).send(deliveryOf(await records.deliver(id, inside)));
    },
  );

  for (const [word, summary, act] of [
    ['stop', 'Let a delivery stand still; what was made stays', (id: string) => records.stop(id)],
    ['resume', 'Go on with a delivery where it was', (id: string) => records.goOn(id)],
  ] as const)
    app.post(
      `/api/deliveries/:id/${word}`,
      { schema: { summary, params, response: { 200: deliverySchema } } },
      async ({ params: { id } }) => deliveryOf(await act(id)),
    );

  app.get(
    '/api/deliveries/:id/report',
    { schema: { summary: 'The report on a delivery, HTML', params } },
    async ({ params: { id } }, reply) => {
      const { result } = await records.delivery(id);
      if (!result) throw new CodedError('NOT_FOUND', 'There is no report on this delivery yet.');
      return reply
        .header('content-security-policy', reportPolicy)
        .type('text/html; charset=utf-8')
        .send(deliveryHtml(result, version()));
    },
  );
}
