import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, test } from 'vitest';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import type { Pcm } from '../../src/audio/pcm.ts';
import type { VersionDetail } from '../../src/server/api.ts';
import type { DeskSong, Level, Match } from '../../src/server/desk-api.ts';
import type { Note, ReferenceSet, Standing } from '../../src/server/keeping-api.ts';
import { deskKeys } from '../../web/desk/key-table.ts';
import { figure } from '../../web/words/figures.ts';
import { music } from '../integration/server-support.ts';
import { twoHalves } from './desk-halves.ts';
import {
  axeViolationsInBothThemes,
  browserPath,
  launchBrowser,
  openPage,
  RunningBench,
} from './page-support.ts';

const patience = 60_000;

describe.skipIf(!browserPath)('the listening desk on the page', () => {
  let bench: RunningBench;
  let browser: Browser;
  let first: VersionDetail;
  let second: VersionDetail;
  let reference: VersionDetail;
  let set: ReferenceSet;
  let troubles: string[] = [];

  const open = async (path: string, options?: Parameters<typeof openPage>[2]): Promise<Page> => {
    const opened = await openPage(browser, bench.url + path, options);
    troubles = opened.troubles;
    return opened.page;
  };
  const openDesk = async (options?: Parameters<typeof openPage>[2]): Promise<Page> => {
    await bench.post('/desk/level', { cautionRead: true }, 'PUT');
    const page = await open(`/songs/${first.songId}/desk`, options);
    await page.locator('.desk-wave canvas').waitFor();
    await page.locator('[data-matched]', { hasText: 'that of the quietest' }).waitFor();
    return page;
  };
  const heard = (page: Page, text: string | RegExp) =>
    page.locator('.heard-line', { hasText: text }).waitFor({ timeout: patience });
  const position = async (page: Page) => {
    const [minutes, seconds] = ((await page.locator('[data-position]').textContent()) ?? '').split(':');
    return Number(minutes) * 60 + Number(seconds);
  };

  beforeAll(async () => {
    [bench, browser] = await Promise.all([RunningBench.start(), launchBrowser()]);
    const write = async (name: string, pcm: Pcm) => {
      const path = join(bench.folder, name);
      await writeWav(path, pcm, { sampleFormat: 's24' });
      return path;
    };
    const quick = { lossy: false };
    first = await bench.bringIn(await write('Slow Tide first.wav', twoHalves(16, 0.5)), quick);
    second = await bench.bringIn(
      await write(
        'Slow Tide second, with a name that goes on for much longer than any row has room.wav',
        twoHalves(16, 1, 0.5),
      ),
      { ...quick, songId: first.songId },
    );
    reference = await bench.bringIn(await write('A record one knows.wav', music(9, { gain: 0.8 })), {
      ...quick,
      kind: 'reference',
    });
    await writeFile(join(bench.folder, 'Broken.wav'), 'no sound, only words');
    await bench.bringIn(join(bench.folder, 'Broken.wav'), { songId: first.songId });
    set = await bench.post<ReferenceSet>('/sets', { name: 'Evening' });
    await bench.post(`/sets/${set.id}/members/${reference.id}`, {}, 'PUT');
    // Found out beforehand, so that no test waits for it.
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
  afterEach(async () => {
    await Promise.all(browser.contexts().map((context) => context.close()));
    expect(troubles, 'errors in the browser’s console').toEqual([]);
  });

  test('says start low before anything is heard, once', async () => {
    const page = await open(`/songs/${first.songId}`);
    await page.getByRole('link', { name: 'Listen at the desk' }).click();
    await page.getByRole('alertdialog', { name: /start low/ }).waitFor();
    await page.keyboard.press('Space');
    await page.getByRole('alertdialog').waitFor({ state: 'hidden' });
    expect((await bench.get<Level>('/desk/level')).cautionRead).toBe(true);
    await page.reload();
    await page.locator('.desk-wave canvas').waitFor();
    expect(await page.getByRole('alertdialog').count()).toBe(0);
    expect(await page.getByLabel('Your level').inputValue()).toBe('-20');
  });

  test('every sound and every way of hearing is reached by its key, and what is heard is said', async () => {
    const page = await openDesk();
    const press = (key: string) => page.keyboard.press(key);
    await heard(page, 'Slow Tide second');
    await press('1');
    await heard(page, 'Slow Tide first');
    expect(await page.getByRole('button', { name: /Slow Tide first/, pressed: true }).count()).toBe(1);
    await press('0');
    await heard(page, 'Slow Tide second');
    await press('3');
    await heard(page, 'A record one knows');
    await press('1');
    for (const [key, words] of [
      ['m', 'in mono'],
      ['s', 'the side only'],
      ['x', 'left and right changed over'],
      ['p', 'right side upside down'],
      ['b', 'the low end alone'],
      ['q', '20 dB quieter'],
      ['d', 'what differs from Slow Tide second'],
      ['v', 'at a service’s level'],
    ] as const) {
      await press(key);
      await heard(page, words);
    }
    await page.getByRole('button', { name: 'Plain again' }).press('Enter');
    await press('q');
    expect((await page.locator('.heard-line').textContent())?.trim()).toMatch(/Slow Tide first\.wav/);
    expect(await page.locator('.heard-line').textContent()).not.toContain(':');

    await press('=');
    await page.getByText('Loudness is not matched').waitFor();
    expect(await page.locator('[data-matching="off"]').count()).toBe(1);
    await press('=');

    await press(']');
    await expect.poll(() => position(page)).toBeGreaterThan(7);
    const from = await position(page);
    await press('ArrowLeft');
    await expect.poll(() => position(page)).toBeCloseTo(from - 2, 0);
    await press('Shift+ArrowRight');
    await expect.poll(() => position(page)).toBeCloseTo(from + 8, 0);
    await press('[');
    await press('Shift+ArrowLeft');
    await expect.poll(() => position(page)).toBe(0);

    await press('Space');
    await page.locator('[data-player="playing"]').waitFor({ timeout: patience });
    await expect.poll(() => position(page)).toBeGreaterThan(0.2);
    await press('Space');
    await page.locator('[data-player="stopped"]').waitFor();

    await press('+');
    await page.getByText(/^0:0\d\.\d–0:0/).waitFor();
    await press('w');
    await page.getByText('whole song', { exact: true }).waitFor();
    await press('?');
    const list = page.getByRole('dialog', { name: 'Keys of the desk' });
    await list.waitFor();
    for (const { words } of deskKeys) expect(await list.getByText(words, { exact: true }).count()).toBe(1);
    // What lies over the desk keeps its keys away.
    await press('m');
    await press('Escape');
    await list.waitFor({ state: 'hidden' });
    expect(await page.locator('.heard-line').textContent()).not.toContain('mono');
  });

  test('what is done to each level is what the bench answers, for whole songs and for the loop', async () => {
    const page = await openDesk();
    const ids = [first.id, second.id, reference.id];
    const rows = async () =>
      Promise.all(ids.map((id) => page.locator(`[data-level-of="${id}"]`).textContent()));
    const words = (match: Match) =>
      match.parts.map(({ gainDb }) =>
        gainDb <= -0.05 ? `turned down ${figure(-gainDb)} dB to match` : 'not turned down to match',
      );
    const song = await bench.get<DeskSong>(`/desk/songs/${first.songId}`);
    const ends = [...song.sources.map(({ seconds }) => seconds), 9];
    const whole = await bench.post<Match>('/desk/match', {
      parts: ids.map((versionId, i) => ({ versionId, startSeconds: 0, endSeconds: ends[i] })),
    });
    await expect.poll(rows).toEqual(words(whole));

    // The loop of the second section, by its key: each sound is matched on its own part of it.
    await page.keyboard.press(']');
    await page.keyboard.press('l');
    await page.getByRole('button', { name: /^Loop 0:0/, pressed: true }).waitFor();
    const base = song.sources.find(({ versionId }) => versionId === song.baseVersionId)!;
    const section = base.sections[1]!;
    const other = song.sources.find(({ versionId }) => versionId === first.id)!;
    expect(other.aligned).toBe('aligned');
    expect(other.offsetSeconds).toBeCloseTo(-0.5, 3);
    const round = (seconds: number) => Math.round(seconds * 1000) / 1000;
    const loop = await bench.post<Match>('/desk/match', {
      parts: [
        {
          versionId: first.id,
          startSeconds: round(section.startSeconds + other.offsetSeconds),
          endSeconds: round(Math.min(other.seconds, section.endSeconds + other.offsetSeconds)),
        },
        {
          versionId: second.id,
          startSeconds: round(section.startSeconds),
          endSeconds: round(section.endSeconds),
        },
      ],
    });
    await expect.poll(async () => (await rows()).slice(0, 2)).toEqual(words(loop));
    await page.keyboard.press('l');
    await expect.poll(rows).toEqual(words(whole));
  });

  test('a click goes there, a drag marks a loop, the wheel zooms all plots of the song’s time', async () => {
    const page = await openDesk();
    const over = page.locator('.desk-wave .u-over');
    await over.scrollIntoViewIfNeeded();
    const { x, y, width } = (await over.boundingBox())!;
    const at = (share: number) => [x + share * width, y + 40] as const;
    await page.mouse.click(...at(0.5));
    await expect.poll(() => position(page)).toBeCloseTo(8.25, 0);
    await page.mouse.move(...at(0.25));
    await page.mouse.down();
    await page.mouse.move(...at(0.3), { steps: 3 });
    await page.mouse.move(...at(0.75), { steps: 3 });
    await page.mouse.up();
    await page.getByRole('button', { name: /^Loop 0:04–0:12/, pressed: true }).waitFor();
    expect(await position(page)).toBeCloseTo(8.25, 0);
    await page.keyboard.down('Control');
    await page.mouse.wheel(0, -300);
    await page.keyboard.up('Control');
    const view = page.locator('.desk-wave .view-tools .num');
    await expect.poll(() => view.textContent()).toMatch(/^0:0\d\.\d–0:1\d\.\d$/);
    const plot = page.getByRole('application', { name: 'Loudness over time' });
    // Where the pointer rests, it has the cursor.
    await page.mouse.move(2, 2);
    await plot.focus();
    await plot.press('Home');
    const first = (await view.textContent())!.split('–')[0]!;
    await expect
      .poll(() => plot.locator('xpath=..').locator('.readout').textContent())
      .toContain(`at ${first.slice(0, -1)}`);
    await plot.press('Enter');
    await expect
      .poll(async () => Math.abs((await position(page)) - Number(first.split(':')[1])))
      .toBeLessThan(0.2);
  });

  test('after a break a reference is offered first', async () => {
    const page = await openDesk();
    await page.keyboard.press('Space');
    await page.locator('[data-player="playing"]').waitFor({ timeout: patience });
    await page.keyboard.press('Space');
    await page.locator('[data-player="stopped"]').waitFor();
    await page.clock.setFixedTime(Date.now() + 7 * 60_000);
    await page.keyboard.press('Space');
    await page.getByText('You had 7 minutes of quiet.').waitFor();
    await page.getByRole('button', { name: 'Hear A record one knows' }).press('Enter');
    await heard(page, 'A record one knows');
    await page.locator('[data-player="playing"]').waitFor({ timeout: patience });
  });

  test('keys rest in fields, and single keys can be turned off', async () => {
    const page = await openDesk();
    await page.keyboard.press('n');
    await page.keyboard.type('mmm 1');
    expect(await page.locator('.heard-line').textContent()).not.toContain('mono');
    await page.keyboard.press('Escape');
    await page.keyboard.press('?');
    await page.getByRole('checkbox', { name: 'Single keys work on this page' }).press('Space');
    await page.keyboard.press('Escape');
    await page.getByText('Single keys are turned off.').waitFor();
    await page.keyboard.press('m');
    expect(await page.locator('.heard-line').textContent()).not.toContain('mono');
    await page.getByRole('button', { name: /^Mono/ }).press('Enter');
    await heard(page, 'in mono');
  });

  test('a note is written, ticked off, carried and taken back without a mouse', async () => {
    const page = await openDesk();
    const notes = async (id: string) => (await bench.get<{ notes: Note[] }>(`/versions/${id}/notes`)).notes;
    await page.keyboard.press('1');
    await heard(page, 'Slow Tide first');
    await page.keyboard.press('Shift+ArrowRight');
    await page.keyboard.press('n');
    await page.keyboard.type('too bright');
    await page.keyboard.press('Enter');
    await page.getByRole('button', { name: /^Go to .*too bright/ }).waitFor();
    const [note] = await notes(first.id);
    // 10 s of the song: its clock is the second version's, in which all comes half a second later.
    expect(note!.atSeconds).toBeCloseTo(9.5, 2);

    await page.keyboard.press('2');
    await page.getByText('from Slow Tide first.wav, at 0:09.5 there').waitFor({ timeout: patience });
    await page.keyboard.press('Shift+ArrowLeft');
    await page.getByRole('button', { name: 'Go to 0:10.0: too bright' }).press('Enter');
    await expect.poll(() => position(page)).toBeCloseTo(10, 0);
    await page.getByRole('checkbox', { name: 'Done: too bright' }).press('Space');
    await expect.poll(async () => (await notes(second.id))[0]?.done).toBe(true);
    expect((await notes(first.id))[0]?.done).toBe(false);

    await page.getByRole('button', { name: /^Delete the note/ }).press('Enter');
    await page.getByText('The note at 0:10.0 was deleted.').waitFor();
    await expect.poll(async () => (await notes(second.id)).length).toBe(0);
    await page.getByRole('button', { name: 'Undo' }).press('Enter');
    await page.getByRole('checkbox', { name: 'Done: too bright' }).waitFor();
  });

  test('how a version stands is said in the bench’s own sentences, on the desk and beside the verdict', async () => {
    const standing = await bench.get<Standing>(`/versions/${second.id}/standing?set=${set.id}`);
    await bench.post('/desk/level', { cautionRead: true }, 'PUT');
    for (const path of [`/songs/${first.songId}/desk`, `/versions/${second.id}`]) {
      const page = await open(path);
      const said = page.locator('[data-standing]');
      await said.getByText(standing.headline, { exact: true }).waitFor();
      for (const sentence of standing.whole.sentences)
        expect(await said.getByText(sentence, { exact: true }).count()).toBe(1);
      expect(await said.locator('[data-own="plrDb"]').textContent()).toBe(
        figure(standing.whole.figures.plrDb),
      );
      const part = standing.sections[1]!;
      await said.getByLabel('Part').selectOption(part.label);
      await expect
        .poll(() => said.locator('[data-own="integratedLufs"]').textContent())
        .toBe(figure(part.figures.integratedLufs));
      await page.context().close();
    }
  });

  test('how loud it is, is found with a meter’s reading and told', async () => {
    const page = await openDesk();
    await page.getByRole('button', { name: 'Find out how loud it is here' }).press('Enter');
    await page.getByRole('button', { name: 'Start the noise' }).press('Enter');
    await page.getByLabel(/write what it shows/).fill('72');
    await page.getByRole('button', { name: 'Keep it' }).press('Enter');
    await page.locator('[data-level]', { hasText: /about \d+ dBA where you sit/ }).waitFor();
    const { calibration } = await bench.get<Level>('/desk/level');
    expect(calibration?.by).toBe('meter');
    expect(calibration?.splAtZeroLufsDb).toBeCloseTo(89, 0);
  });

  test('axe-core finds nothing on any screen of the desk, in the light and in the dark', async () => {
    const found: string[] = [];
    const look = async (page: Page, name: string) =>
      found.push(...(await axeViolationsInBothThemes(page)).map((violation) => `${name}: ${violation}`));
    const page = await openDesk();
    await page.locator('[data-standing] canvas').waitFor();
    await page.evaluate(
      'document.querySelectorAll("details").forEach((details) => { details.open = true; })',
    );
    await page.keyboard.press('=');
    await page.keyboard.press('n');
    await look(page, 'desk');
    await page.keyboard.press('Escape');
    await page.keyboard.press('?');
    await page.getByRole('dialog').waitFor();
    await look(page, 'keys');
    await page.keyboard.press('Escape');
    for (const path of ['/sets', `/sets/${set.id}`, '/watch', '/storage', `/songs/${first.songId}`]) {
      await page.goto(bench.url + path);
      await page.getByRole('heading', { level: 1 }).waitFor();
      await look(page, path);
    }
    expect(found).toEqual([]);
  });

  test('nothing sticks out of a phone, and nothing there is too small for a finger', async () => {
    const page = await openDesk({ width: 390 });
    expect(await page.evaluate('document.documentElement.scrollWidth')).toBeLessThanOrEqual(390);
    // WCAG 2.2, 2.5.8: 24 by 24 pixels, but for links in lines of text.
    const small = await page.evaluate<
      string[]
    >(`[...document.querySelectorAll('main button, main select, main input')]
      .filter((e) => { const b = e.getBoundingClientRect(); return b.width > 0 && (b.height < 24 || b.width < 24) && !e.closest('.sections-strip, label'); })
      .map((e) => e.outerHTML.slice(0, 120))`);
    expect(small).toEqual([]);
  });
});
