import type { IncomingMessage } from 'node:http';
import type { FastifyReply } from 'fastify';
import { z } from 'zod';
import { CodedError } from '../../audio/coded-error.ts';
import { tooLarge } from '../../bench/audio-store.ts';
import type { Bench } from '../../bench/bench.ts';
import { displayName } from '../../bench/display-name.ts';
import { jobSchema, songSchema, versionKind, versionSchema } from '../api.ts';
import type { App } from '../app-type.ts';
import { measuringSchema } from '../places-api.ts';
import { recordDetailOf } from '../record-answers.ts';
import { recordDetailSchema } from '../records-api.ts';
import { entryOf } from '../shootout-answers.ts';
import { entrySchema, uploadedEntryQuery } from '../shootout-api.ts';
import { measuringOf } from './measurings.ts';

const receivedSchema = z.object({ song: songSchema, version: versionSchema, job: jobSchema.nullable() });

/** How long a sender that is refused may go on sending until it listens. */
const drainMilliseconds = 10_000;

/** POST /api/versions, /api/records/:id/artwork, /api/shootouts/:id/entries and /api/places/measurings/:id/recording: a file's bytes, straight to the disk. In a scope of its own, because no body is parsed here. */
export async function uploadRoute(app: App, bench: Bench, maxBytes: number): Promise<void> {
  app.removeAllContentTypeParsers();
  app.addContentTypeParser('*', (_request, _payload, done) => done(null));

  app.post(
    '/api/versions',
    {
      schema: {
        summary:
          'Bring in a file as a version; the body is its bytes. 200 when the song holds the same bytes already',
        querystring: z.object({
          name: z.string().max(4096).default('unnamed'),
          songId: z.string().optional(),
          kind: versionKind.default('master'),
        }),
        response: { 200: receivedSchema, 201: receivedSchema },
      },
    },
    async ({ query, raw }, reply) => {
      const { added, ...answer } = await received(raw, reply, maxBytes, (stream) =>
        bench.receive({ stream, maxBytes, ...query, songId: query.songId }),
      );
      return reply.code(added ? 201 : 200).send(answer);
    },
  );

  app.post(
    '/api/records/:id/artwork',
    {
      schema: {
        summary: 'Take in the artwork of a record; the body is the bytes of a JPEG or PNG',
        params: z.object({ id: z.string() }),
        querystring: z.object({ name: z.string().max(4096).default('artwork') }),
        response: { 200: recordDetailSchema },
      },
    },
    async ({ params: { id }, query: { name }, raw }, reply) =>
      recordDetailOf(
        bench,
        await received(raw, reply, maxBytes, (stream) =>
          bench.records.setArtwork(id, stream, displayName(name)),
        ),
      ),
  );

  app.post(
    '/api/shootouts/:id/entries',
    {
      schema: {
        summary: 'Take in a master that came back; the body is its bytes',
        params: z.object({ id: z.string() }),
        querystring: uploadedEntryQuery,
        response: { 201: entrySchema },
      },
    },
    async ({ params: { id }, query, raw }, reply) => {
      const entry = await received(raw, reply, maxBytes, (stream) =>
        bench.shootouts.host.take(id, { stream, maxBytes, ...query }),
      );
      return reply.code(201).send(entryOf(entry));
    },
  );

  app.post(
    '/api/places/measurings/:id/recording',
    {
      schema: {
        summary: 'A recording made in a place; the body is its bytes. Measuring begins',
        params: z.object({ id: z.string() }),
        querystring: z.object({ name: z.string().max(4096).default('unnamed') }),
        response: { 202: measuringSchema },
      },
    },
    async ({ params: { id }, query, raw }, reply) => {
      const measuring = await received(raw, reply, maxBytes, (stream) =>
        bench.places.measurings.record(id, { stream, maxBytes, ...query }),
      );
      return reply.code(202).send(measuringOf(measuring));
    },
  );
}

/** Hands the bytes of a request on; who sends them hears the reason when they are refused. */
async function received<T>(
  raw: IncomingMessage,
  reply: FastifyReply,
  maxBytes: number,
  take: (stream: AsyncIterable<Uint8Array>) => Promise<T>,
): Promise<T> {
  try {
    if (Number(raw.headers['content-length'] ?? 0) > maxBytes) throw tooLarge(maxBytes);
    // The stream must outlive a refusal, or the sender would see a broken line instead of the reason.
    return await take(raw.iterator({ destroyOnReturn: false }));
  } catch (error) {
    reply.header('connection', 'close');
    if (raw.destroyed && !raw.complete)
      throw new CodedError('REQUEST_INVALID', 'The file was not sent to its end.', { cause: error });
    await drained(raw);
    throw error;
  }
}

/** Throws away what the sender still sends, for a while. */
function drained(request: IncomingMessage): Promise<void> {
  if (request.complete || request.destroyed) return Promise.resolve();
  return new Promise((resolve) => {
    const timer = setTimeout(resolve, drainMilliseconds);
    request.once('close', () => {
      clearTimeout(timer);
      resolve();
    });
    request.once('end', () => {
      clearTimeout(timer);
      resolve();
    });
    request.resume();
  });
}
