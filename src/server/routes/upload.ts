import type { IncomingMessage } from 'node:http';
import { z } from 'zod';
import { CodedError } from '../../audio/coded-error.ts';
import { tooLarge } from '../../bench/audio-store.ts';
import type { Bench } from '../../bench/bench.ts';
import { jobSchema, songSchema, versionKind, versionSchema } from '../api.ts';
import type { App } from '../app-type.ts';

const received = z.object({ song: songSchema, version: versionSchema, job: jobSchema.nullable() });

/** How long a sender that is refused may go on sending until it listens. */
const drainMilliseconds = 10_000;

/** POST /api/versions: a file's bytes, straight to the disk. In a scope of its own, because no body is parsed here. */
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
        response: { 200: received, 201: received },
      },
    },
    async ({ query, raw, headers }, reply) => {
      try {
        if (Number(headers['content-length'] ?? 0) > maxBytes) throw tooLarge(maxBytes);
        // The stream must outlive a refusal, or the sender would see a broken line instead of the reason.
        const stream: AsyncIterable<Uint8Array> = raw.iterator({ destroyOnReturn: false });
        const { added, ...answer } = await bench.receive({
          stream,
          maxBytes,
          ...query,
          songId: query.songId,
        });
        return reply.code(added ? 201 : 200).send(answer);
      } catch (error) {
        reply.header('connection', 'close');
        if (raw.destroyed && !raw.complete)
          throw new CodedError('REQUEST_INVALID', 'The file was not sent to its end.', { cause: error });
        await drained(raw);
        throw error;
      }
    },
  );
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
