import { mkdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { RecordDetail, RecordSummary } from '../../src/server/records-api.ts';
import {
  axeViolationsInBothThemes,
  browserPath,
  launchBrowser,
  openPage,
  RunningBench,
  writeCalmSong,
  writeHotSong,
} from './page-support.ts';

describe.skipIf(!browserPath)('the page of a record', () => {
  let bench: RunningBench;
  let browser: Browser;

  beforeAll(async () => {
    [bench, browser] = await Promise.all([RunningBench.start(), launchBrowser()]);
    await mkdir(join(bench.folder, 'Out'));
    const files = [
      await writeHotSong(join(bench.folder, 'Hot.wav')),
      await writeCalmSong(join(bench.folder, 'Calm.wav')),
    ];
    for (const [i, path] of files.entries())
      await fetch(`${bench.url}/api/versions?name=${['Hot', 'Calm'][i]}.wav`, {
        method: 'POST',
        headers: { 'content-type': 'application/octet-stream' },
        body: await readFile(path),
      });
  });
  afterAll(async () => {
    await browser?.close();
    await bench?.remove();
  });

  test('makes a record, orders it by keyboard alone, takes on what is missing, and offers to undo', async () => {
    const { page, troubles } = await openPage(browser, `${bench.url}/records`);
    await page.getByLabel('Title', { exact: true }).fill('Low Water');
    await page.getByLabel('Artist', { exact: true }).fill('Ottilie');
    await page.getByRole('checkbox', { name: /Hot/ }).check();
    await page.getByRole('checkbox', { name: /Calm/ }).check();
    await page.getByRole('button', { name: 'Make the record' }).click();
    await page.getByRole('heading', { level: 1, name: /Low Water/ }).waitFor();
    const { records } = await bench.get<{ records: RecordSummary[] }>('/records');
    const titles = async () =>
      (await bench.get<RecordDetail>(`/records/${records[0].id}`)).record.songs.map(({ title }) => title);
    expect(await titles()).toEqual(['Hot', 'Calm']);

    const saved = page.waitForResponse((response) => response.request().method() === 'PUT');
    await page.getByRole('button', { name: 'Move Hot' }).focus();
    for (const key of ['Enter', 'ArrowDown', 'Enter']) {
      await page.keyboard.press(key);
      // Drop targets appear, and focus goes to them, between two frames.
      await page.evaluate('new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))');
    }
    await saved;
    expect(await titles()).toEqual(['Calm', 'Hot']);

    await page.getByRole('button', { name: 'Take it on…' }).first().click();
    const dialog = page.getByRole('alertdialog');
    await dialog.getByLabel('Who takes it on').fill('Ottilie');
    await dialog.getByRole('button', { name: 'Take it on' }).click();
    await page.getByText('Taken on by Ottilie.').waitFor();

    await page.getByRole('button', { name: 'Take it off the record' }).click();
    await page.getByRole('button', { name: 'Undo' }).click();
    await page.getByRole('heading', { level: 2, name: '2 songs in order' }).waitFor();
    expect(await axeViolationsInBothThemes(page)).toEqual([]);
    await page.setViewportSize({ width: 390, height: 844 });
    expect(await page.evaluate('document.documentElement.scrollWidth')).toBe(390);
    expect(troubles).toEqual([]);
    await page.context().close();
  }, 60_000);
});
