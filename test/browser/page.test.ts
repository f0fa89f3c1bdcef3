import { execFile } from 'node:child_process';
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, test } from 'vitest';
import type { CheckReport } from '../../src/judge/file-report.ts';
import type { VersionDetail } from '../../src/server/api.ts';
import { inUnit } from '../../web/words/figures.ts';
import {
  browserPath,
  dropFiles,
  launchBrowser,
  openPage,
  RunningBench,
  writeCalmSong,
  writeHotSong,
} from './page-support.ts';

const cli = fileURLToPath(new URL('../../dist/src/cli/main.js', import.meta.url));
const patience = 60_000;

describe.skipIf(!browserPath)('the page over the real server', () => {
  let bench: RunningBench;
  let browser: Browser;
  let hot: string;
  let calm: string;
  let long: string;
  let broken: string;
  /** What the page of the running test complained of. */
  let troubles: string[] = [];

  const open = async (path = '/', options?: Parameters<typeof openPage>[2]): Promise<Page> => {
    const opened = await openPage(browser, bench.url + path, options);
    troubles = opened.troubles;
    return opened.page;
  };
  const versionIdOf = (page: Page) => new URL(page.url()).pathname.split('/').at(-1)!;
  const verdictOf = (page: Page) => page.getByRole('heading', { name: 'The figures' });

  beforeAll(async () => {
    [bench, browser] = await Promise.all([RunningBench.start(), launchBrowser()]);
    [hot, calm, long] = await Promise.all([
      writeHotSong(join(bench.folder, 'Hot one.wav')),
      writeCalmSong(join(bench.folder, 'Calm one.wav')),
      writeCalmSong(join(bench.folder, 'Long one.wav'), 40),
    ]);
    broken = join(bench.folder, 'Broken one.wav');
    await writeFile(broken, 'no sound, only words');
  });
  afterAll(async () => {
    await browser?.close();
    await bench?.remove();
  });
  afterEach(async () => {
    await Promise.all(browser.contexts().map((context) => context.close()));
    expect(troubles, 'errors in the browser’s console').toEqual([]);
  });

  test('a dropped file leads to its verdict, with the figures of the API and of the command line', async () => {
    const page = await open();
    await page.getByRole('heading', { name: 'Nothing on the bench yet' }).waitFor();
    await dropFiles(page, [hot]);
    await verdictOf(page).waitFor({ timeout: patience });

    const { report } = await bench.get<VersionDetail>(`/versions/${versionIdOf(page)}`);
    expect(report).not.toBeNull();
    expect(await page.getByRole('heading', { level: 1 }).textContent()).toBe(report!.headline);
    expect(report!.peak.truePeakDbtp).toBeGreaterThan(2.5);
    // Told here once more, so that a figure set under a wrong name is found.
    const { loudness, peak, tone } = report!;
    const expected: Record<string, string> = {
      Loudness: inUnit(loudness.integratedLufs, 'LUFS'),
      Range: inUnit(loudness.rangeLu, 'LU'),
      'Loudest 3 s': inUnit(loudness.maxShortTermLufs, 'LUFS'),
      'Loudest 0.4 s': inUnit(loudness.maxMomentaryLufs, 'LUFS'),
      'True peak': inUnit(peak.truePeakDbtp, 'dBTP'),
      'Sample peak': inUnit(peak.samplePeakDbfs, 'dBFS'),
      PLR: inUnit(peak.plrDb, 'dB'),
      Crest: inUnit(peak.crestDb, 'dB'),
      Overs: String(peak.overCount),
      'Clipped runs': String(peak.clippedRunCount),
      Tilt: inUnit(tone.tiltDbPerOctave, 'dB/oct'),
      Low: inUnit(tone.lowDb, 'dB'),
      Mid: inUnit(tone.midDb, 'dB'),
      High: inUnit(tone.highDb, 'dB'),
    };
    const shownFigures = await page
      .locator('[data-figure]')
      .evaluateAll<Record<string, string>, { dataset: { figure: string }; textContent: string }>((cells) =>
        Object.fromEntries(cells.map((cell) => [cell.dataset.figure, cell.textContent])),
      );
    expect(shownFigures).toEqual(expected);
    for (const trip of report!.lossy)
      expect((await page.locator(`[data-lossy-peak="${trip.format}"]`).textContent())?.trim()).toBe(
        inUnit(trip.truePeakDbtp, 'dBTP'),
      );
    // Every finding is there, in the server's order of weight.
    const shown = await page.locator('article.finding h3').allTextContents();
    expect(shown).toEqual(report!.findings.filter((f) => f.severity !== 'fine').map((f) => f.title));

    // Findings to mend end the command with code 1; the figures are on stdout all the same.
    const { stdout } = await promisify(execFile)(process.execPath, [cli, 'check', '--json', hot]).catch(
      (error: { code: number; stdout: string }) => {
        expect(error.code).toBe(1);
        return error;
      },
    );
    const [printed] = (JSON.parse(stdout) as CheckReport).files;
    expect({ ...printed, file: { ...printed!.file, name: '' } }).toEqual({
      ...report,
      file: { ...report!.file, name: '' },
    });
  });

  test('a place of a finding is marked in the waveform and brought into view', async () => {
    const { id } = await bench.bringIn(hot);
    const page = await open(`/versions/${id}`);
    const place = page.getByRole('button', { name: /Show .* in the waveform/ }).first();
    await place.waitFor();
    await page.getByText('whole song', { exact: true }).waitFor();
    const ink = () => page.evaluate<string>(`document.querySelector('.wave canvas').toDataURL()`);
    const before = await ink();
    await place.focus();
    await page.getByText('place looked at').waitFor();
    await expect.poll(ink).not.toBe(before);
    await page.getByRole('button', { name: 'Clear marks' }).click();
    await page.getByText('place looked at').waitFor({ state: 'detached' });
  });

  test('a running check can be cancelled, and checked again later', async () => {
    const page = await open();
    await dropFiles(page, [long]);
    await page.getByRole('button', { name: 'Cancel checking Long one.wav' }).click({ timeout: patience });
    await page.getByRole('heading', { name: /The check was cancelled/ }).waitFor();
    const id = versionIdOf(page);
    expect((await bench.get<VersionDetail>(`/versions/${id}`)).job?.state).toBe('cancelled');
    await page.getByRole('button', { name: 'Check again' }).click();
    await page.getByRole('button', { name: 'Cancel checking Long one.wav' }).click({ timeout: patience });
    await page.getByRole('heading', { name: /The check was cancelled/ }).waitFor();
  });

  test('a broken file shows the server’s sentence in its place; the one dropped with it is checked', async () => {
    const page = await open();
    await dropFiles(page, [broken, calm]);
    const row = (name: string) => page.getByRole('row').filter({ hasText: name });
    await row('Calm one.wav')
      .getByText(/to mend|worth a look|Fine/)
      .waitFor({ timeout: patience });
    const version = (await bench.songs()).flatMap((s) => s.versions).find((v) => v.name === 'Broken one.wav');
    expect(version?.job?.error?.code).toBe('SOUND_NOT_RECOGNISED');
    await row('Broken one.wav').getByText(version!.job!.error!.message).waitFor();
    await row('Broken one.wav').getByRole('link', { name: 'Broken one.wav' }).click();
    await page.getByRole('heading', { level: 1, name: version!.job!.error!.message }).waitFor();
  });

  test('an upload on its way shows its progress and can be cancelled', async () => {
    const page = await open();
    await page.getByRole('table').waitFor();
    // A line so slow that nothing is sent to the end by itself.
    const network = await page.context().newCDPSession(page);
    await network.send('Network.enable');
    await network.send('Network.emulateNetworkConditions', {
      offline: false,
      latency: 0,
      downloadThroughput: -1,
      uploadThroughput: 20_000,
    });
    const slow = await writeCalmSong(join(bench.folder, 'Slow one.wav'), 7);
    await dropFiles(page, [slow]);
    await page.getByRole('progressbar', { name: 'Sending Slow one.wav' }).waitFor();
    await page.getByRole('button', { name: 'Cancel Slow one.wav' }).click();
    await page.getByRole('progressbar', { name: 'Sending Slow one.wav' }).waitFor({ state: 'detached' });
    expect((await bench.songs()).some((song) => song.title.includes('Slow'))).toBe(false);
  });

  test('a reload and a restart of the server keep everything, and the page finds back by itself', async () => {
    const { id, name } = await bench.bringIn(calm);
    const page = await open(`/versions/${id}`);
    await verdictOf(page).waitFor();
    const headline = await page.getByRole('heading', { level: 1 }).textContent();
    await page.reload();
    await verdictOf(page).waitFor();
    await bench.halt();
    await page.getByText('Everyroom is not running.').waitFor({ timeout: patience });
    expect(await page.getByRole('heading', { level: 1 }).textContent()).toBe(headline);
    await bench.resume();
    await page.getByText('Everyroom is not running.').waitFor({ state: 'detached', timeout: patience });
    await page.reload();
    await verdictOf(page).waitFor();
    expect(await page.getByRole('heading', { level: 1 }).textContent()).toBe(headline);
    await page.getByRole('navigation').getByRole('link', { name: 'Bench' }).first().click();
    await page.getByRole('link', { name }).first().waitFor();
    // While the server was away, the browser itself reports each refused connection.
    troubles = troubles.filter((text) => !text.includes('net::ERR_'));
  });

  test('songs and versions are renamed, compared, moved, deleted and brought back', async () => {
    const { songId } = await bench.bringIn(calm);
    const page = await open(`/songs/${songId}`);
    await page.getByRole('button', { name: /^Rename song/ }).click();
    await page.getByRole('textbox', { name: 'song' }).fill('Harbour');
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { level: 1, name: 'Harbour' }).waitFor();

    const second = await writeHotSong(join(bench.folder, 'Second bounce.wav'), 3);
    await dropFiles(page, [second]);
    const row = page.getByRole('row').filter({ hasText: 'Second bounce.wav' });
    await row.getByText(/to mend/).waitFor({ timeout: patience });
    const versions = (await bench.songs()).find((song) => song.id === songId)!.versions;
    const [calmPeak, hotPeak] = ['Calm one.wav', 'Second bounce.wav'].map(
      (name) => versions.find((v) => v.name === name)!.verdict!.truePeakDbtp!,
    );
    await row.getByText(`+${(hotPeak! - calmPeak!).toFixed(1)}`, { exact: true }).waitFor();

    await row.getByRole('button', { name: 'More for Second bounce.wav' }).click();
    await page.getByRole('menuitemradio', { name: 'It is a mix' }).click();
    await row.getByText('mix', { exact: true }).waitFor();

    await row.getByRole('button', { name: 'More for Second bounce.wav' }).click();
    await page.getByRole('menuitem', { name: 'Delete' }).click();
    await row.waitFor({ state: 'detached' });
    await page.getByRole('button', { name: 'Undo' }).click();
    await row.waitFor();

    await row.getByRole('button', { name: 'More for Second bounce.wav' }).click();
    await page.getByRole('menuitem', { name: 'Move to another song…' }).click();
    const target = (await bench.songs()).find((song) => song.id !== songId)!;
    await page.getByRole('option', { name: target.title, exact: true }).first().click();
    await row.waitFor({ state: 'detached' });
    expect(
      (await bench.songs())
        .find((song) => song.id === target.id)!
        .versions.some((v) => v.name === 'Second bounce.wav'),
    ).toBe(true);
  });

  test('the chosen paper is remembered', async () => {
    const page = await open();
    await page.getByRole('button', { name: /^Paper/ }).click();
    await page.getByRole('menuitemradio', { name: 'Dark' }).click();
    const shade = () => page.evaluate<string>('getComputedStyle(document.documentElement).backgroundColor');
    const dark = await shade();
    await page.reload();
    expect(await shade()).toBe(dark);
    await page.getByRole('button', { name: /^Paper/ }).click();
    await page.getByRole('menuitemradio', { name: 'Light' }).click();
    expect(await shade()).not.toBe(dark);
  });
});
