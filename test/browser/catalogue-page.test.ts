import { execFile } from 'node:child_process';
import { mkdir, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, test } from 'vitest';
import type { CatalogueRun, CatalogueVerdict, SongsPage } from '../../src/server/catalogue-api.ts';
import {
  axeViolationsInBothThemes,
  browserPath,
  launchBrowser,
  openPage,
  RunningBench,
  writeCalmSong,
  writeHotSong,
} from './page-support.ts';

const program = fileURLToPath(new URL('../../dist/program/main.js', import.meta.url));

describe.skipIf(!browserPath)('a catalogue on the page', () => {
  let bench: RunningBench;
  let browser: Browser;
  let songs: string;
  let run: CatalogueRun;

  /** The command line, beside the running server; a song that fails makes it end with 2. */
  const check = (...args: string[]): Promise<void> =>
    new Promise((resolve) => {
      const { DATABASE_URL: _none, ...env } = process.env;
      execFile(
        process.execPath,
        [program, 'catalogue', 'check', songs, ...args],
        { env: { ...env, EVERYROOM_HOME: join(bench.folder, 'home') } },
        () => resolve(),
      );
    });

  beforeAll(async () => {
    [bench, browser] = await Promise.all([RunningBench.start(), launchBrowser()]);
    songs = join(bench.folder, 'songs');
    await mkdir(songs);
    await writeHotSong(join(songs, 'Hot.wav'), 2);
    await writeCalmSong(join(songs, 'Calm.wav'), 2);
    await writeFile(join(songs, 'Broken.wav'), 'no sound, only words');
  });
  afterAll(async () => {
    await browser?.close();
    await bench?.remove();
  });
  afterEach(async () => {
    await Promise.all(browser.contexts().map((context) => context.close()));
  });

  const rows = (page: Page) => page.locator('.catalogue-songs tbody th').allTextContents();

  test('before the first run it says how to begin; then the runs are there', async () => {
    const { page, troubles } = await openPage(browser, `${bench.url}/catalogue`);
    await page.getByRole('heading', { name: 'No run yet' }).waitFor();
    expect(await axeViolationsInBothThemes(page)).toEqual([]);
    await check();
    await check('--profile', 'broadcast-r128');
    await page.reload();
    await page.getByRole('heading', { name: '2 runs' }).waitFor();
    await page.getByRole('link', { name: 'songs' }).first().click();
    await page.getByRole('heading', { level: 1, name: /3 songs: .*1 could not be checked/ }).waitFor();
    expect(troubles).toEqual([]);
    const { runs } = await bench.get<{ runs: CatalogueRun[] }>('/catalogue');
    run = runs[0];
    expect(run.counts).toMatchObject({ total: 3, done: 2, failed: 1, measured: 0 });
  });

  test('is sorted, filtered and turned by the server, and each song opens its verdict', async () => {
    const { page, troubles } = await openPage(browser, `${bench.url}/catalogue/${run.id}`);
    await page.getByRole('button', { name: 'Loudness' }).click();
    await expect.poll(() => rows(page)).toEqual(['Hot.wav', 'Calm.wav', 'Broken.wav']);
    await page.getByRole('button', { name: 'Loudness' }).click();
    await expect.poll(() => rows(page)).toEqual(['Broken.wav', 'Calm.wav', 'Hot.wav']);
    await page.getByRole('searchbox', { name: 'Find in names' }).fill('hOT');
    await expect.poll(() => rows(page)).toEqual(['Hot.wav']);
    // The address carries it all, so that a reload keeps it.
    await page.reload();
    await expect.poll(() => rows(page)).toEqual(['Hot.wav']);
    await page.getByRole('button', { name: 'Not only: named “hOT”' }).click();
    await page.getByRole('button', { name: '1 not checked' }).press('Enter');
    await expect.poll(() => rows(page)).toEqual(['Broken.wav']);
    await page.getByRole('link', { name: 'Broken.wav' }).click();
    await page.getByRole('heading', { level: 1, name: /“Broken.wav” is no sound file/ }).waitFor();
    await page.goBack();
    await page.getByRole('button', { name: /^Not only/ }).click();
    await page.getByRole('link', { name: 'Hot.wav' }).click();
    const { songs: hot } = await bench.get<SongsPage>(`/catalogue/runs/${run.id}/songs?text=hot`);
    await page.getByRole('heading', { level: 1, name: hot[0].headline ?? '' }).waitFor();
    expect(troubles).toEqual([]);
  });

  test('against an earlier run it says what changed', async () => {
    const { page } = await openPage(browser, `${bench.url}/catalogue/${run.id}`);
    await page.getByLabel('Against the run of').selectOption({ index: 1 });
    await page.getByText(/\d+ better, \d+ worse, \d+ as before/).waitFor();
    expect(new URL(page.url()).searchParams.get('compare')).not.toBeNull();
  });

  test('axe-core finds nothing, nothing scrolls sideways at 390 px', async () => {
    const { songs: some } = await bench.get<SongsPage>(`/catalogue/runs/${run.id}/songs`);
    const found: string[] = [];
    for (const path of [
      '',
      `/${run.id}?worst=mend&text=o`,
      `/${run.id}/songs/${some[0].seq}`,
      `/${run.id}/songs/${some[2].seq}`,
    ]) {
      const { page, troubles } = await openPage(browser, `${bench.url}/catalogue${path}`, { width: 390 });
      await page.getByRole('heading', { level: 1 }).waitFor();
      await page.waitForFunction('!/Reading the/.test(document.body.textContent)');
      found.push(...(await axeViolationsInBothThemes(page)), ...troubles);
      const [wide, seen] = await page.evaluate<[number, number]>(
        '[document.documentElement.scrollWidth, document.documentElement.clientWidth]',
      );
      expect(wide, path).toBeLessThanOrEqual(seen);
    }
    expect(found).toEqual([]);
  });

  test('the interface gives CSV and verdicts, and says no to what is none', async () => {
    const csv = await (await fetch(`${bench.url}/api/catalogue/runs/${run.id}/export`)).text();
    expect(csv.split('\r\n').filter((line) => line.includes('.wav'))).toHaveLength(3);
    const { song, report } = await bench.get<CatalogueVerdict>(`/catalogue/runs/${run.id}/songs/2`);
    expect(report?.file.name).toBe(song.name);
    const status = async (path: string) => (await fetch(`${bench.url}/api/catalogue/runs/${path}`)).status;
    expect(await status('ffff')).toBe(404);
    expect(await status(`${run.id}/songs/99`)).toBe(404);
    expect(await status(`${run.id}/songs?after=x`)).toBe(400);
    expect(await status(`${run.id}/songs?sort=source`)).toBe(400);
    expect(await status(`${run.id}/songs?limit=100000`)).toBe(400);
  });
});
