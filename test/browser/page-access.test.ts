import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, test } from 'vitest';
import {
  axeViolationsInBothThemes,
  browserPath,
  launchBrowser,
  openPage,
  RunningBench,
  writeCalmSong,
  writeHotSong,
} from './page-support.ts';

const patience = 60_000;

describe.skipIf(!browserPath)('the page for every hand, eye and width', () => {
  let bench: RunningBench;
  let browser: Browser;
  /** Every screen that can be reached, with what shows that it stands. */
  let screens: { name: string; path: string; ready: (page: Page) => Promise<void> }[];

  beforeAll(async () => {
    [bench, browser] = await Promise.all([RunningBench.start(), launchBrowser()]);
    const broken = join(bench.folder, 'Broken.wav');
    await writeFile(broken, 'no sound, only words');
    const hot = await bench.bringIn(await writeHotSong(join(bench.folder, 'Hot.wav')));
    await bench.bringIn(await writeCalmSong(join(bench.folder, 'Calm.wav')));
    const failed = await bench.bringIn(broken);
    const heading = (level: number, name?: string | RegExp) => (page: Page) =>
      page.getByRole('heading', { level, name }).waitFor();
    screens = [
      { name: 'bench', path: '/', ready: (page) => page.getByRole('link', { name: 'Hot.wav' }).waitFor() },
      { name: 'song', path: `/songs/${hot.songId}`, ready: heading(2, /version/) },
      {
        name: 'verdict',
        path: `/versions/${hot.id}`,
        ready: async (page) => {
          await page.locator('.wave canvas').waitFor();
          await page.getByRole('application', { name: 'Spectrum in third octaves' }).waitFor();
        },
      },
      { name: 'failed check', path: `/versions/${failed.id}`, ready: heading(1, /no sound file/) },
      { name: 'no such page', path: '/elsewhere', ready: heading(1, 'There is no such page.') },
    ];
  });
  afterAll(async () => {
    await browser?.close();
    await bench?.remove();
  });
  afterEach(async () => {
    await Promise.all(browser.contexts().map((context) => context.close()));
  });

  test('axe-core finds nothing on any screen, in the light and in the dark', async () => {
    const found: string[] = [];
    for (const { name, path, ready } of screens) {
      const { page, troubles } = await openPage(browser, bench.url + path);
      await ready(page);
      // What is folded away must hold too.
      for (const summary of await page.locator('summary').all()) await summary.click();
      found.push(...(await axeViolationsInBothThemes(page)).map((text) => `${name}: ${text}`));
      found.push(...troubles.map((text) => `${name}, console: ${text}`));
    }
    expect(found).toEqual([]);
  });

  test('at 390 px no screen scrolls sideways', async () => {
    for (const { name, path, ready } of screens) {
      const { page } = await openPage(browser, bench.url + path, { width: 390 });
      await ready(page);
      const [wide, seen] = await page.evaluate<[number, number]>(
        '[document.documentElement.scrollWidth, document.documentElement.clientWidth]',
      );
      expect(wide, name).toBeLessThanOrEqual(seen);
    }
  });

  test('all of it without a pointer', async () => {
    const { page, troubles } = await openPage(browser, bench.url);
    // The browser is told early to hand its file dialog over; told with the key press, it may be too late.
    const chooser = page.waitForEvent('filechooser', { timeout: patience });
    await page.getByRole('link', { name: 'Hot.wav' }).waitFor();
    /** Presses Tab until `label` has the focus, as a person would; gives up when it has gone round. */
    const tabTo = async (label: RegExp) => {
      const seen: string[] = [];
      for (let presses = 0; presses < 150; presses++) {
        await page.keyboard.press('Tab');
        const name = await page.evaluate<string>(
          `((e) => e.getAttribute('aria-label') ?? e.textContent.trim())(document.activeElement)`,
        );
        if (label.test(name)) {
          const outline = await page.evaluate<string>(
            'getComputedStyle(document.activeElement).outlineStyle',
          );
          expect(outline, `focus can be seen on ${name}`).not.toBe('none');
          return;
        }
        seen.push(name);
      }
      throw new Error(`Tab never reached ${label}: ${seen.slice(0, 40).join(' | ')}`);
    };

    await tabTo(/^Choose files/);
    await page.keyboard.press('Enter');
    await (await chooser).setFiles(await writeHotSong(join(bench.folder, 'By keyboard.wav'), 3));
    await page.getByRole('heading', { name: 'The figures' }).waitFor({ timeout: patience });

    await tabTo(/^Waveform$/);
    const readout = page.locator('.wave .readout');
    await page.keyboard.press('ArrowRight');
    await readout.getByText(/^at 0:0\d\.\d\d, sample peak/).waitFor();
    const first = await readout.textContent();
    await page.keyboard.press('Shift+ArrowRight');
    await expect.poll(() => readout.textContent()).not.toBe(first);
    await page.keyboard.press('+');
    await page
      .getByRole('toolbar')
      .getByText(/^0:0\d\.\d–0:0\d\.\d$/)
      .waitFor();
    await page.keyboard.press('0');
    await page.getByText('whole song', { exact: true }).waitFor();

    await tabTo(/^Show .* in the waveform$/);
    await page.keyboard.press('Enter');
    await page.getByText('place looked at').waitFor();
    await tabTo(/^PLR$/);
    await page.keyboard.press('Enter');
    await page.getByText('From loudness to true peak').waitFor();

    await page.getByRole('link', { name: 'Everyroom' }).focus();
    await page.keyboard.press('Enter');
    await page.getByRole('link', { name: 'By keyboard.wav' }).waitFor();
    await tabTo(/^Rename song By keyboard/);
    await page.keyboard.press('Enter');
    await page.keyboard.type('Typed');
    await page.keyboard.press('Enter');
    await page.getByRole('link', { name: 'Typed', exact: true }).waitFor();
    await tabTo(/^Delete song Typed/);
    await page.keyboard.press('Enter');
    await page.getByRole('link', { name: 'Typed', exact: true }).waitFor({ state: 'detached' });
    // F6 leads to the notices, as on any desktop.
    await page.keyboard.press('F6');
    await tabTo(/^Undo$/);
    await page.keyboard.press('Enter');
    await page.getByRole('link', { name: 'Typed', exact: true }).waitFor();
    expect(troubles).toEqual([]);
  });
});
