import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync } from 'node:fs';
import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { type Browser, chromium, type Page } from 'playwright-core';
import { browserAdvice, browserFlags, findBrowser } from '../../scripts/lib/browser.mjs';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import type { Song, VersionDetail } from '../../src/server/api.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));

/** The browser to drive, or null; then a line says so, and tests are to be skipped with `test.skipIf(!browserPath)`. */
export const browserPath: string | null = findBrowser();
if (!browserPath) process.stderr.write(`left out: ${browserAdvice}\n`);

/** The built server over a data folder of its own, as a process that can be ended and started again. */
export class RunningBench {
  readonly folder: string;
  url = '';
  #process: ChildProcess | undefined;

  private constructor(folder: string) {
    this.folder = folder;
  }

  static async start(): Promise<RunningBench> {
    const bench = new RunningBench(await mkdtemp(join(tmpdir(), 'everyroom-page-')));
    await bench.resume();
    return bench;
  }

  /** Starts the server on the port it had before, or on a free one the first time. */
  async resume(): Promise<void> {
    const entry = join(root, 'dist/src/server/start.js');
    if (!existsSync(entry) || !existsSync(join(root, 'dist/page/index.html')))
      throw new Error('Browser tests drive the built page: run npm run build first (npm test does).');
    const port = this.url ? new URL(this.url).port : '0';
    const child = spawn(process.execPath, [entry, '--port', port], {
      // Folders to watch are chosen below the home of whoever runs it: here, the test's own.
      env: { ...process.env, EVERYROOM_HOME: join(this.folder, 'home'), HOME: this.folder },
      stdio: ['ignore', 'pipe', 'inherit'],
    });
    this.#process = child;
    for await (const line of createInterface({ input: child.stdout })) {
      const url = /http:\/\/\S+/.exec(line)?.[0];
      if (!url) continue;
      this.url = url;
      return;
    }
    throw new Error('The server ended before it said where it is.');
  }

  async halt(): Promise<void> {
    const child = this.#process;
    if (!child || child.exitCode !== null) return;
    child.kill('SIGTERM');
    await once(child, 'exit');
  }

  async remove(): Promise<void> {
    await this.halt();
    await rm(this.folder, { recursive: true, force: true });
  }

  async get<T>(path: string): Promise<T> {
    return (await (await fetch(`${this.url}/api${path}`)).json()) as T;
  }

  async post<T>(path: string, body: unknown = {}, method = 'POST'): Promise<T> {
    const response = await fetch(`${this.url}/api${path}`, {
      method,
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify(body),
    });
    return (await response.json()) as T;
  }

  async songs(): Promise<Song[]> {
    return (await this.get<{ songs: Song[] }>('/songs')).songs;
  }

  /**
   * Sends a file without the page and waits for the end of its check.
   *
   * @param to a song it belongs to, its kind; `lossy` false leaves the coding out of the check
   */
  async bringIn(
    path: string,
    { lossy = true, ...to }: { songId?: string; kind?: string; lossy?: boolean } = {},
  ): Promise<VersionDetail> {
    const query = new URLSearchParams({ name: basename(path), ...to });
    const response = await fetch(`${this.url}/api/versions?${query}`, {
      method: 'POST',
      headers: { 'content-type': 'application/octet-stream' },
      body: await readFile(path),
    });
    const { version, job } = (await response.json()) as {
      version: { id: string };
      job: { id: string } | null;
    };
    if (!lossy) {
      if (job) await this.post(`/jobs/${job.id}/cancel`);
      await this.post(`/versions/${version.id}/check`, { lossy });
    }
    for (;;) {
      const now = await this.get<VersionDetail>(`/versions/${version.id}`);
      if (now.job && now.job.state !== 'queued' && now.job.state !== 'running') return now;
      await new Promise((resolve) => setTimeout(resolve, 50));
    }
  }
}

export function launchBrowser(flags: readonly string[] = []): Promise<Browser> {
  return chromium.launch({ executablePath: browserPath!, args: [...browserFlags, ...flags] });
}

