import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { type RunningServer, startServer } from '../../src/server/start.ts';
import { rawRequest, scratchFolder } from './server-support.ts';

describe('who may ask', () => {
  let folder: Awaited<ReturnType<typeof scratchFolder>>;
  let server: RunningServer;
  let own: string;

  beforeAll(async () => {
    folder = await scratchFolder();
    server = await startServer({ port: 0, home: folder.path, poolSize: 1 });
    own = `127.0.0.1:${server.port}`;
  });

  afterAll(async () => {
    await server.close();
    await folder[Symbol.asyncDispose]();
  });

  const ask = async (method: string, headers: Record<string, string>, path = '/api/songs/none/restore') =>
    (await rawRequest(server.url, path, { method, headers })).status;

  test('listens to this machine only', () => {
    expect(new URL(server.url).hostname).toBe('127.0.0.1');
  });

  test.each(['localhost', '127.0.0.1', '[::1]', 'LOCALHOST'])('answers to %s', async (name) => {
    expect(await ask('GET', { host: `${name}:${server.port}` }, '/api/songs')).toBe(200);
  });

  test.each([
    'evil.example',
    'localhost.evil.example',
    '127.0.0.1.evil.example',
    '169.254.1.1',
    'localhost@evil.example',
  ])('refuses the host name %s, which may have been made to lead here', async (name) => {
    expect(await ask('GET', { host: `${name}:${server.port}` }, '/api/songs')).toBe(403);
    expect(await ask('GET', { host: `${name}:${server.port}` }, '/')).toBe(403);
  });

  test('refuses our name with another port or none', async () => {
    expect(await ask('GET', { host: 'localhost:1' }, '/api/songs')).toBe(403);
    expect(await ask('GET', { host: 'localhost' }, '/api/songs')).toBe(403);
  });

  test.each([
    'http://evil.example',
    'null',
    'https://localhost',
    'http://localhost',
    'http://localhost:1',
    '',
  ])('refuses the origin %j, reading and writing', async (origin) => {
    for (const method of ['GET', 'POST'])
      expect(await ask(method, { host: own, origin }, '/api/demo')).toBe(403);
  });

  test('serves its own page', async () => {
    // 404: it got past the guard to the song that is not there.
    expect(await ask('POST', { host: own, origin: server.url, 'sec-fetch-site': 'same-origin' })).toBe(404);
  });

  test('refuses a page of ours under another name of ours: the names are different sites to a browser', async () => {
    expect(await ask('POST', { host: own, origin: `http://localhost:${server.port}` })).toBe(403);
  });

  test.each(['cross-site', 'same-site'])(
    'refuses to change anything for a %s form without an origin',
    async (site) => {
      expect(await ask('POST', { host: own, 'sec-fetch-site': site })).toBe(403);
      expect(await ask('DELETE', { host: own, 'sec-fetch-site': site }, '/api/songs/none')).toBe(403);
    },
  );

  test('serves programs that are no browser', async () => {
    expect(await ask('POST', { host: own })).toBe(404);
    expect(await ask('POST', { host: own, 'sec-fetch-site': 'none' })).toBe(404);
  });

  test('a refusal says what it is', async () => {
    const { text } = await rawRequest(server.url, '/api/songs', { headers: { host: 'evil.example' } });
    expect(JSON.parse(text)).toMatchObject({ error: { code: 'REQUEST_FORBIDDEN' } });
  });

  test.each(['/api/songs', '/', '/api/nothing'])('%s carries the security headers', async (path) => {
    const { headers } = await fetch(`${server.url}${path}`);
    const policy = headers.get('content-security-policy') ?? '';
    const scripts = policy.split('; ').find((part) => part.startsWith('script-src'));
    expect(scripts).toBe("script-src 'self' 'wasm-unsafe-eval'");
    expect(policy).toContain("frame-ancestors 'none'");
    expect(headers.get('x-content-type-options')).toBe('nosniff');
    expect(headers.get('referrer-policy')).toBe('no-referrer');
    expect(headers.get('cross-origin-opener-policy')).toBe('same-origin');
    expect(headers.get('cross-origin-embedder-policy')).toBe('require-corp');
    expect(headers.has('access-control-allow-origin')).toBe(false);
  });
});
