import { readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { decodeSamples } from '../../src/audio/sample-coding.ts';
import type { Folder } from '../../src/server/keeping-api.ts';
import type { RemoteWritten, ShootoutDetail } from '../../src/server/shootout-api.ts';
import { draft, invited, opened, session, soundsOf } from '../integration/shootout-support.ts';
import { loudnessOf } from '../measure-parts.ts';
import { axeViolations, browserPath, dropFiles, launchBrowser, openPage } from './page-support.ts';
import { downloaded, hearAll, renderedSound, rendering, SharingBench } from './shootout-support.ts';

const patience = 60_000;
const rate = 48_000;
/** Of the sections of the draft. */
const loopSeconds = 3.5;
/** Where the level of the page starts. */
const startLevelDb = -20;
const switchAt = 4;
const renderedSeconds = 8;

describe.skipIf(!browserPath)('what voters hear and send', () => {
  let bench: SharingBench;
  let browser: Browser;

  beforeAll(async () => {
    [bench, browser] = await Promise.all([SharingBench.start(), launchBrowser()]);
  }, patience);
  afterAll(async () => {
    await browser?.close();
    await bench?.remove();
  });

  test('two sounds of a round leave the page equally loud, and switching between them leaves no hole', async () => {
    const { id } = await draft(bench.client, bench.folder, { masters: 2 });
    await opened(bench.client, id, { listeners: 1, rounds: 2 });
    const { path } = await invited(bench.client, id, 'Me', 'here');
    const context = await browser.newContext();
    await context.addInitScript(rendering(renderedSeconds, rate));
    const page = await context.newPage();
    await page.goto(bench.server.url + path);
    await page.getByRole('button', { name: 'It is turned down: begin' }).press('Enter');
    await page.locator('.sound').first().waitFor();
    await page.keyboard.press('1');
    const played = await renderedSound(page, [[switchAt, '2']]);
    const loudness = (from: number, seconds: number) =>
      loudnessOf({
        sampleRate: rate,
        channels: played.map((samples) => samples.slice(from * rate, (from + seconds) * rate)),
      }).result.integratedLufs!;
    const [first, second] = [loudness(0.25, loopSeconds), loudness(switchAt + 0.25, loopSeconds)];
    expect(Math.abs(first - second)).toBeLessThan(0.1);

    const { next } = await session(bench.server.url + path);
    for (const [i, handle] of soundsOf(next!).entries()) {
      const wav = new Uint8Array(
        await (await fetch(`${bench.server.url + path}/sounds/${handle}`)).arrayBuffer(),
      );
      const view = new DataView(wav.buffer);
      const file = loudnessOf({
        sampleRate: view.getUint32(24, true),
        channels: decodeSamples(wav.subarray(44), 's24', view.getUint16(22, true), true),
      }).result.integratedLufs!;
      expect(Math.abs([first, second][i]! - startLevelDb - file)).toBeLessThan(0.1);
    }
    // Before the switch it is one loop of one sound; after it, at the same place of the loop, another.
    const at = (seconds: number) => Math.round(seconds * rate);
    const unlike = (from: number) =>
      played[0]!
        .slice(at(from), at(from + 0.3))
        .reduce((sum, x, i) => sum + (x - (played[0]![at(from - loopSeconds) + i] ?? 0)) ** 2, 0);
    expect(unlike(switchAt + 0.1)).toBeGreaterThan(100 * unlike(switchAt - 0.35));
    // In 10 ms around the switch there is as much sound as the sounds themselves have there, 1 loop earlier and later.
    const power = (seconds: number) =>
      played[0]!.slice(at(seconds), at(seconds + 0.01)).reduce((sum, x) => sum + x * x, 0);
    const around = [power(switchAt - loopSeconds), power(switchAt + loopSeconds)];
    expect(power(switchAt)).toBeGreaterThan(0.5 * Math.min(...around));
    expect(power(switchAt)).toBeLessThan(2 * Math.max(...around));
    await context.close();
  });

  test('scores are given by keyboard alone, and each sound needs its own', async () => {
    const { id } = await draft(bench.client, bench.folder, {
      kind: 'rating',
      question: 'damage',
      masters: 2,
    });
    await opened(bench.client, id, { listeners: 1 });
    const { path } = await invited(bench.client, id, 'Me', 'here');
    const { page, troubles } = await openPage(browser, bench.server.url + path, { width: 390 });
    await page.getByRole('button', { name: 'It is turned down: begin' }).press('Enter');
    await page.locator('.sound').first().waitFor();
    await hearAll(page, ['0', '1', '2', '3', '4', '5']);
    for (const i of [1, 2, 3, 4, 5]) {
      await page.keyboard.press(String(i));
      for (let step = 0; step < i; step++) await page.keyboard.press('ArrowRight');
    }
    await page.getByText('Every sound has its score.').waitFor();
    expect(await page.locator('.score').allTextContents()).toEqual(['51', '52', '53', '54', '55']);
    expect(await axeViolations(page)).toEqual([]);
    expect(await page.evaluate('document.documentElement.scrollWidth <= innerWidth')).toBe(true);
    await page.keyboard.press('Enter');
    await page.getByText(/✓ Answer 1 of/).waitFor();
    expect(troubles).toEqual([]);
    await page.context().close();
  });

  test('a folder opened from disk needs no server and gives back a file that is taken in, once', async () => {
    const { id } = await draft(bench.client, bench.folder, { masters: 2 });
    await opened(bench.client, id, { listeners: 2, rounds: 3 });
    const { folders } = await bench.client.get<{ folders: Folder[] }>('/api/watch/folders');
    const { body } = await bench.client.call<RemoteWritten>('POST', `/api/shootouts/${id}/remote`, {
      name: 'Far',
      folder: folders.find(({ name }) => name === 'Post')!.token,
    });
    const { page, troubles } = await openPage(browser, pathToFileURL(join(body.path!, 'vote.html')).href);
    const asked: string[] = [];
    page.on('request', (request) => asked.push(new URL(request.url()).protocol));
    await page.getByRole('button', { name: 'It is turned down: begin' }).press('Enter');
    for (let number = 1; number <= 3; number++) {
      // What was answered is kept by the browser, without any server.
      if (number === 2) {
        await page.reload();
        await page.getByRole('button', { name: 'It is turned down: go on' }).press('Enter');
      }
      await page.getByText(`Round ${number} of 3`).waitFor();
      await page.locator('.sound').first().waitFor();
      await hearAll(page, ['1', '2']);
      await page.keyboard.press('=');
      await page.keyboard.press('Enter');
    }
    await page.getByRole('heading', { name: 'That was all. One thing is left' }).waitFor();
    expect(await axeViolations(page)).toEqual([]);
    const saved = await downloaded(page, () =>
      page.getByRole('button', { name: 'Save my answers as a file' }).press('Enter'),
    );
    expect([...new Set(asked)].filter((protocol) => protocol !== 'blob:')).toEqual(['file:']);
    expect(troubles).toEqual([]);
    await page.context().close();

    const { page: host } = await openPage(browser, `${bench.server.url}/shootouts/${id}`);
    await host.getByRole('heading', { name: 'Far away' }).waitFor();
    const forged = join(bench.folder, 'everyroom-votes.json');
    await writeFile(forged, (await readFile(saved.path, 'utf8')).replace('tie', 'first'));
    await dropFiles(host, [forged]);
    await host
      .getByRole('alert')
      .getByText(/signature/)
      .waitFor();
    await dropFiles(host, [saved.path]);
    await host
      .getByText('✓ three answers of Far taken in', { exact: false })
      .or(host.getByText('✓ 3 answers of Far taken in'))
      .waitFor();
    await dropFiles(host, [saved.path]);
    await host.getByText(/was here already/).waitFor();
    const { listeners, votes } = await bench.client.get<ShootoutDetail>(`/api/shootouts/${id}`);
    expect([listeners[0]!.answered, votes]).toEqual([3, 3]);
    await host.context().close();
  });
});
