import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, test } from 'vitest';
import type { ShootoutDetail, ShootoutResults } from '../../src/server/shootout-api.ts';
import { figure } from '../../web/words/figures.ts';
import { mixAndMasters, wavOf } from '../integration/shootout-support.ts';
import {
  axeViolationsInBothThemes,
  browserPath,
  dropFiles,
  launchBrowser,
  openPage,
} from './page-support.ts';
import { hearAll, insecure, listenIn, SharingBench } from './shootout-support.ts';

const patience = 60_000;
const rounds = 4;
const longMaker = 'Casimir Oduya-Featherstonehaugh of the Old Ropeworks Mastering Rooms';

describe.skipIf(!browserPath)('a shoot-out on the page, from the mix to the reveal', () => {
  let bench: SharingBench;
  let browser: Browser;
  let host: Page;
  let id = '';
  const troubles: string[] = [];
  const links: string[] = [];
  const { mix, masters } = mixAndMasters();
  const detail = () => bench.client.get<ShootoutDetail>(`/api/shootouts/${id}`);
  const fill = (label: string, text: string) => host.getByLabel(label, { exact: true }).fill(text);
  const tidy = async (page: Page) => {
    expect(await axeViolationsInBothThemes(page)).toEqual([]);
    expect(
      await page.evaluate('document.documentElement.scrollWidth <= innerWidth'),
      'nothing overflows',
    ).toBe(true);
  };

  beforeAll(async () => {
    [bench, browser] = await Promise.all([SharingBench.start(), launchBrowser()]);
    const bytes = await wavOf(bench.folder, 'Harbour mix 7.wav', mix);
    const { body } = await bench.client.upload(bytes, 'Harbour mix 7.wav');
    const opened = await openPage(browser, `${bench.server.url}/songs/${body.song.id}`);
    host = opened.page;
    host.setDefaultTimeout(patience / 2);
    troubles.push(...opened.troubles);
  }, patience);
  afterAll(async () => {
    await browser?.close();
    await bench?.remove();
  });
  afterEach(() => expect(troubles, 'errors in the browser’s console').toEqual([]));

  test('is set up from a mix and what came back; another song is refused with the reason', async () => {
    await host.getByRole('button', { name: 'Set up a shoot-out' }).click();
    await host.getByRole('heading', { name: 'No master yet' }).waitFor();
    id = host.url().split('/').at(-1)!;
    await host.getByText('A shoot-out needs at least two masters.').waitFor();
    const files = [
      ...masters.map(({ file, pcm }) => ({ file, pcm })),
      { file: 'other.wav', pcm: mixAndMasters(77).mix },
    ];
    const paths: string[] = [];
    for (const { file, pcm } of files) {
      await wavOf(bench.folder, file, pcm);
      paths.push(join(bench.folder, file));
    }
    await dropFiles(host, paths);
    const makers = [masters[0]!.maker, longMaker, masters[2]!.maker, 'Nobody'];
    for (const [i, maker] of makers.entries()) {
      const row = host.locator('.incoming > li', { hasText: files[i]!.file });
      await row.getByLabel('Made by').fill(maker);
      await row.getByRole('button', { name: 'Take it in' }).press('Enter');
    }
    await host.getByRole('heading', { name: '3 masters' }).waitFor();
    expect(await host.getByRole('alert').textContent()).toMatch(/other|another|mix/i);
    await host.getByRole('button', { name: 'Dismiss other.wav' }).press('Enter');
    const mine = host.locator('.masters > li', { hasText: masters[0]!.maker }).getByLabel('my own');
    await mine.click();
    await expect.poll(() => mine.isChecked()).toBe(true);
    await tidy(host);
  });

  test('parts and size are chosen, what they can tell is said, and the voting is opened', async () => {
    for (const [from, to] of [
      ['0:01', '4.5'],
      ['6', '9.5'],
    ] as const) {
      await fill('From', from);
      await fill('to', to);
      await host.keyboard.press('Enter');
      await host
        .locator('.sections-found')
        .getByText(`–${from === '6' ? '0:09.50' : '0:04.50'}`)
        .waitFor();
    }
    // The first is what the engine proposed: the whole of so short a song.
    await host.locator('.sections-found input').first().click();
    await expect.poll(async () => (await detail()).sections.length).toBe(2);
    await fill('Listeners at most', '3');
    await fill('Rounds each', String(rounds));
    await host.keyboard.press('Tab');
    await host.getByText(`With three listeners and twelve votes in all`).waitFor();
    await host.locator('.plan-figures', { hasText: `${rounds} rounds a listener` }).waitFor();
    await host.getByRole('button', { name: 'Open the voting…' }).click();
    await host.getByRole('alertdialog').getByRole('button', { name: 'Open the voting' }).click();
    await host.getByRole('heading', { name: 'Listeners', exact: true }).waitFor();
    expect((await detail()).state).toBe('open');
  });

  test('is shared only when asked; each listener gets a link', async () => {
    await host.getByText('Not shared.').waitFor();
    await host.getByRole('button', { name: 'Share on this network…' }).click();
    await host.getByRole('alertdialog').getByText('It is plain http').waitFor();
    await host.getByRole('button', { name: 'Share it' }).click();
    await host.getByText('● Shared').waitFor();
    for (const name of ['Phone', 'Laptop']) {
      await host.locator('#main').getByLabel('Listener', { exact: true }).first().fill(name);
      await host.getByRole('button', { name: 'Listens on this network' }).click();
      await host.getByRole('heading', { name: `The link of ${name}` }).waitFor();
      await host.getByRole('img', { name: `QR code of the link of ${name}` }).waitFor();
      links.push((await host.locator('.links code').textContent())!);
    }
    await tidy(host);
    await host.getByRole('button', { name: 'Put it away' }).click();
  });

  test('a laptop votes by keyboard, is closed in between, and goes on where it was', async () => {
    let { page } = await openPage(browser, links[1]!);
    const heard = listenIn(page);
    await page.reload();
    await page.getByRole('button', { name: 'It is turned down: begin' }).press('Enter');
    await tidy(page);
    for (const answer of ['=', 'ArrowLeft']) {
      await page.locator('.sound').first().waitFor();
      await page.keyboard.press(answer);
      expect(await page.getByRole('button', { name: 'Send the answer' }).isDisabled()).toBe(true);
      await hearAll(page, ['1', '2']);
      await page.keyboard.press(answer);
      await page.keyboard.press('Enter');
      await page.getByText(/✓ Answer \d of 4 is taken in/).waitFor();
      await page.getByText(answer === '=' ? 'Round 2 of 4' : 'Round 3 of 4').waitFor();
    }
    const bytes = await heard.text();
    for (const secret of [
      ...masters.flatMap(({ maker, file }) => [maker, file]),
      longMaker,
      'Harbour',
      'Phone',
    ])
      expect(bytes, `tells ${secret}`).not.toContain(secret);
    await page.context().close();
    page = (await openPage(browser, links[1]!)).page;
    await page.getByRole('heading', { name: 'Welcome back' }).waitFor();
    await page.getByRole('button', { name: 'It is turned down: go on' }).press('Enter');
    for (const number of [3, 4]) {
      await page.getByText(`Round ${number} of 4`).waitFor();
      await page.locator('.sound').first().waitFor();
      await hearAll(page, ['1', '2']);
      // Takes what is heard, then sends it.
      await page.keyboard.press('Enter');
      await page.getByText('Your answer: rather 2.').waitFor();
      await page.keyboard.press('Enter');
    }
    await page.getByRole('heading', { name: 'That was all. Thank you' }).waitFor();
    await tidy(page);
    await host.locator('.listeners > li', { hasText: 'Laptop' }).getByText('✓ all 4 answered').waitFor();
    await page.context().close();
  });

  test('a phone votes by thumb without a secure context; a lost line loses and doubles nothing', async () => {
    const context = await browser.newContext({
      viewport: { width: 390, height: 844 },
      hasTouch: true,
      isMobile: true,
      colorScheme: 'dark',
    });
    await context.addInitScript(insecure);
    const page = await context.newPage();
    page.setDefaultTimeout(patience);
    await page.goto(links[0]!);
    await page.getByRole('button', { name: 'It is turned down: begin' }).tap();
    for (let number = 1; number <= rounds; number++) {
      await page.getByText(`Round ${number} of 4`).waitFor();
      for (const i of [0, 1]) {
        await page.locator('.sound').nth(i).tap();
        await page.locator('.sound').nth(i).and(page.locator('[data-heard=yes]')).waitFor();
      }
      await page.getByText('Rather 2', { exact: true }).tap();
      if (number === 1) await tidy(page);
      if (number === 2) await context.setOffline(true);
      // The answer arrives, the word that it did not.
      if (number === 3)
        await page.route(
          '**/answers',
          async (route) => {
            await route.fetch();
            await route.abort();
          },
          { times: 1 },
        );
      await page.getByRole('button', { name: 'Send the answer' }).tap();
      if (number !== 2 && number !== 3) continue;
      await page.getByText('The connection is lost').waitFor();
      await context.setOffline(false);
      await page.getByText(`✓ Answer ${number} of 4 is taken in.`).waitFor();
    }
    await page.getByRole('heading', { name: 'That was all. Thank you' }).waitFor();
    await host.locator('.listeners > li', { hasText: 'Phone' }).getByText('✓ all 4 answered').waitFor();
    expect((await detail()).votes).toBe(2 * rounds);
    await context.close();
  });

  test('the reveal asks first, ends voting, and shows what the interface says', async () => {
    expect(await host.locator('.results').count(), 'no result is told unasked').toBe(0);
    await host.getByRole('button', { name: 'Reveal…' }).click();
    await host.getByRole('alertdialog', { name: 'End the voting and reveal?' }).waitFor();
    await host.getByRole('button', { name: 'Keep voting open' }).press('Enter');
    expect((await detail()).state).toBe('open');
    await host.getByRole('button', { name: 'Reveal…' }).press('Enter');
    await host.getByRole('alertdialog').getByRole('button', { name: 'Reveal' }).click();
    const verdict = host.locator('.verdict-sentence');
    await verdict.waitFor();
    const { sentences, results, names } = await bench.client.get<ShootoutResults>(
      `/api/shootouts/${id}/results`,
    );
    expect(await verdict.textContent()).toBe(sentences[0]);
    if (results.kind !== 'preference' || !results.all) throw new Error('no results');
    const rows = await host.locator('.strengths tbody tr').allInnerTexts();
    expect(rows.map((row) => row.split('\t').map((cell) => cell.trim()))).toEqual(
      results.all.strengths.map((each) => [
        names.find(({ id: entryId }) => entryId === each.entryId)!.name,
        figure(each.strength, 2),
        ...[each.interval, each.listenersInterval ?? each.votesInterval].map(
          ({ low, high }) =>
            `${low === null ? 'open' : figure(low, 2)} to ${high === null ? 'open' : figure(high, 2)}`,
        ),
        figure(each.points, 1),
        `${figure(100 * each.chanceBest, 0)} %`,
      ]),
    );
    const { page } = await openPage(browser, links[1]!);
    await page.getByRole('heading', { name: /Voting is over|This link does not open/ }).waitFor();
    await page.context().close();
  });

  test('what the others did is told, with places to loop at the desk', async () => {
    await host.locator('.lessons > li').first().waitFor();
    await tidy(host);
    await host.setViewportSize({ width: 390, height: 844 });
    await tidy(host);
    expect(await host.getByRole('link', { name: /^Loop .* at the desk$/ }).count()).toBeGreaterThan(0);
  });

  test('a link that is none says so', async () => {
    const { page } = await openPage(browser, `${bench.server.url}/v/${'a'.repeat(52)}`);
    await page.getByRole('heading', { name: 'This link does not open' }).waitFor();
    await tidy(page);
    await page.context().close();
  });

  test('a shoot-out that is not there says so', async () => {
    await host.goto(`${bench.server.url}/shootouts/none`);
    await host.getByRole('heading', { level: 1 }).waitFor();
    await tidy(host);
  });
});
