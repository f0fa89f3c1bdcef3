import { readdir, rename } from 'node:fs/promises';
import { join } from 'node:path';
import { type Browser, chromium, type Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, test } from 'vitest';
import { browserFlags } from '../../scripts/lib/browser.mjs';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import type { VersionDetail } from '../../src/server/api.ts';
import type { DeskSong, Level } from '../../src/server/desk-api.ts';
import { twoHalves } from './desk-halves.ts';
import { axeViolations, browserPath, launchBrowser, openPage, RunningBench } from './page-support.ts';

const patience = 60_000;

describe.skipIf(!browserPath)('bad luck at the desk', () => {
  let bench: RunningBench;
  let browser: Browser;
  let first: VersionDetail;

  /** What the page says on the way is what is looked at; a browser's own words about failed requests are not. */
  const open = async (before?: (page: Page) => Promise<unknown>, on = browser): Promise<Page> => {
    const { page } = await openPage(on, `${bench.url}/storage`);
    await before?.(page);
    await page.goto(`${bench.url}/songs/${first.songId}/desk`);
    await page.locator('.desk-wave canvas').waitFor();
    return page;
  };
  const matched = (page: Page) =>
    page.locator('[data-matched]', { hasText: 'that of the quietest' }).waitFor({ timeout: patience });
  const player = (page: Page, state: string) =>
    page.locator(`[data-player="${state}"]`).waitFor({ timeout: patience });
  const trouble = (page: Page, words: string | RegExp) =>
    page.locator('.trouble', { hasText: words }).waitFor({ timeout: patience });
  const position = async (page: Page) => {
    const [minutes, seconds] = ((await page.locator('[data-position]').textContent()) ?? '').split(':');
    return Number(minutes) * 60 + Number(seconds);
  };

  beforeAll(async () => {
    [bench, browser] = await Promise.all([RunningBench.start(), launchBrowser()]);
    const bring = async (name: string, gain: number, songId?: string) => {
      const path = join(bench.folder, name);
      await writeWav(path, twoHalves(16, gain), { sampleFormat: 's16' });
      return bench.bringIn(path, { lossy: false, ...(songId === undefined ? {} : { songId }) });
    };
    first = await bring('Weir first.wav', 0.5);
    await bring('Weir second.wav', 1, first.songId);
    await bench.post('/desk/level', { cautionRead: true }, 'PUT');
    for (;;) {
      const song = await bench.get<DeskSong>(`/desk/songs/${first.songId}`);
      if (song.sources.every(({ aligned }) => aligned !== 'waiting')) break;
      await new Promise((resolve) => setTimeout(resolve, 50));
    }
  }, patience);
  afterAll(async () => {
    await browser?.close();
    await bench?.remove();
  });
  afterEach(() => Promise.all(browser.contexts().map((context) => context.close())));

  test('levels that cannot be found out: said, and nothing is played until they are', async () => {
    let broken = true;
    const page = await open((page) =>
      page.route('**/api/desk/match', (route) =>
        broken
          ? route.fulfill({
              status: 500,
              contentType: 'application/json',
              body: JSON.stringify({ error: { code: 'INTERNAL', message: 'A fault in Everyroom itself.' } }),
            })
          : route.continue(),
      ),
    );
    let asked = 0;
    page.on('request', (request) => {
      if (request.url().includes('/sound?')) asked++;
    });
    await trouble(page, 'so none is played yet');
    expect(await axeViolations(page)).toEqual([]);
    await page.keyboard.press('Space');
    await trouble(page, 'so none is played yet');
    expect(asked).toBe(0);
    expect(await page.locator('[data-player="playing"]').count()).toBe(0);
    broken = false;
    await page.getByRole('button', { name: 'Match again' }).press('Enter');
    // It was asked to play.
    await player(page, 'playing');
    expect(await page.locator('.trouble').count()).toBe(0);
  });

  test('playing on into another section changes no level, and says on which they are matched', async () => {
    const page = await open();
    await matched(page);
    await page.locator('.match-line select').selectOption('section');
    const levels = () => page.locator('[data-level-of]').allTextContents();
    await matched(page);
    const before = await levels();
    // Just before the second section; still in the first.
    for (let i = 0; i < 3; i++) await page.keyboard.press('ArrowRight');
    for (let i = 0; i < 15; i++) await page.keyboard.press('.');
    await page.keyboard.press('Space');
    await page.getByText(/as in section A; they stay so while it plays on/).waitFor({ timeout: patience });
    await page.keyboard.press('Space');
    expect(await levels()).toEqual(before);
    const lufs = await page.locator('[data-matched]').textContent();
    await page.getByRole('button', { name: 'Match on section B' }).press('Enter');
    // The second half is 14 dB louder.
    await expect
      .poll(async () => (await page.locator('[data-matched]').textContent())?.slice(0, 20))
      .not.toBe(lufs?.slice(0, 20));
    expect(await page.getByText('they stay so').count()).toBe(0);
  });

  test('a browser that lets no sound out before a press says so; no frames drawn (a tab in the background) stops nothing', async () => {
    const strict = await chromium.launch({
      executablePath: browserPath!,
      args: browserFlags.filter((flag) => !flag.startsWith('--autoplay-policy')),
    });
    try {
      const page = await open((page) => page.addInitScript('window.requestAnimationFrame = () => 0'), strict);
      await page.getByText('the browser lets no sound out before a press').waitFor({ timeout: patience });
      await matched(page);
      const chunks = new Set<string>();
      page.on('response', (response) => {
        if (response.url().includes('/sound?')) chunks.add(response.url());
      });
      await page.keyboard.press('Space');
      await player(page, 'playing');
      // More than is kept ahead was fetched: playing went on.
      const early = chunks.size;
      await expect.poll(() => chunks.size, { timeout: patience }).toBeGreaterThan(early + 4);
      await player(page, 'playing');
    } finally {
      await strict.close();
    }
  });

  test('without a sound device it says so, and begins when there is one', async () => {
    const page = await open((page) =>
      page.addInitScript(`
        const Real = window.AudioContext;
        window.AudioContext = function (options) {
          if (!window.plugged) throw new DOMException('no device', 'NotSupportedError');
          return new Real(options);
        };`),
    );
    await trouble(page, 'no sound device to play on');
    await page.keyboard.press('Space');
    await trouble(page, 'no sound device to play on');
    expect(await axeViolations(page)).toEqual([]);
    await page.evaluate(
      'window.plugged = true; navigator.mediaDevices.dispatchEvent(new Event("devicechange"))',
    );
    await player(page, 'playing');
    expect(await page.locator('.trouble').count()).toBe(0);
  });

  test('the server away while playing: said, the place stays, and it goes on when it is back', async () => {
    const page = await open();
    await matched(page);
    await page.keyboard.press('Space');
    await player(page, 'playing');
    await bench.halt();
    await trouble(page, 'Everyroom is not answering');
    // What is at hand plays on, to its end.
    await player(page, 'loading');
    const at = await position(page);
    expect(at).toBeGreaterThan(2);
    await bench.resume();
    await page.locator('.trouble').waitFor({ state: 'detached', timeout: patience });
    await player(page, 'playing');
    expect(await position(page)).toBeGreaterThanOrEqual(at);
  });

  test('two pages that play are two ears once', async () => {
    const heard = async () => (await bench.get<Level>('/desk/level')).today.seconds;
    const before = await heard();
    const one = await open();
    await matched(one);
    const other = await one.context().newPage();
    await other.goto(one.url());
    await matched(other);
    const began = performance.now();
    await one.keyboard.press('Space');
    await player(one, 'playing');
    await other.keyboard.press('Space');
    await player(other, 'playing');
    const from = await position(other);
    await expect.poll(() => position(other), { timeout: patience }).toBeGreaterThan(from + 2);
    await other.keyboard.press('Space');
    await player(other, 'stopped');
    await one.keyboard.press('Space');
    await player(one, 'stopped');
    const most = (performance.now() - began) / 1000;
    await expect.poll(heard, { timeout: patience }).toBeGreaterThan(before + 2);
    expect((await heard()) - before).toBeLessThanOrEqual(most);
  });

  test('a file that is gone from the disk: that version says so, the other plays on', async () => {
    // The sound made ready of it goes too, or it would not be missed.
    await bench.post('/storage/clear', { what: ['playback'] });
    const audio = join(bench.folder, 'home', 'audio');
    const hash = first.sha256;
    const found = (await readdir(audio, { recursive: true })).filter((name) => name.includes(hash));
    expect(found).toHaveLength(1);
    await rename(join(audio, found[0]), join(bench.folder, 'gone'));
    const page = await open();
    await matched(page);
    await page.keyboard.press('1');
    await page.keyboard.press('Space');
    await trouble(page, /The file of “Weir first\.wav” is no longer on the disk/);
    await page.keyboard.press('2');
    await player(page, 'playing');
    await trouble(page, 'Weir first');
    // While the other plays: trying again must not stop that.
    await rename(join(bench.folder, 'gone'), join(audio, found[0]));
    await page.getByRole('button', { name: 'Try again' }).press('Enter');
    await page.locator('.trouble').waitFor({ state: 'detached', timeout: patience });
    await player(page, 'playing');
    await page.keyboard.press('1');
    await player(page, 'playing');
    expect(await page.locator('.heard-line').textContent()).toContain('Weir first');
  });
});
