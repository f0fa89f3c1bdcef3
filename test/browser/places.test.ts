import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, test } from 'vitest';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import type { PlaceEntry, SongPlaces } from '../../src/server/places-api.ts';
import { difference, figure } from '../../web/words/figures.ts';
import { music } from '../integration/server-support.ts';
import { axeViolations, browserPath, launchBrowser, openPage, RunningBench } from './page-support.ts';

const patience = 60_000;

describe.skipIf(!browserPath)('places on the page', () => {
  let bench: RunningBench;
  let browser: Browser;
  let id: string;
  let songId: string;
  let troubles: string[] = [];

  const open = async (path: string, options?: Parameters<typeof openPage>[2]): Promise<Page> => {
    const opened = await openPage(browser, bench.url + path, options);
    troubles = opened.troubles;
    return opened.page;
  };
  const known = (version = id) => bench.get<SongPlaces>(`/versions/${version}/places`);
  const library = async () => (await bench.get<{ places: PlaceEntry[] }>('/places')).places;
  const sideways = (page: Page) =>
    page.evaluate<number>('document.documentElement.scrollWidth - document.documentElement.clientWidth');

  beforeAll(async () => {
    [bench, browser] = await Promise.all([RunningBench.start(), launchBrowser()]);
    const written = async (name: string, pcm = music(4)) => {
      const path = join(bench.folder, name);
      await writeWav(path, pcm, { sampleFormat: 's16' });
      return path;
    };
    const version = await bench.bringIn(await written('Own.wav'), { lossy: false });
    [id, songId] = [version.id, version.songId];
    const set = await bench.post<{ id: string }>('/sets', { name: 'By heart' });
    for (const [name, gain] of [
      ['Known one.wav', 0.5],
      ['Known two.wav', 2.5],
    ] as const) {
      const path = await written(name, music(4, { gain }));
      const reference = await bench.bringIn(path, { kind: 'reference', lossy: false });
      await bench.post(`/sets/${set.id}/members/${reference.id}`, {}, 'PUT');
    }
  });
  afterAll(async () => {
    await browser?.close();
    await bench?.remove();
  });
  afterEach(async () => {
    await Promise.all(browser.contexts().map((context) => context.close()));
    expect(troubles, 'errors in the browser’s console').toEqual([]);
  });

  test('a version in every place, with the figures of the API, opened and read by keyboard', async () => {
    const page = await open(`/versions/${id}`);
    await page.getByRole('link', { name: 'How it sounds in other places' }).click();
    await page.getByRole('button', { name: 'Play it in every place' }).press('Enter');
    await page.locator('[data-place]').first().waitFor({ timeout: patience });
    const { report } = await known();
    expect(report!.level).toBe('talk-over');
    expect(report!.against.setName).toBe('By heart');
    await page.getByRole('heading', { level: 1, name: report!.headline, exact: true }).waitFor();
    const cards = await page
      .locator('[data-place]')
      .evaluateAll((all) => all.map((card) => card.getAttribute('data-place')));
    expect(cards).toEqual(report!.places.map(({ place }) => place.id));
    for (const { place, effect } of report!.places) {
      const drawn = await page
        .locator(`[data-place="${place.id}"] .heard-bars svg`)
        .getAttribute('aria-label');
      for (const { heardShare } of effect!.bands)
        expect(drawn).toContain(
          heardShare === null ? 'plays nothing' : `heard ${figure(100 * heardShare, 0)} %`,
        );
    }

    const { place, figures, headline } = report!.places[0]!;
    await page.locator(`[data-place="${place.id}"] button`).focus();
    await page.keyboard.press('Enter');
    const opened = page.locator(`[data-opened="${place.id}"]`);
    await opened.getByRole('heading', { name: headline, exact: true }).waitFor();
    for (const { name, value } of figures) {
      const shown = await opened.locator(`[data-figure="${name}"]`).textContent();
      const written = /^(heard|lost|bass)/.test(name)
        ? figure(100 * value, 0)
        : /^(balance|harsh)/.test(name)
          ? difference(value)
          : figure(value);
      expect(shown, name).toBe(written);
    }
    const desk = new URL(
      (await opened.getByRole('link', { name: 'Hear it at the desk' }).getAttribute('href'))!,
      bench.url,
    );
    expect(desk.pathname).toBe(`/songs/${songId}/desk`);
    expect(desk.searchParams.get('place')).toBe(place.id);
    // What is heard when is read off by keys.
    await page.getByRole('application', { name: /^What is heard when/ }).press('ArrowRight');
    await opened.getByText(/^at 0:00\.\d, heard: bass/).waitFor();
    // A reload keeps what is open.
    await page.reload();
    await opened.waitFor();
    await opened.getByRole('button', { name: 'Close' }).press('Enter');
    await opened.waitFor({ state: 'detached' });

    // Another level is worked out at once.
    await page.getByRole('radio', { name: /^One level everywhere/ }).press('Space');
    await expect.poll(async () => (await known()).report?.level, { timeout: patience }).toBe(70);
    await page
      .getByText(/^70 dB\(A\)/)
      .first()
      .waitFor();
    await page.getByRole('textbox', { name: 'Level at the ear' }).fill('200');
    await page.getByText('A level from 30 to 110 dB(A) is needed.').waitFor();
  });

  test('silence is said, not drawn', async () => {
    const path = join(bench.folder, 'Silence.wav');
    const nothing = { sampleRate: 44_100, channels: [new Float32Array(88_200), new Float32Array(88_200)] };
    await writeWav(path, nothing, { sampleFormat: 's16' });
    const silent = await bench.bringIn(path, { lossy: false });
    const page = await open(`/versions/${silent.id}/places`);
    await page.getByRole('button', { name: 'Play it in every place' }).click();
    await page
      .getByText(/The song is silent/)
      .first()
      .waitFor({ timeout: patience });
    expect(await page.locator('.heard-bars').count()).toBe(0);
  });

  test('the library is looked at, copied, changed, taken back and deleted', async () => {
    const page = await open('/places');
    await page.locator('[data-library]').first().waitFor();
    const before = await library();
    expect(await page.locator('[data-library]').count()).toBe(before.length);
    await page.getByRole('button', { name: `Copy ${before[0]!.place.name}`, exact: true }).click();
    await page.getByRole('button', { name: 'Change its figures' }).click();
    const own = async () => (await library()).find(({ builtIn }) => !builtIn)!.place;
    const copied = await own();
    expect(copied.response).toEqual(before[0]!.place.response);

    const save = page.getByRole('button', { name: 'Save', exact: true });
    await page.getByRole('textbox', { name: 'Talk-over' }).fill('12');
    await page.getByText('At least 30.').waitFor();
    expect(await save.isDisabled()).toBe(true);
    await page.getByRole('textbox', { name: 'Talk-over' }).fill('58,5');
    // A level is moved by the arrow keys, and drawn.
    const level = page
      .getByRole('region', { name: 'Points: Response' })
      .getByRole('textbox', { name: 'Point 2, dB' });
    await level.focus();
    await page.keyboard.press('ArrowUp');
    await page.keyboard.press('Shift+ArrowDown');
    await page.keyboard.press('Enter');
    await page
      .locator(':focus')
      .and(page.getByRole('textbox', { name: 'Point 3, dB' }))
      .waitFor();
    await save.click();
    await page.getByText(/was changed\.$/).waitFor();
    const changed = await own();
    expect(changed.levels.talkOverDba).toBe(58.5);
    expect(changed.response[1]!.db).toBe(copied.response[1]!.db + 0.5 - 3);
    await page.getByRole('button', { name: 'Undo' }).click();
    await expect.poll(own).toEqual(copied);

    await page.getByRole('button', { name: 'Delete it' }).click();
    await page.getByText(/was deleted\.$/).waitFor();
    expect(await library()).toHaveLength(before.length);
    await page.getByRole('button', { name: 'Undo' }).click();
    await page.locator(`[data-library="${copied.id}"]`).waitFor();
  });

  test.for(['light', 'dark'] as const)(
    'axe-core finds nothing in the %s; nothing scrolls sideways',
    async (theme) => {
      await bench.post(`/versions/${id}/places`, {});
      await expect.poll(async () => (await known()).job?.state, { timeout: patience }).toBe('done');
      const worst = (await known()).report!.places[0]!.place.id;
      const found: string[] = [];
      for (const path of [
        `/versions/${id}/places?place=${worst}`,
        '/places',
        `/places/${worst}`,
        '/places/measure',
      ]) {
        const page = await open(path, { theme, width: theme === 'dark' ? 390 : 1280 });
        await page.locator('.heard-bars, .library, .place-group, .cautions').first().waitFor();
        const change = page.getByRole('button', { name: /^Change a copy/ });
        if (await change.isVisible()) await change.click();
        found.push(...(await axeViolations(page)).map((text) => `${path}: ${text}`));
        expect(await sideways(page), path).toBeLessThanOrEqual(0);
      }
      expect(found).toEqual([]);
    },
  );
});
