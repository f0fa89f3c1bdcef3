import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { WalkDetail, WalkSharing } from '../../src/server/walk-api.ts';
import { Client } from '../integration/server-support.ts';
import { linked, newWalk, songAndReferences } from '../integration/walk-support.ts';
import { loudnessOf } from '../measure-parts.ts';
import {
  axeViolations,
  browserPath,
  dropFiles,
  launchBrowser,
  openPage,
  RunningBench,
} from './page-support.ts';
import { downloaded, insecure, renderedSound, rendering, SharingBench } from './shootout-support.ts';

const patience = 120_000;
const rate = 48_000;

const tap = (page: Page, area: string, choice: string) =>
  page
    .getByRole('group', { name: new RegExp(`^${area} `) })
    .getByRole('radio', { name: choice, exact: true })
    .press(' ');
const openStop = async (page: Page, name: string) => {
  const button = page.locator('.stop-button:enabled', { hasText: name });
  await button.waitFor();
  await button.press('Enter');
};
const fits = (page: Page) => page.evaluate<boolean>('document.documentElement.scrollWidth <= innerWidth');

describe.skipIf(!browserPath)('the notebook of a walk', () => {
  let browser: Browser;
  beforeAll(async () => {
    browser = await launchBrowser();
  }, patience);
  afterAll(() => browser?.close());

  test(
    'references and song leave the page equally loud; what is tapped while the server is gone arrives when it is back',
    async () => {
      const bench = await RunningBench.start();
      try {
        const client = new Client(bench.url);
        const { versionId, referenceIds } = await songAndReferences(client, bench.folder);
        const { id } = await newWalk(client, { versionId, referenceIds, stops: [{ name: 'Kitchen' }] });
        const { path } = await linked(client, id);

        const context = await browser.newContext();
        await context.addInitScript(rendering(21, rate));
        const heard = await context.newPage();
        await heard.goto(bench.url + path);
        await openStop(heard, 'Kitchen');
        // Where the references are noted, the song may be heard at once.
        for (const key of ['1', '2']) {
          await heard.keyboard.press(key);
          await tap(heard, 'Mid', 'right');
        }
        await heard.keyboard.press('Escape');
        await openStop(heard, 'Kitchen');
        await heard.keyboard.press('1');
        // A loop is six seconds long: each is heard for more than one.
        const channels = await renderedSound(heard, [
          [7, '2'],
          [14, '3'],
        ]);
        const loudness = [0.5, 7.5, 14.5].map(
          (from) =>
            loudnessOf({
              sampleRate: rate,
              channels: channels.map((samples) => samples.slice(from * rate, (from + 6) * rate)),
            }).result.integratedLufs!,
        );
        expect(Math.max(...loudness) - Math.min(...loudness)).toBeLessThan(0.1);
        expect(loudness[0]).toBeGreaterThan(-70);
        await context.close();

        const { page, troubles } = await openPage(browser, bench.url + path, { width: 390 });
        await page.getByText('The sounds are here').waitFor();
        expect(await axeViolations(page)).toEqual([]);
        expect(await fits(page)).toBe(true);
        await openStop(page, 'Kitchen');
        await page.keyboard.press('1');
        await tap(page, 'Low', 'too much');
        await page.getByText('The one note from this browser is on the bench.').waitFor();

        await bench.halt();
        await page.locator('.sound').nth(0).and(page.locator('[data-heard=yes]')).waitFor();
        await page.getByRole('button', { name: /^Next: / }).press('Enter');
        await tap(page, 'Low', 'right');
        await page.locator('.sound').nth(1).and(page.locator('[data-heard=yes]')).waitFor();
        await page.getByRole('button', { name: 'Next: the song' }).press('Enter');
        await tap(page, 'Low', 'too much');
        await tap(page, 'Voice', 'too far back');
        await tap(page, 'Air', 'too little');
        // Tapped again, it is taken back.
        await tap(page, 'Air', 'too little');
        await page.getByLabel('In your own words').fill('fan over the cello');
        await page.getByLabel('In your own words').press('Tab');
        await page.getByText(/^6 notes not sent yet: kept in this browser/).waitFor();
        // The sound goes on without a server.
        expect(await page.locator('.sound[aria-pressed=true]').count()).toBe(1);
        expect(await axeViolations(page)).toEqual([]);
        expect(await fits(page)).toBe(true);

        await bench.resume();
        await page.getByText('All 7 notes from this browser are on the bench.').waitFor();
        const [kitchen] = (await client.get<WalkDetail>(`/api/walks/${id}`)).stops;
        expect(kitchen).toMatchObject({
          song: { scales: { low: 1, voice: -1 }, words: 'fan over the cello' },
          references: [{ scales: { low: 1 } }, { scales: { low: 0 } }],
          notes: 9,
        });
        expect(kitchen!.song.scales).not.toHaveProperty('air');
        // A line that breaks is no fault of the page.
        expect(troubles.filter((text) => !/ERR_CONNECTION|Failed to load resource/.test(text))).toEqual([]);
        await page.context().close();
      } finally {
        await bench.remove();
      }
    },
    patience,
  );

  test(
    'carried along as one file it needs no server, sends by itself when the bench is in reach, and gives a file that is taken in',
    async () => {
      const bench = await SharingBench.start();
      try {
        const { client } = bench;
        const { versionId, referenceIds } = await songAndReferences(client, bench.folder);
        const { id, stops } = await newWalk(client, { versionId, referenceIds, stops: [{ name: 'Van' }] });
        const share = async (on: boolean) =>
          (await client.call<WalkSharing>('PUT', `/api/walks/${id}/sharing`, { on })).body.addresses[0]!;
        const address = await share(true);
        const { path } = await linked(client, id);
        // From the shared address, as a phone would: no secure context, no service worker.
        const context = await browser.newContext({ viewport: { width: 390, height: 844 } });
        await context.addInitScript(insecure);
        const phone = await context.newPage();
        await phone.goto(address + path);
        await phone.getByText('The sounds are here').waitFor();
        const { path: file } = await downloaded(phone, () =>
          phone.getByRole('link', { name: 'Take this notebook along as a file' }).press('Enter'),
        );
        await context.close();

        const { page, troubles } = await openPage(browser, pathToFileURL(file).href, { width: 390 });
        await page.getByText('no network is needed').waitFor();
        await openStop(page, 'Van');
        await page.keyboard.press('1');
        await tap(page, 'Presence', 'too much');
        await page.getByText('The one note from this browser is on the bench.').waitFor();
        expect((await client.get<WalkDetail>(`/api/walks/${id}`)).stops[0]!.references[0]!.scales).toEqual({
          presence: 1,
        });

        await share(false);
        await tap(page, 'Low', 'too little');
        await page.keyboard.press('Escape');
        await page.getByLabel('Another place').fill('Ferry deck');
        await page.getByLabel('Another place').press('Enter');
        await page.getByText(/2 notes not sent yet/).waitFor();
        await page.reload();
        await page.getByRole('button', { name: /^Ferry deck/ }).waitFor();
        await page.getByText(/2 notes not sent yet/).waitFor();
        expect(await axeViolations(page)).toEqual([]);
        const saved = await downloaded(page, () =>
          page.getByRole('button', { name: 'Save my notes as a file' }).press('Enter'),
        );
        expect(troubles.filter((text) => !/ERR_CONNECTION|Failed to load resource/.test(text))).toEqual([]);
        await page.context().close();

        const { page: host, troubles: faults } = await openPage(browser, `${bench.server.url}/walks/${id}`, {
          width: 390,
        });
        await host.getByRole('heading', { name: 'The notebook' }).waitFor();
        const wrong = join(bench.folder, 'letter.json');
        await writeFile(wrong, '{"dear":"listener"}');
        await dropFiles(host, [wrong]);
        await host
          .getByRole('alert')
          .getByText(/no file of notes/)
          .waitFor();
        await dropFiles(host, [saved.path]);
        await host.getByText('✓ 1 note taken in. 1 note was here already.').waitFor();
        const { stops: now } = await client.get<WalkDetail>(`/api/walks/${id}`);
        expect(now.map(({ name }) => name)).toEqual(['Van', 'Ferry deck']);
        expect(now[0]!.references[0]!.scales).toEqual({ presence: 1, low: -1 });

        // The host's page, by keyboard: a place, trust, and what the notes come to.
        await host.locator('form.act-line select').selectOption({ label: 'Kitchen radio' });
        await host.getByRole('button', { name: 'Add the place' }).press('Enter');
        await host.locator('.walk-stops b', { hasText: 'Kitchen radio' }).waitFor();
        await host.getByLabel('Trust in Van').press('ArrowLeft');
        await host.getByText('75 %').waitFor();
        const { body } = await client.call<{ path: string }>('POST', `/api/walks/${id}/links`);
        const notes = (['low', 'presence'] as const).map((what) => ({
          what,
          value: 1,
          stop: stops[0]!.id,
          subject: 'song' as const,
          at: '2026-01-05T10:00:00.000Z',
          key: `song-note-${what}-0123456789`,
        }));
        await client.call('POST', `${body.path}/notes`, { device: 'devicea1', stops: [], notes });
        await host.locator('.prediction').first().waitFor();
        const [first] = await host.getByRole('checkbox').all();
        await first!.press(' ');
        await host.locator('.stale').waitFor({ state: 'detached' });
        expect(
          await host.getByRole('link', { name: 'Begin a chain from this' }).getAttribute('href'),
        ).toMatch(new RegExp(`/finish\\?from=walk:${id}&refuse=1$`));
        expect(await axeViolations(host)).toEqual([]);
        expect(await fits(host)).toBe(true);
        expect(faults.filter((text) => !/422/.test(text))).toEqual([]);
        await host.context().close();
      } finally {
        await bench.remove();
      }
    },
    patience,
  );
});
