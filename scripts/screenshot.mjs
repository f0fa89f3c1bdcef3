// Pictures of the page, taken from a real browser over a real server with the demo record on its bench.
// `node scripts/screenshot.mjs` saves docs/page.png (the verdict on one faulty demo master).
// `node scripts/screenshot.mjs DIR [SCREEN...]` saves every screen (or those named, such as `song`) there too, at three
// widths, in light and dark, one with a broken file.
// The data folder is a passing one; with EVERYROOM_HOME set it is that one, and its demo record is not made again.
import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';
import { build } from './build.mjs';
import { browserAdvice, browserFlags, findBrowser } from './lib/browser.mjs';
import { makeDemo } from './lib/demo.mjs';
import { demoSong, everyScreen } from './lib/pictured-bench.mjs';
import { root } from './lib/root.mjs';
import { say, step } from './lib/step.mjs';

const widths = [1440, 1024, 390];
const themes = ['light', 'dark'];

const built = (path) => import(pathToFileURL(join(root, 'dist', path)).href);

/** Opens `path` and waits until everything on it is drawn. */
async function openScreen(browser, url, { width, theme }) {
  const context = await browser.newContext({
    viewport: { width, height: width < 500 ? 844 : 900 },
    colorScheme: theme,
    reducedMotion: 'reduce',
  });
  const page = await context.newPage();
  await page.goto(url);
  await page.getByRole('heading', { level: 1 }).waitFor();
  // What is fetched and drawn after the heading; nothing on these screens moves by itself.
  await page.waitForLoadState('load');
  await still(page);
  return page;
}

/** Waits until nothing on the page says that it waits. */
async function still(page) {
  await page.waitForFunction(
    () =>
      !/(Drawing|Reading|Working|Making|Laying|Looking|Counting|Fetching|One moment)[a-z ]*…/.test(
        document.querySelector('main')?.textContent ?? '',
      ),
    undefined,
    { timeout: 60_000 },
  );
  await page.evaluate(() => document.fonts.ready.then(() => new Promise(requestAnimationFrame)));
}

async function takeAll(browser, url, folder, screens) {
  mkdirSync(folder, { recursive: true });
  for (const [name, path, act] of screens)
    for (const width of widths)
      for (const theme of themes) {
        const page = await openScreen(browser, url + path, { width, theme });
        if (act) await act(page).then(() => still(page));
        await page.screenshot({ path: join(folder, `${name}-${width}-${theme}.png`), fullPage: true });
        await page.context().close();
      }
}

async function main(folder, only) {
  const wanted = ([name]) => only.length === 0 || only.includes(name);
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
    if (folder && wanted(['empty']))
      await step('the empty bench', () => takeAll(browser, server.url, folder, [['empty', '/']]));
    const demo = await step('checking one song of the demo record', () =>
      demoSong(server.url, { references: folder !== undefined }),
    );
    const { song } = demo;
    // The master with the highest peaks has the most to show.
    const peak = (version) => version.verdict?.truePeakDbtp ?? -Infinity;
    const faulty = song.versions.reduce((high, version) => (peak(version) > peak(high) ? version : high));
    const path = `/versions/${faulty.id}`;
    await step('docs/page.png', async () => {
      const page = await openScreen(browser, server.url + path, { width: 1440, theme: 'light' });
      await page.screenshot({ path: join(root, 'docs/page.png') });
    });
    if (folder)
      await step(`every screen into ${folder}`, async () =>
        takeAll(browser, server.url, folder, (await everyScreen(server.url, demo, faulty)).filter(wanted)),
      );
  } finally {
    await browser.close();
    await server.close();
    if (passing) rmSync(passing, { recursive: true, force: true });
  }
}

try {
  const [folder, ...only] = process.argv.slice(2);
  await main(folder, only);
} catch (error) {
  say(`${error.message}\n${error.output ?? ''}`);
  process.exitCode = 1;
}
