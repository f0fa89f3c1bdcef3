import { existsSync } from 'node:fs';
import { extname, sep } from 'node:path';
import fastifyStatic from '@fastify/static';
import type { FastifyInstance } from 'fastify';
import { CodedError } from '../audio/coded-error.ts';
import { sendError } from './errors.ts';

/**
 * Serves the built page. Paths without an ending that are no file belong to the page's own navigation and get its
 * index.html; everything else that is not there is NOT_FOUND.
 */
export async function servePage(app: FastifyInstance, pagePath: string): Promise<void> {
  const built = existsSync(pagePath);
  if (built)
    await app.register(fastifyStatic, {
      root: pagePath,
      cacheControl: false,
      setHeaders: (reply, path) => {
        // Built files under assets/ carry a hash of their content in their names.
        const forever = path.includes(`${sep}assets${sep}`);
        reply.setHeader('cache-control', forever ? 'public, max-age=31536000, immutable' : 'no-cache');
      },
    });
  app.setNotFoundHandler((request, reply) => {
    const [path] = request.url.split('?');
    const navigation = request.method === 'GET' && !path.startsWith('/api') && extname(path) === '';
    if (navigation && built) return reply.sendFile('index.html');
    const message = navigation
      ? 'The page is not built. npm start builds it; the interface under /api works without.'
      : 'There is nothing under this address.';
    return sendError(reply, new CodedError('NOT_FOUND', message), () => {});
  });
}
