// Pictures of the page, taken from a real browser over a real server with the demo record on its bench.
// `node scripts/screenshot.mjs` saves docs/page.png (the verdict on one faulty demo master).
// `node scripts/screenshot.mjs DIR` saves every screen there too, at three widths, in light and dark.
// The data folder is a passing one; with EVERYROOM_HOME set it is that one, and its demo record is not made again.
import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';
import { build } from './build.mjs';
import { browserAdvice, browserFlags, findBrowser } from './lib/browser.mjs';
import { makeDemo } from './lib/demo.mjs';
import { root } from './lib/root.mjs';
import { say, step } from './lib/step.mjs';

const widths = [1440, 1024, 390];
const themes = ['light', 'dark'];

const built = (path) => import(pathToFileURL(join(root, 'dist', path)).href);

async function api(url, method, path, body) {
  const response = await fetch(`${url}/api${path}`, {
    method,
    headers: body === undefined ? {} : { 'content-type': 'application/json' },
    body: body === undefined ? undefined : JSON.stringify(body),
  });
  if (!response.ok) throw new Error(`${method} ${path}: ${response.status} ${await response.text()}`);
  return response.json();
}

/** Puts the demo record on the bench and checks the first song's versions; resolves to that song. */
async function demoSong(url) {
  const { songs } = await api(url, 'POST', '/demo');
  const [first] = songs;
  for (const version of first.versions) await api(url, 'POST', `/versions/${version.id}/check`, {});
  for (const version of first.versions) await api(url, 'POST', `/versions/${version.id}/places`, {});
  // The list of jobs is empty when all have ended.
  while ((await api(url, 'GET', '/jobs')).jobs.length > 0)
    await new Promise((resolve) => setTimeout(resolve, 250));
  return api(url, 'GET', `/songs/${first.id}`);
}

/** Opens `path` and waits until everything on it is drawn. */
async function openScreen(browser, url, { width, theme, ready }) {
  const context = await browser.newContext({
    viewport: { width, height: width < 500 ? 844 : 900 },
    colorScheme: theme,
    reducedMotion: 'reduce',
  });
  const page = await context.newPage();
  await page.goto(url);
  await page.getByRole('heading', { level: 1 }).waitFor();
  if (ready) await page.locator(ready).first().waitFor();
  else if (url.includes('/versions/')) await page.locator('.plot canvas').nth(2).waitFor();
  else await page.getByRole('table').or(page.locator('.steps')).first().waitFor();
  return page;
}

async function takeAll(browser, url, folder, screens) {
  mkdirSync(folder, { recursive: true });
  for (const [name, path, ready] of screens)
    for (const width of widths)
      for (const theme of themes) {
        const page = await openScreen(browser, url + path, { width, theme, ready });
        await page.screenshot({ path: join(folder, `${name}-${width}-${theme}.png`), fullPage: true });
        await page.context().close();
      }
}

async function main(folder) {
  const executablePath = findBrowser();
  if (!executablePath) throw new Error(browserAdvice);
  await build();
  const passing = process.env.EVERYROOM_HOME ? null : mkdtempSync(join(tmpdir(), 'everyroom-pictures-'));
  process.env.EVERYROOM_HOME ??= passing;
  await makeDemo(built);
  const { startServer } = await built('src/server/start.js');
  const server = await startServer({ port: 0 });
  const browser = await chromium.launch({ executablePath, args: browserFlags });
  try {
    if (folder) await step('the empty bench', () => takeAll(browser, server.url, folder, [['empty', '/']]));
    const song = await step('checking one song of the demo record', () => demoSong(server.url));
    // The master with the highest peaks has the most to show.
    const peak = (version) => version.verdict?.truePeakDbtp ?? -Infinity;
    const faulty = song.versions.reduce((high, version) => (peak(version) > peak(high) ? version : high));
    const path = `/versions/${faulty.id}`;
    await step('docs/page.png', async () => {
      const page = await openScreen(browser, server.url + path, { width: 1440, theme: 'light' });
      await page.screenshot({ path: join(root, 'docs/page.png') });
    });
    if (folder)
      await step(`every screen into ${folder}`, () =>
        takeAll(browser, server.url, folder, [
          ['bench', '/'],
          ['song', `/songs/${song.id}`],
          ['verdict', path],
          ['song-places', `${path}/places?place=car-110`, '.place-opened canvas'],
          ['places', '/places', '.library svg'],
          ['place', '/places/phone', '.plot canvas'],
          ['measure-place', '/places/measure', '.cautions'],
        ]),
      );
  } finally {
    await browser.close();
    await server.close();
    if (passing) rmSync(passing, { recursive: true, force: true });
  }
}

try {
  await main(process.argv[2]);
} catch (error) {
  say(`${error.message}\n${error.output ?? ''}`);
  process.exitCode = 1;
}
