import type { FastifyInstance, FastifyRequest } from 'fastify';
import { CodedError } from '../audio/coded-error.ts';

/** Whether a request is one that may come without a page of ours. */
export type GuardException = (request: FastifyRequest) => boolean;

/**
 * Other web sites must not be able to use this server through the browser of the person it works for. A request
 * under a host name that is not ours is refused (a foreign name can be made to lead to this machine); so is one
 * sent by a page that is not ours. Programs that are no browser send neither Origin nor Sec-Fetch-Site and may.
 *
 * @param hosts host names the server answers to, without port
 * @param port the port it listens on, once it does
 * @param fromDisk requests that a page opened from disk may send too; such a page has the origin 'null'
 */
export function guard(
  app: FastifyInstance,
  hosts: readonly string[],
  port: () => number,
  fromDisk: GuardException = () => false,
): void {
  app.addHook('onRequest', async (request) => {
    const authority = request.headers.host?.toLowerCase();
    const ours = hosts.flatMap((host) => (port() === 80 ? [host, `${host}:80`] : [`${host}:${port()}`]));
    if (authority === undefined || !ours.includes(authority))
      throw forbidden('The request names a host that is not this machine.');
    const { origin } = request.headers;
    if (origin !== undefined) {
      const fromOurs = origin.toLowerCase() === `http://${authority}`;
      if (!fromOurs && !(origin === 'null' && fromDisk(request)))
        throw forbidden('The request comes from another site.');
    } else if (changesState(request) && !fromOurPage(request))
      throw forbidden('The request comes from another site.');
  });
}

function changesState({ method }: FastifyRequest): boolean {
  return method !== 'GET' && method !== 'HEAD' && method !== 'OPTIONS';
}

function fromOurPage({ headers }: FastifyRequest): boolean {
  const site = headers['sec-fetch-site'];
  return site === undefined || site === 'same-origin' || site === 'none';
}

function forbidden(message: string): CodedError {
  return new CodedError('REQUEST_FORBIDDEN', message);
}
