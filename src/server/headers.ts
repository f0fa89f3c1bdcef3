import type { FastifyInstance } from 'fastify';

/**
 * What the page may do: load from here, compile WebAssembly, style elements from script. No inline script, no other
 * site, no frame around it.
 */
const pagePolicy = [
  "default-src 'self'",
  "script-src 'self' 'wasm-unsafe-eval'",
  "style-src 'self' 'unsafe-inline'",
  "img-src 'self' data: blob:",
  "media-src 'self' blob:",
  "worker-src 'self' blob:",
  "object-src 'none'",
  "base-uri 'none'",
  "form-action 'none'",
  "frame-ancestors 'none'",
].join('; ');

/** What a report may do: show itself. */
export const reportPolicy = [
  "default-src 'none'",
  "style-src 'unsafe-inline'",
  'img-src data:',
  'font-src data:',
  "base-uri 'none'",
  "form-action 'none'",
  "frame-ancestors 'none'",
].join('; ');

const headers = {
  'content-security-policy': pagePolicy,
  'x-content-type-options': 'nosniff',
  'referrer-policy': 'no-referrer',
  'x-frame-options': 'DENY',
  'permissions-policy': 'camera=(), geolocation=(), payment=(), usb=()',
  // Apart from all other sites, which also lets the page share memory with its workers.
  'cross-origin-opener-policy': 'same-origin',
  'cross-origin-embedder-policy': 'require-corp',
  'cross-origin-resource-policy': 'same-origin',
};

/** Sets the security headers on every answer; answers of the interface are never kept by the browser. */
export function secureHeaders(app: FastifyInstance): void {
  app.addHook('onRequest', async (request, reply) => {
    reply.headers(headers);
    if (request.url.startsWith('/api/')) reply.header('cache-control', 'no-store');
  });
}

/** The same on answers to voters; what only a secure context has is left out, for an address of a local network is none. */
export function voterHeaders(app: FastifyInstance): void {
  app.addHook('onRequest', async (_request, reply) => {
    reply.headers({
      'content-security-policy': "default-src 'none'; frame-ancestors 'none'",
      'x-content-type-options': headers['x-content-type-options'],
      'referrer-policy': headers['referrer-policy'],
      'x-frame-options': headers['x-frame-options'],
      'permissions-policy': headers['permissions-policy'],
    });
  });
}
