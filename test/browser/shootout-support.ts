import { mkdir, mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { type RunningServer, startServer } from '../../src/server/start.ts';
import { Client } from '../integration/server-support.ts';

/** The server over a data folder of its own, sharing on an address that only this machine reaches. */
export class SharingBench {
  readonly folder: string;
  readonly server: RunningServer;
  readonly client: Client;

  private constructor(folder: string, server: RunningServer) {
    this.folder = folder;
    this.server = server;
    this.client = new Client(server.url);
  }

  static async start(): Promise<SharingBench> {
    const folder = await mkdtemp(join(tmpdir(), 'everyroom-shootout-'));
    await mkdir(join(folder, 'user', 'Post'), { recursive: true });
    const server = await startServer({
      port: 0,
      home: join(folder, 'home'),
      poolSize: 1,
      bench: { idle: true, userHome: join(folder, 'user') },
      sharing: { addresses: () => ['127.0.0.1'], port: 0 },
    });
    return new SharingBench(folder, server);
  }

  async remove(): Promise<void> {
    await this.server.close();
    await rm(this.folder, { recursive: true, force: true });
  }
}

/**
 * Takes away what a page from an address of a local network lacks, such an address being no secure context. Code as text:
 * the house's types know no DOM outside web/.
 */
export const insecure = `
  delete globalThis.AudioWorklet; delete globalThis.AudioWorkletNode; delete BaseAudioContext.prototype.audioWorklet;
  delete Crypto.prototype.subtle; delete Crypto.prototype.randomUUID; delete globalThis.isSecureContext;
  delete Navigator.prototype.clipboard; delete Navigator.prototype.wakeLock;
`;

/** The page's own graph, rendered instead of played: no machine is too busy for that. Code as text, to be run first. */
export function rendering(seconds: number, rate: number): string {
  return `globalThis.AudioContext = class extends OfflineAudioContext {
    constructor() { super(2, ${seconds * rate}, ${rate}); globalThis.rendering = this; }
    resume() { return Promise.resolve(); }
  }`;
}

/** What the page plays, from where it now stands, with keys pressed at moments of the rendering, s. */
export async function renderedSound(
  page: Page,
  keys: readonly (readonly [atSeconds: number, key: string])[],
): Promise<Float32Array<ArrayBuffer>[]> {
  const channels = await page.evaluate<string[]>(`(async () => {
    const context = globalThis.rendering;
    for (const [at, key] of ${JSON.stringify(keys)})
      context.suspend(at).then(() => {
        document.body.dispatchEvent(new KeyboardEvent('keydown', { key, bubbles: true }));
        OfflineAudioContext.prototype.resume.call(context);
      });
    const sound = await context.startRendering();
    return [0, 1].map((c) => {
      const bytes = new Uint8Array(sound.getChannelData(c).buffer);
      let text = '';
      for (let i = 0; i < bytes.length; i += 32768) text += String.fromCharCode(...bytes.subarray(i, i + 32768));
      return btoa(text);
    });
  })()`);
  return channels.map((text) => {
    const bytes = Buffer.from(text, 'base64');
    return new Float32Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length));
  });
}

/** Hears every sound of the round by its key, until enough of each is heard. */
export async function hearAll(page: Page, keys: readonly string[]): Promise<void> {
  for (const [i, key] of keys.entries()) {
    await page.keyboard.press(key);
    await page.locator('.sound').nth(i).and(page.locator('[data-heard=yes]')).waitFor();
  }
}

/** Every byte that the page is sent, as text. */
export function listenIn(page: Page): { text: () => Promise<string>; urls: string[] } {
  const urls: string[] = [];
  const bodies: Promise<string>[] = [];
  page.on('response', (response) => {
    urls.push(response.url());
    bodies.push(
      response
        .body()
        .then((body) => `${JSON.stringify(response.headers())} ${body.toString('latin1')}`)
        .catch(() => ''),
    );
  });
  return { urls, text: async () => (await Promise.all(bodies)).join(' ') };
}

/** What was saved by the browser's download. */
export async function downloaded(
  page: Page,
  act: () => Promise<unknown>,
): Promise<{ path: string; text: string }> {
  const [download] = await Promise.all([page.waitForEvent('download'), act()]);
  const path = join(await mkdtemp(join(tmpdir(), 'everyroom-saved-')), download.suggestedFilename());
  await download.saveAs(path);
  return { path, text: await readFile(path, 'utf8') };
}
