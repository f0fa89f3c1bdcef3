import { join } from 'node:path';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { VersionDetail } from '../../src/server/api.ts';
import {
  axeViolations,
  browserPath,
  launchBrowser,
  openPage,
  RunningBench,
  writeCalmSong,
  writeHotSong,
} from './page-support.ts';

describe.skipIf(!browserPath)('profiles, details and changes on the page', () => {
  let bench: RunningBench;
  let browser: Browser;
  let version: VersionDetail;

  beforeAll(async () => {
    [bench, browser] = await Promise.all([RunningBench.start(), launchBrowser()]);
    version = await bench.bringIn(await writeHotSong(join(bench.folder, 'Hot one.wav'), 8));
  });
  afterAll(async () => {
    await browser?.close();
    await bench?.remove();
  });

  test('another profile is chosen by keyboard, judged at once without a check, and kept by a reload', async () => {
    const { page, troubles } = await openPage(browser, `${bench.url}/versions/${version.id}`);
    const chosen = page.getByRole('button', { name: /Held against/ });
    await chosen.focus();
    await page.keyboard.press('Enter');
    await page.keyboard.type('Compact');
    await page.keyboard.press('Enter');
    await page.waitForURL(/profile=compact-disc/);
    const cd = await bench.get<VersionDetail>(`/versions/${version.id}?profile=compact-disc`);
    await page.getByRole('heading', { level: 1, name: cd.report?.headline, exact: true }).waitFor();
    expect(cd.job?.id).toBe(version.job?.id);
    await page.reload();
    await page.getByRole('heading', { level: 1, name: cd.report?.headline, exact: true }).waitFor();
    expect(await chosen.textContent()).toContain('Compact disc');
    await page.getByText('What Compact disc asks for').click();
    await page.getByText('IEC 60908', { exact: false }).first().waitFor();
    expect(troubles).toEqual([]);
  });

  test('every group of details opens, is drawn, and can be read as a table', async () => {
    const { page, troubles } = await openPage(browser, `${bench.url}/versions/${version.id}`);
    await page.getByRole('heading', { name: 'In detail' }).waitFor();
    const groups = page.locator('details.group > summary');
    // What is drawn of the song over time comes after the verdict.
    await groups.nth(4).waitFor();
    const titles = (await groups.locator('h3').allTextContents()).map((text) => text.trim());
    expect(titles).toEqual(['Dynamics', 'Stereo', 'Sections', 'Faults looked for', 'Tone over time']);
    for (const group of await groups.all()) await group.click();
    for (const name of [
      'Peak to loudness over time',
      'How long how loud',
      'Width by band',
      'Tone over time',
    ]) {
      const plot = page.getByRole('application', { name, exact: true });
      await plot.focus();
      await page.keyboard.press('End');
      const shown = page.locator('.plot', { has: plot });
      expect(await shown.locator('.readout').textContent()).toMatch(/\d/);
      await shown.getByText('As a table').click();
      await shown.locator('tbody tr').nth(1).waitFor();
    }
    expect(await axeViolations(page)).toEqual([]);
    expect(troubles).toEqual([]);
  });

  test('what changed between two versions of a song is told in sentences and drawn', async () => {
    const calm = await bench.bringIn(await writeCalmSong(join(bench.folder, 'Calm one.wav'), 8));
    const { page, troubles } = await openPage(
      browser,
      `${bench.url}/versions/${calm.id}/change/${version.id}`,
    );
    await page.getByRole('heading', { level: 1, name: 'What changed in Calm one.wav' }).waitFor();
    await page.locator('.change-words li').first().waitFor({ timeout: 60_000 });
    expect(await page.locator('.change-words li').count()).toBeGreaterThan(0);
    expect(await axeViolations(page)).toEqual([]);
    expect(troubles).toEqual([]);
  });
});
