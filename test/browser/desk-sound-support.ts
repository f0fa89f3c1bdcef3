import { readFile } from 'node:fs/promises';
import { createServer, request as httpRequest } from 'node:http';
import type { AddressInfo } from 'node:net';
import { basename, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Page } from 'playwright-core';
import { build } from 'vite';
import type { Chain } from '../../src/finish/chain.ts';
import type { DeskSong } from '../../src/server/desk-api.ts';
import type { Hearing, LivePlace, Loop } from '../../web/desk/desk-player.ts';
import type { RunningBench } from './page-support.ts';

const web = fileURLToPath(new URL('../../web', import.meta.url));
const entry = fileURLToPath(new URL('./desk-sound-page.mjs', import.meta.url));
const place = '/desk-test/';

/**
 * The server with the player beside its page, under the same headers. (A browser's test driver cannot answer for a worklet's
 * script, so a server has to.)
 */
export async function servePlayer(bench: RunningBench): Promise<{ url: string } & AsyncDisposable> {
  const outDir = join(bench.folder, 'player');
  await build({
    configFile: false,
    root: web,
    publicDir: false,
    base: place,
    logLevel: 'silent',
    build: {
      outDir,
      target: 'es2022',
      rollupOptions: { input: entry, output: { entryFileNames: 'entry.js' } },
    },
  });
  const server = createServer((request, response) => {
    const path = request.url ?? '/';
    const behind = new URL(bench.url);
    const own = path.startsWith(place);
    // To the server behind it looks like a program that is no browser.
    const { origin: _origin, 'sec-fetch-site': _site, ...asked } = request.headers;
    const forward = httpRequest(
      {
        hostname: behind.hostname,
        port: behind.port,
        path: own ? '/' : path,
        method: own ? 'GET' : request.method,
        headers: { ...asked, host: behind.host },
      },
      (answer) => {
        if (!own) {
          response.writeHead(answer.statusCode ?? 500, answer.headers);
          answer.pipe(response);
          return;
        }
        // What the page may do is said by the real answer; only the contents are ours.
        const { 'content-length': _length, etag: _etag, ...headers } = answer.headers;
        answer.resume();
        readFile(join(outDir, path.slice(place.length))).then(
          (script) => response.writeHead(200, { ...headers, 'content-type': 'text/javascript' }).end(script),
          () => response.writeHead(404).end(),
        );
      },
    );
    forward.on('error', () => response.destroy());
    response.on('close', () => forward.destroy());
    request.pipe(forward);
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const { port } = server.address() as AddressInfo;
  return {
    url: `http://127.0.0.1:${port}`,
    [Symbol.asyncDispose]: async () => {
      server.closeAllConnections();
      await new Promise((resolve) => server.close(resolve));
    },
  };
}

/** Puts the player into a page that is open. */
export async function withPlayer(page: Page): Promise<void> {
  await page.addScriptTag({ url: `${place}entry.js`, type: 'module' });
}

/** Sends a file as a version of a song (a new one without), has it measured without coding, and waits for that. */
export async function bringVersion(
  bench: RunningBench,
  path: string,
  songId?: string,
): Promise<{ id: string; songId: string; sha256: string }> {
  const post = (to: string, body: string | Buffer<ArrayBuffer>, type: string) =>
    fetch(`${bench.url}/api${to}`, { method: 'POST', headers: { 'content-type': type }, body });
  const query = new URLSearchParams({ name: basename(path), ...(songId ? { songId } : {}) });
  const answer = await post(
    `/versions?${query}`,
    Buffer.from(await readFile(path)),
    'application/octet-stream',
  );
  const { version, job } = (await answer.json()) as {
    version: { id: string; songId: string; sha256: string };
    job: { id: string };
  };
  await post(`/jobs/${job.id}/cancel`, '{}', 'application/json');
  await post(`/versions/${version.id}/check`, '{"lossy":false}', 'application/json');
  for (;;) {
    const { verdict } = await bench.get<{ verdict: unknown }>(`/versions/${version.id}`);
    if (verdict) return version;
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}

/** The song's desk once everything that can be laid is laid. */
export async function deskSong(bench: RunningBench, songId: string): Promise<DeskSong & { seconds: number }> {
  for (;;) {
    const song = await bench.get<DeskSong>(`/desk/songs/${songId}`);
    if (song.sources.every(({ aligned }) => aligned !== 'waiting'))
      return { ...song, seconds: Math.max(...song.sources.map(({ seconds }) => seconds)) };
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
}

export interface PlayThrough {
  readonly song: DeskSong & { seconds: number };
  readonly rate: number;
  readonly seconds: number;
  readonly start?: number;
  readonly chosen: string;
  readonly gains?: Readonly<Record<string, number>>;
  /** Sources more: the base through each, under these names. */
  readonly chains?: Readonly<Record<string, Chain>>;
  readonly place?: LivePlace;
  readonly acts?: readonly (readonly unknown[])[];
  readonly hearing?: Hearing;
  readonly loop?: Loop;
}

export interface Captured {
  readonly left: Float32Array;
  readonly right: Float32Array;
  readonly told: readonly { readonly frame: number; readonly position: number; readonly heeded: number }[];
  readonly exposure: { readonly seconds: number; readonly levelDbfsA: number | null };
  readonly state: string;
  readonly trouble: string | null;
}

/** Plays in the browser, faster than it would be heard, and gives what came out of the worklet. */
export async function playThrough(page: Page, what: PlayThrough): Promise<Captured> {
  const { left, right, ...rest } = await page.evaluate<
    Omit<Captured, 'left' | 'right'> & { left: string; right: string }
  >(`playThrough(${JSON.stringify(what)})`);
  const floats = (text: string) => {
    const bytes = Uint8Array.from(Buffer.from(text, 'base64'));
    return new Float32Array(bytes.buffer);
  };
  return { ...rest, left: floats(left), right: floats(right) };
}
