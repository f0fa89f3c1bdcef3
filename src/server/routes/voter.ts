import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import type { FastifyError, FastifyReply, FastifyRequest } from 'fastify';
import { z } from 'zod';
import { CodedError, type ErrorCode } from '../../audio/coded-error.ts';
import type { Bench } from '../../bench/bench.ts';
import type { Door } from '../../bench/shootout/voting-booth.ts';
import { voterAnswerSchema, voterSessionSchema } from '../../shootout/voter-shapes.ts';
import type { App } from '../app-type.ts';
import { sendError } from '../errors.ts';
import { type Rate, RateLimit } from '../rate-limit.ts';

/** More than a person makes, and enough for a phone that has lost its line and tries again (by feel). */
const perVoter: Rate = { burst: 60, perSecond: 4 };
/** Of one address; behind one there may be a whole room of voters. */
const perAddress: Rate = { burst: 3000, perSecond: 150 };
/** Links that open nothing, of one address. Nobody guesses 130 bits; this keeps the attempts from costing anything. */
const perWrongLink: Rate = { burst: 20, perSecond: 0.2 };

const bodyLimitBytes = 4096;
const params = z.object({ token: z.string().max(100) });
const requestKey = z.string().regex(/^[A-Za-z0-9_-]{16,64}$/);

/** What a voter may be told; anything else is a fault of ours, told without a word of detail. */
const tellable: ReadonlySet<ErrorCode> = new Set([
  'VOTER_REFUSED',
  'VOTE_REFUSED',
  'TOO_MANY_REQUESTS',
  'NOT_FOUND',
  'REQUEST_INVALID',
  'REQUEST_FORBIDDEN',
]);

/**
 * The voter's side, under /v/: the page, where the voter stands, the sounds, and taking answers. Every answer of a kind has
 * the same headers, whoever asks and whatever is behind a sound.
 *
 * @param door which links are let in; asked at every request
 */
export async function voterRoutes(
  app: App,
  bench: Bench,
  door: () => Door,
  report: (error: unknown) => void,
): Promise<void> {
  const { booth } = bench.shootouts;
  const limits = {
    voter: new RateLimit(perVoter),
    address: new RateLimit(perAddress),
    wrong: new RateLimit(perWrongLink),
  };

  app.setErrorHandler((error: FastifyError, _request, reply) => sendVoterError(reply, error, report));
  app.addHook('onRequest', async (request, reply) => {
    reply.header('cache-control', 'no-store');
    orWait(reply, limits.address.wait(request.ip));
  });

  const enter = async (request: FastifyRequest, reply: FastifyReply, token: string) => {
    try {
      const voter = await booth.enter(token, door());
      orWait(reply, limits.voter.wait(voter.listenerId));
      return voter;
    } catch (error) {
      if (error instanceof CodedError && error.code === 'VOTER_REFUSED')
        orWait(reply, limits.wrong.wait(request.ip));
      throw error;
    }
  };

  app.get(
    '/v/:token',
    { schema: { hide: true, params } },
    // The same for every link, right or wrong: it asks for its session itself.
    async (_request, reply) => {
      const { html, scriptHashes } = await bench.shootouts.voterPage();
      return reply
        .header('content-security-policy', pagePolicy(scriptHashes))
        .type('text/html; charset=utf-8')
        .send(html);
    },
  );

  app.get(
    '/v/:token/session',
    {
      schema: {
        summary: 'Where a voter stands, and the next round',
        params,
        response: { 200: voterSessionSchema },
      },
    },
    async (request, reply) => booth.session(await enter(request, reply, request.params.token)),
  );

  app.post(
    '/v/:token/answers',
    {
      bodyLimit: bodyLimitBytes,
      schema: {
        summary: 'Answer the next round; the answer is on the disk when this is answered',
        params,
        headers: z.object({ 'idempotency-key': requestKey }),
        body: voterAnswerSchema,
        response: { 200: voterSessionSchema },
      },
    },
    async (request, reply) => {
      const voter = await enter(request, reply, request.params.token);
      await booth.answer(voter, request.body, request.headers['idempotency-key']);
      return booth.session(voter);
    },
  );

  app.get(
    '/v/:token/sounds/:handle',
    {
      schema: {
        summary: 'A sound of a round, as WAV',
        params: params.extend({ handle: z.string().max(100) }),
      },
    },
    async (request, reply) => {
      const voter = await enter(request, reply, request.params.token);
      const path = await booth.soundPath(voter, request.params.handle);
      const { size } = await stat(path);
      return reply.header('content-length', String(size)).type('audio/wav').send(createReadStream(path));
    },
  );
}

/** The error as a voter gets it. */
export function sendVoterError(
  reply: FastifyReply,
  error: FastifyError | Error,
  report: (error: unknown) => void,
): FastifyReply {
  if (!(error instanceof CodedError) || tellable.has(error.code)) return sendError(reply, error, report);
  report(error);
  const fault = new CodedError('INTERNAL', 'Something went wrong on the other side. Try again in a moment.');
  return sendError(reply, fault, () => {});
}

function orWait(reply: FastifyReply, seconds: number): void {
  if (seconds === 0) return;
  reply.header('retry-after', String(seconds));
  throw new CodedError(
    'TOO_MANY_REQUESTS',
    `That is more than a person asks for. Wait ${seconds} s and try again; nothing is lost.`,
  );
}

/** The page runs its own scripts and nothing else, and speaks to this server alone. */
function pagePolicy(scriptHashes: readonly string[]): string {
  return [
    "default-src 'none'",
    `script-src ${scriptHashes.map((hash) => `'${hash}'`).join(' ') || "'none'"}`,
    "style-src 'unsafe-inline'",
    "connect-src 'self'",
    "media-src 'self' blob:",
    'img-src data:',
    "base-uri 'none'",
    "form-action 'none'",
    "frame-ancestors 'none'",
  ].join('; ');
}