/** A page whose console errors and exceptions are kept, to be found empty at the end. */
export async function openPage(
  browser: Browser,
  url: string,
  options: { width?: number; theme?: 'light' | 'dark' } = {},
): Promise<{ page: Page; troubles: string[] }> {
  const context = await browser.newContext({
    viewport: { width: options.width ?? 1280, height: 900 },
    colorScheme: options.theme ?? 'light',
    reducedMotion: 'reduce',
  });
  const page = await context.newPage();
  const troubles: string[] = [];
  page.on('console', (message) => {
    if (message.type() === 'error') troubles.push(message.text());
  });
  page.on('pageerror', (error) => troubles.push(String(error)));
  await page.goto(url);
  return { page, troubles };
}

/** Drops files on the window as a person does: over it, then let go. */
export async function dropFiles(page: Page, paths: readonly string[]): Promise<void> {
  const files = await Promise.all(
    paths.map(async (path) => ({ name: basename(path), base64: (await readFile(path)).toString('base64') })),
  );
  // Code as text: the house's types know no DOM outside web/.
  await page.evaluate(`(() => {
    const transfer = new DataTransfer();
    for (const { name, base64 } of ${JSON.stringify(files)})
      transfer.items.add(new File([Uint8Array.from(atob(base64), (c) => c.charCodeAt(0))], name));
    for (const type of ['dragenter', 'dragover', 'drop'])
      document.body.dispatchEvent(
        new DragEvent(type, { dataTransfer: transfer, bubbles: true, cancelable: true }),
      );
  })()`);
}

const axeSource = readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** What axe-core holds against the page as it stands, by WCAG 2.2 A and AA and its own good practice; empty when nothing. */
export async function axeViolations(page: Page): Promise<string[]> {
  await page.evaluate(await axeSource);
  return runAxe(page, ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']);
}

/** The same of a page that follows the system's theme, with what depends on colours looked at in the dark too. */
export async function axeViolationsInBothThemes(page: Page): Promise<string[]> {
  const light = await axeViolations(page);
  await page.emulateMedia({ colorScheme: 'dark' });
  const dark = await runAxe(page, ['color-contrast', 'link-in-text-block']);
  await page.emulateMedia({ colorScheme: 'light' });
  return [...light, ...dark.map((text) => `in the dark, ${text}`)];
}

/** `runOnly`: tags or rules. */
async function runAxe(page: Page, runOnly: readonly string[]): Promise<string[]> {
  // The rows of a long table are made alike: some stand for the thousands.
  const few = await page.addStyleTag({ content: 'tbody tr:nth-child(n + 9) { display: none; }' });
  const found = await page.evaluate<string[]>(`axe
    .run(document, { runOnly: ${JSON.stringify(runOnly)} })
    .then(({ violations }) => violations.flatMap((v) => v.nodes.map((n) => v.id + ': ' + n.html + ' ' + n.failureSummary)))`);
  await few.evaluate('(style) => style.remove()');
  return found;
}

/** Bursts of a quarter of the sample rate, sampled beside their tops: 0 dBFS in the samples, 3 dB above between them. */
export async function writeHotSong(path: string, seconds = 4): Promise<string> {
  const sampleRate = 44_100;
  const channel = Float32Array.from({ length: seconds * sampleRate }, (_, i) => {
    const burst = i % sampleRate < 400 ? 0.99 * Math.SQRT2 : 0.2;
    return burst * Math.sin((Math.PI / 2) * i + Math.PI / 4);
  });
  await writeWav(path, { sampleRate, channels: [channel, channel] }, { sampleFormat: 's16' });
  return path;
}

/** A quiet, steady chord with a swell. */
export async function writeCalmSong(path: string, seconds = 4): Promise<string> {
  const sampleRate = 44_100;
  const channel = Float32Array.from({ length: seconds * sampleRate }, (_, i) => {
    const t = i / sampleRate;
    const swell = 0.6 + 0.4 * Math.sin(Math.PI * t);
    return (
      0.12 * swell * [110, 220, 331, 660, 1760].reduce((sum, hz) => sum + Math.sin(2 * Math.PI * hz * t), 0)
    );
  });
  await writeWav(path, { sampleRate, channels: [channel, channel] }, { sampleFormat: 's24' });
  return path;
}
