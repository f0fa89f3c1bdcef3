import { mkdir, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { Bench } from '../../src/bench/bench.ts';
import { buildApp, portOf } from '../../src/server/app.ts';
import type { App } from '../../src/server/app-type.ts';
import { CatalogueDoor } from '../../src/server/catalogue-door.ts';
import { Client, scratchFolder } from './server-support.ts';

describe('the page', () => {
  let folder: Awaited<ReturnType<typeof scratchFolder>>;
  let bench: Bench;
  let app: App;
  let client: Client;

  beforeAll(async () => {
    folder = await scratchFolder();
    const pagePath = join(folder.path, 'page');
    await mkdir(join(pagePath, 'assets'), { recursive: true });
    await writeFile(join(pagePath, 'index.html'), '<p>the page');
    await writeFile(join(pagePath, 'assets', 'main-1a2b.js'), 'let page;');
    await writeFile(join(folder.path, 'secret.txt'), 'secret');
    bench = await Bench.open({ homePath: join(folder.path, 'home'), poolSize: 1 });
    app = await buildApp(bench, {
      hosts: ['127.0.0.1'],
      pagePath,
      maxBytes: 1000,
      catalogue: new CatalogueDoor({ homePath: bench.home.path }),
      report: console.error,
    });
    await app.listen({ port: 0, host: '127.0.0.1' });
    client = new Client(`http://127.0.0.1:${portOf(app)}`);
  });

  afterAll(async () => {
    await app.close();
    await bench.close();
    await folder[Symbol.asyncDispose]();
  });

  test.each(['/', '/songs/0123456789abcdef', '/songs/x?version=y'])(
    '%s is the page, asked for anew each time',
    async (path) => {
      const { status, body, headers } = await client.call('GET', path);
      expect([status, body]).toEqual([200, '<p>the page']);
      expect(headers.get('content-type')).toMatch(/^text\/html/);
      expect(headers.get('cache-control')).toBe('no-cache');
    },
  );

  test('its parts carry their hash and are kept', async () => {
    const { body, headers } = await client.call('GET', '/assets/main-1a2b.js');
    expect(body).toBe('let page;');
    expect(headers.get('cache-control')).toContain('immutable');
  });

  test.each(['/assets/main-old.js', '/%2e%2e/secret.txt', '/..%2fsecret.txt', '/api/songs/x/y'])(
    '%s is not there',
    async (path) => {
      const { status, body } = await client.call('GET', path);
      expect(status).toBeGreaterThanOrEqual(400);
      expect(status).toBeLessThan(500);
      expect(body).not.toBe('secret');
      expect(body).toMatchObject({ error: { message: expect.any(String) } });
    },
  );

  test('nothing is written to by accident', async () => {
    expect((await client.call('POST', '/songs/x')).status).toBe(404);
  });
});
