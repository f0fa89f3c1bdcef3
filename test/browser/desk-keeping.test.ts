import { mkdir } from 'node:fs/promises';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, test } from 'vitest';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import type { ReferenceSet, Storage, Watch } from '../../src/server/keeping-api.ts';
import { bytes } from '../../web/words/figures.ts';
import { music } from '../integration/server-support.ts';
import { browserPath, dropFiles, launchBrowser, openPage, RunningBench } from './page-support.ts';

const patience = 60_000;

describe.skipIf(!browserPath)('sets, watched folders and storage on the page', () => {
  let bench: RunningBench;
  let browser: Browser;
  let troubles: string[] = [];

  const open = async (path: string): Promise<Page> => {
    const opened = await openPage(browser, bench.url + path);
    troubles = opened.troubles;
    return opened.page;
  };

  beforeAll(async () => {
    [bench, browser] = await Promise.all([RunningBench.start(), launchBrowser()]);
    const path = join(bench.folder, 'A record one knows.wav');
    await writeWav(path, music(5), { sampleFormat: 's16' });
    const { id } = await bench.bringIn(path, { kind: 'reference', lossy: false });
    // Sound made ready, so that there is something to clear.
    await fetch(`${bench.url}/api/versions/${id}/sound?rate=48000&from=0&frames=4800`);
  }, patience);
  afterAll(async () => {
    await browser?.close();
    await bench?.remove();
  });
  afterEach(async () => {
    await Promise.all(browser.contexts().map((context) => context.close()));
    expect(troubles, 'errors in the browser’s console').toEqual([]);
  });

  test('a set is made, filled by dropping, emptied and deleted, each to be taken back', async () => {
    const page = await open('/sets');
    await page.getByLabel('Name of a new set').fill('Loud ones');
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { level: 1, name: 'Loud ones' }).waitFor();
    const id = page.url().split('/').at(-1)!;
    const members = async () =>
      (await bench.get<ReferenceSet>(`/sets/${id}`)).members.map(({ name }) => name);
    const path = join(bench.folder, 'Dropped record.wav');
    await writeWav(path, music(4), { sampleFormat: 's16' });
    await dropFiles(page, [path]);
    await page.getByRole('button', { name: 'Take out Dropped record' }).waitFor({ timeout: patience });
    expect(await members()).toEqual(['Dropped record.wav']);
    await page.getByText('From the bench').click();
    await page.getByRole('button', { name: 'Put in A record one knows' }).press('Enter');
    await page.getByRole('button', { name: 'Take out A record one knows' }).press('Enter');
    await page.getByRole('button', { name: 'Undo' }).press('Enter');
    await expect.poll(members).toHaveLength(2);
    await page.getByRole('button', { name: 'Delete this set' }).press('Enter');
    await page.getByRole('heading', { level: 1, name: 'Records you know by heart' }).waitFor();
    await expect.poll(() => page.getByRole('link', { name: 'Loud ones' }).count()).toBe(0);
    await page.getByRole('button', { name: 'Undo' }).last().press('Enter');
    await page.getByRole('link', { name: 'Loud ones' }).waitFor();
  });

  test('a folder is chosen by names the server gave, and what it holds is shown', async () => {
    await mkdir(join(bench.folder, 'Sessions', 'Bounces'), { recursive: true });
    const page = await open('/watch');
    await page.getByRole('button', { name: 'Choose a folder…' }).press('Enter');
    await page.getByRole('button', { name: 'Sessions' }).press('Enter');
    await page.getByRole('button', { name: 'Bounces' }).press('Enter');
    await page.getByRole('button', { name: 'Watch “Bounces”' }).press('Enter');
    await page.getByText(join('Sessions', 'Bounces')).waitFor();
    const { folders } = await bench.get<Watch>('/watch');
    expect(folders).toHaveLength(1);
    await page.getByRole('button', { name: /^Watch it no more/ }).press('Enter');
    await page.getByText('No folder is watched').waitFor();
  });

  test('the disk’s figures are the bench’s, and clearing asks first', async () => {
    const page = await open('/storage');
    const shown = (key: string) => page.locator(`[data-storage="${key}"]`).textContent();
    const { audioBytes, playbackBytes } = await bench.get<Storage>('/storage');
    expect(playbackBytes).toBeGreaterThan(0);
    await expect.poll(() => shown('audioBytes')).toBe(bytes(audioBytes));
    await page.getByRole('button', { name: 'Clear: Sound made ready for the desk' }).press('Enter');
    await page.getByRole('button', { name: 'Clear it' }).press('Enter');
    await expect.poll(() => shown('playbackBytes')).toBe('0 B');
  });
});
