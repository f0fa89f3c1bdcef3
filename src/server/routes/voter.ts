import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import type { FastifyError, FastifyReply, FastifyRequest } from 'fastify';
import { z } from 'zod';
import { CodedError } from '../../audio/coded-error.ts';
import type { Bench } from '../../bench/bench.ts';
import type { Door } from '../../bench/shootout/voting-booth.ts';
import { voterAnswerSchema, voterSessionSchema } from '../../shootout/voter-shapes.ts';
import type { App } from '../app-type.ts';
import type { Shareable } from '../sharing.ts';
import { sendVisitorError, VisitorLimits, visitorPagePolicy } from '../visitors.ts';

const bodyLimitBytes = 4096;

/** Shoot-outs as they are shared in the local network: while open for votes. */
export function sharedShootouts(bench: Bench, report: (error: unknown) => void): Shareable {
  return {
    usualPort: 4871,
    bodyLimitBytes,
    admit: async (shootoutId) => {
      const { state } = await bench.shootouts.host.store.get(shootoutId);
      if (state !== 'open')
        throw new CodedError('SHOOTOUT_STATE', 'A shoot-out is shared while it is open for votes.');
    },
    serve: (scope, shootoutId) => voterRoutes(scope, bench, () => ({ where: 'network', shootoutId }), report),
    told: (shootoutId) => bench.events.emit('shootout', shootoutId),
  };
}

const params = z.object({ token: z.string().max(100) });
const requestKey = z.string().regex(/^[A-Za-z0-9_-]{16,64}$/);

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
  const limits = new VisitorLimits();

  app.setErrorHandler((error: FastifyError, _request, reply) => sendVisitorError(reply, error, report));
  app.addHook('onRequest', async (request, reply) => {
    reply.header('cache-control', 'no-store');
    limits.address(reply, request.ip);
  });

  const enter = async (request: FastifyRequest, reply: FastifyReply, token: string) => {
    try {
      const voter = await booth.enter(token, door());
      limits.visitor(reply, voter.listenerId);
      return voter;
    } catch (error) {
      if (error instanceof CodedError && error.code === 'VOTER_REFUSED') limits.wrongLink(reply, request.ip);
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
        .header('content-security-policy', visitorPagePolicy(scriptHashes))
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
