import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import type { FastifyError, FastifyReply, FastifyRequest } from 'fastify';
import { z } from 'zod';
import { CodedError } from '../../audio/coded-error.ts';
import type { Bench } from '../../bench/bench.ts';
import { plainName } from '../../bench/whole-folder.ts';
import { walkNotebookSchema } from '../../places/walk-shapes.ts';
import type { App } from '../app-type.ts';
import type { Shareable } from '../sharing.ts';
import { sendVisitorError, VisitorLimits, visitorPagePolicy } from '../visitors.ts';

const bodyLimitBytes = 1 << 20;
const params = z.object({ token: z.string().max(100) });
const notesPath = /^\/w\/[a-z2-7]{36}\/notes$/;

/** Walks as they are shared in the local network. */
export function sharedWalks(bench: Bench, report: (error: unknown) => void): Shareable {
  return {
    usualPort: 4872,
    bodyLimitBytes,
    admit: (walkId) => bench.walks.get(walkId),
    serve: (scope, walkId, reach) => notebookRoutes(scope, bench, walkId, reach, report),
    told: (walkId) => bench.events.emit('walk', walkId),
    // The token in its address is all that such a request has, and all that it needs.
    fromDisk: ({ method, url }) => method === 'POST' && notesPath.test(url),
  };
}

/**
 * The notebook's side, under /w/: the page, what counts, the sounds, and taking notes.
 *
 * @param only the walk that may be entered here; null: any
 * @param reach addresses to which a page that is carried along may send its notes
 */
export async function notebookRoutes(
  app: App,
  bench: Bench,
  only: string | null,
  reach: () => readonly string[],
  report: (error: unknown) => void,
): Promise<void> {
  const { notebooks } = bench.walks;
  const limits = new VisitorLimits();
  app.setErrorHandler((error: FastifyError, _request, reply) => sendVisitorError(reply, error, report));
  app.addHook('onRequest', async (request, reply) => {
    reply.header('cache-control', 'no-store');
    if (request.headers.origin === 'null' && notesPath.test(request.url))
      reply.header('access-control-allow-origin', 'null');
    limits.address(reply, request.ip);
  });

  const enter = async (request: FastifyRequest, reply: FastifyReply, token: string): Promise<string> => {
    try {
      const walkId = await notebooks.enter(token, only);
      limits.visitor(reply, token);
      return walkId;
    } catch (error) {
      if (error instanceof CodedError && error.code === 'WALK_REFUSED') limits.wrongLink(reply, request.ip);
      throw error;
    }
  };

  app.get(
    '/w/:token',
    { schema: { hide: true, params } },
    // The same for every link, right or wrong: it asks for its notebook itself.
    async (_request, reply) => {
      const { html, scriptHashes } = await notebooks.page();
      return reply
        .header('content-security-policy', visitorPagePolicy(scriptHashes))
        .type('text/html; charset=utf-8')
        .send(html);
    },
  );

  app.get(
    '/w/:token/notebook',
    {
      schema: {
        summary: 'What a notebook of a walk shows: names, what counts, its sounds',
        params,
        response: { 200: walkNotebookSchema },
      },
    },
    async (request, reply) => notebooks.notebook(await enter(request, reply, request.params.token)),
  );

  app.get(
    '/w/:token/sounds/:handle',
    {
      schema: {
        summary: 'An excerpt of a walk, as WAV',
        params: params.extend({ handle: z.string().max(100) }),
      },
    },
    async (request, reply) => {
      const walkId = await enter(request, reply, request.params.token);
      const path = await notebooks.soundPath(walkId, request.params.handle);
      const { size } = await stat(path);
      return reply.header('content-length', String(size)).type('audio/wav').send(createReadStream(path));
    },
  );

  app.post(
    '/w/:token/notes',
    {
      bodyLimit: bodyLimitBytes,
      schema: {
        summary: 'Take notes in; they are on the disk when this is answered. Twice is once',
        params,
        body: z.unknown(),
        response: { 200: walkNotebookSchema },
      },
    },
    async (request, reply) => {
      const walkId = await enter(request, reply, request.params.token);
      await notebooks.take(walkId, request.body);
      return notebooks.notebook(walkId);
    },
  );

  app.get(
    '/w/:token/page.html',
    { schema: { summary: 'The notebook with its sounds in one file, to be carried along', params } },
    async (request, reply) =>
      sendCarried(reply, await notebooks.carried(await enter(request, reply, request.params.token), reach())),
  );
}

/** A page that is carried along, as a download. */
export function sendCarried(
  reply: FastifyReply,
  { html, name }: { html: string; name: string },
): FastifyReply {
  const file = encodeURIComponent(plainName(name, 'walk.html'));
  return reply
    .header('content-disposition', `attachment; filename*=UTF-8''${file}`)
    .type('text/html; charset=utf-8')
    .send(html);
}
