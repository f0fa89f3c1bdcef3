import { mkdir, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, test } from 'vitest';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import type { Pcm } from '../../src/audio/pcm.ts';
import type { VersionDetail } from '../../src/server/api.ts';
import type { DeskSong, Level, Match } from '../../src/server/desk-api.ts';
import type { Note, ReferenceSet, Standing, Storage, Watch } from '../../src/server/keeping-api.ts';
import { deskKeys } from '../../web/desk/key-table.ts';
import { bytes, figure } from '../../web/words/figures.ts';
import { music } from '../integration/server-support.ts';
import {
  axeViolations,
  browserPath,
  dropFiles,
  launchBrowser,
  openPage,
  RunningBench,
} from './page-support.ts';

const patience = 60_000;

/** Half a song quietly, half of it loudly, so that there are two sections. */
function twoHalves(seconds: number, gain: number, lateSeconds = 0): Pcm {
  const { sampleRate, channels } = music(seconds, { gain });
  const late = Math.round(lateSeconds * sampleRate);
  return {
    sampleRate,
    channels: channels.map((samples) => {
      const moved = new Float32Array(samples.length + late);
      samples.forEach((sample, i) => {
        moved[i + late] = sample * (i < samples.length / 2 ? 0.2 : 1);
      });
      return moved;
    }),
  };
}

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
    expect((await bench.get<Level>('/desk/level')).cautionRead).toBe(true);
    await page.getByRole('alertdialog').waitFor({ state: 'hidden' });
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

  test('a set is made, filled by dropping, emptied and deleted, each to be taken back', async () => {
    const page = await open('/sets');
    await page.getByLabel('Name of a new set').fill('Loud ones');
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { level: 1, name: 'Loud ones' }).waitFor();
    const id = page.url().split('/').at(-1)!;
    const members = async () =>
      (await bench.get<ReferenceSet>(`/sets/${id}`)).members.map(({ name }) => name);
    const path = join(bench.folder, 'Dropped record.wav');
    await writeWav(path, music(5), { sampleFormat: 's16' });
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

  test.for(['light', 'dark'] as const)(
    'axe-core finds nothing on any screen of the desk in the %s',
    async (theme) => {
      const found: string[] = [];
      const look = async (page: Page, name: string) =>
        found.push(...(await axeViolations(page)).map((violation) => `${name}: ${violation}`));
      const page = await openDesk({ theme });
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
    },
  );

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
