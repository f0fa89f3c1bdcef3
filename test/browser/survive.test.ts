import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import ts from 'typescript';
import { afterAll, afterEach, beforeAll, describe, expect, test } from 'vitest';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import type { Job, Survival, SurviveRequest } from '../../src/server/api.ts';
import { difference, figure, inUnit } from '../../web/words/figures.ts';
import { music } from '../integration/server-support.ts';
import {
  axeViolationsInBothThemes,
  browserPath,
  launchBrowser,
  openPage,
  RunningBench,
  writeCalmSong,
} from './page-support.ts';

const patience = 60_000;
const playerSource = new URL('../../web/survive/loop-player.ts', import.meta.url);
const faderSource = new URL('../../web/sound/fader.ts', import.meta.url);

/** A source file of the page as a module that any page can import. */
async function asModule(source: URL, mend = (text: string) => text): Promise<string> {
  const { outputText } = ts.transpileModule(await readFile(source, 'utf8'), {
    compilerOptions: { module: ts.ModuleKind.ESNext, target: ts.ScriptTarget.ES2022 },
  });
  return `data:text/javascript,${encodeURIComponent(mend(outputText))}`;
}

describe.skipIf(!browserPath)('the screen of lossy coding', () => {
  let bench: RunningBench;
  let browser: Browser;
  let id: string;
  let troubles: string[] = [];

  const open = async (path: string, options?: Parameters<typeof openPage>[2]): Promise<Page> => {
    const opened = await openPage(browser, bench.url + path, options);
    troubles = opened.troubles;
    return opened.page;
  };
  const survival = (version = id) => bench.get<Survival>(`/versions/${version}/survive`);

  beforeAll(async () => {
    [bench, browser] = await Promise.all([RunningBench.start(), launchBrowser()]);
    const loud = join(bench.folder, 'Loud one.wav');
    await writeWav(loud, music(8), { sampleFormat: 's16' });
    id = (await bench.bringIn(loud)).id;
  });
  afterAll(async () => {
    await browser?.close();
    await bench?.remove();
  });
  afterEach(async () => {
    await Promise.all(browser.contexts().map((context) => context.close()));
    expect(troubles, 'errors in the browser’s console').toEqual([]);
  });

  test('formats are chosen, coded and told with the figures of the API', async () => {
    const page = await open(`/versions/${id}`);
    await page.getByRole('link', { name: /ceiling that survives/ }).click();
    await page
      .getByRole('heading', { level: 1, name: 'What will lossy coding do to Loud one.wav?' })
      .waitFor();
    const run = page.getByRole('button', { name: 'Code it and measure' });
    await page.getByRole('button', { name: 'None' }).click();
    expect(await run.isDisabled()).toBe(true);
    for (const format of ['AAC 96', 'MP3 320', 'Opus 128'])
      await page.getByRole('checkbox', { name: format, exact: true }).press('Space');
    await page.getByRole('radio', { name: /^−1 dBTP/ }).press('Space');
    await run.click();
    await page
      .getByText(/^Confirmed by the full run\.$|^The full run found no ceiling/)
      .waitFor({ timeout: patience });

    const { report, complete, settings } = await survival();
    expect(complete).toBe(true);
    expect(settings).toEqual({
      formatIds: ['aac-96', 'mp3-320', 'opus-128'],
      limitDbtp: -1,
      findCeiling: true,
    });
    const headline = await page.getByRole('heading', { level: 1 }).textContent();
    expect(report!.ceiling!.answers[0]!.startsWith(headline!.trim())).toBe(true);
    const shown = (what: string, formatId: string) =>
      page.locator(`[data-survive-${what}="${formatId}"]`).textContent();
    expect(report!.formats).toHaveLength(3);
    for (const row of report!.formats) {
      expect((await shown('peak', row.formatId))?.trim()).toBe(inUnit(row.truePeakDbtp, 'dBTP'));
      expect(await shown('growth', row.formatId)).toBe(difference(row.growthDb));
      expect(await shown('overs', row.formatId)).toBe(String(row.overs));
      expect(await shown('cut', row.formatId)).toBe(String(row.clip.samples));
      expect(await shown('rate', row.formatId)).toBe(figure(row.actualKbps));
      await page.getByText(row.sentence, { exact: true }).waitFor();
    }
    // A reload loses nothing.
    await page.reload();
    await page.getByRole('heading', { level: 1, name: headline! }).waitFor();
  });

  test('a run can be stopped; what it had finished is kept and said', async () => {
    const path = join(bench.folder, 'Long one.wav');
    await writeWav(path, music(60), { sampleFormat: 's16' });
    const response = await fetch(`${bench.url}/api/versions?name=Long`, {
      method: 'POST',
      body: await readFile(path),
    });
    const { version, job } = (await response.json()) as { version: { id: string }; job: Job };
    await fetch(`${bench.url}/api/jobs/${job.id}/cancel`, { method: 'POST' });
    const page = await open(`/versions/${version.id}/survive`);
    await page.getByRole('button', { name: 'Code it and measure' }).click();
    await page.getByRole('button', { name: 'Cancel coding Long' }).click();
    await page.getByText(/The run was cancelled/).waitFor();
    expect((await survival(version.id)).job?.state).toBe('cancelled');
    expect((await survival(version.id)).complete).toBe(false);
  });

  test.for([
    ['cancelled', 'A later run was cancelled.'],
    ['failed', 'A later run failed: The disk is full.'],
  ] as const)('a later run that %s is told beside what the one before found', async ([state, words]) => {
    await finishedRun(bench, id);
    const page = await open(`/versions/${id}/survive`);
    await page.route(`**/api/versions/${id}/survive`, async (route) => {
      const response = await route.fetch();
      const known = (await response.json()) as Survival;
      const error = { code: 'DISK_FULL', message: 'The disk is full.' };
      await route.fulfill({ response, json: { ...known, job: { ...known.job, state, error } } });
    });
    await page.reload();
    await page.getByText(words).waitFor();
  });

  test('original, decoded sound and difference are heard and switched by single keys', async () => {
    await finishedRun(bench, id);
    const page = await open(`/versions/${id}/survive`);
    await page.getByRole('button', { name: 'Listen to MP3 320' }).press('Enter');
    const group = page.getByRole('group', { name: 'Listen to MP3 320' });
    await group.and(page.locator(':focus')).waitFor();
    const heard = (what: string) => page.locator(`[data-listening="${what}"]`).waitFor({ timeout: patience });
    await heard('nothing');
    await page.keyboard.press('Space');
    await heard('original');
    await page.keyboard.press('x');
    await heard('difference');
    await page.keyboard.press('d');
    await heard('decoded');
    // A radio uses the space bar only while there is something to choose by it.
    await page.getByRole('radio', { name: /^Original/ }).press('Space');
    await heard('original');
    await page.keyboard.press('Space');
    await heard('nothing');
    await page.keyboard.press('Space');
    await heard('original');
    await page.getByText(/the difference is raised by \d+ dB/).waitFor();
    await page.keyboard.press('o');
    await page.keyboard.press('Space');
    await heard('nothing');
    // Away from the group the keys are ordinary.
    await page.getByRole('link', { name: 'Everyroom' }).focus();
    await page.keyboard.press('x');
    expect(await page.getByRole('radio', { name: /^Original/ }).isChecked()).toBe(true);
  });

  test('axe-core finds nothing in the light or the dark, before and after a run', async () => {
    await finishedRun(bench, id);
    const calm = await bench.bringIn(await writeCalmSong(join(bench.folder, 'Calm.wav'), 2));
    const found: string[] = [];
    for (const version of [id, calm.id]) {
      const page = await open(`/versions/${version}/survive`);
      if (version === id) {
        await page.locator('.plot canvas').waitFor();
        await page.getByRole('button', { name: /^Choose other formats/ }).click();
      }
      await page.getByRole('button', { name: 'Code it and measure' }).waitFor();
      for (const summary of await page.locator('summary').all()) await summary.click();
      found.push(...(await axeViolationsInBothThemes(page)));
    }
    expect(found).toEqual([]);
  });

  test('at 390 px nothing scrolls sideways', async () => {
    await finishedRun(bench, id);
    const page = await open(`/versions/${id}/survive`, { width: 390 });
    await page.locator('.plot canvas').waitFor();
    for (const summary of await page.locator('summary').all()) await summary.click();
    const [wide, seen] = await page.evaluate<[number, number]>(
      '[document.documentElement.scrollWidth, document.documentElement.clientWidth]',
    );
    expect(wide).toBeLessThanOrEqual(seen);
  });

  test('neither the loop’s seam nor a switch makes a step that the sounds do not have', async () => {
    const page = await (await browser.newContext()).newPage();
    const fader = await asModule(faderSource);
    const player = await asModule(playerSource, (text) => text.replace('../sound/fader.ts', fader));
    const measured = await page.evaluate<LoopMeasured>(`(async () => {
      const { LoopPlayer, loopExtraSeconds } = await import(${JSON.stringify(player)});
      const rate = 44100;
      const loop = 0.5;
      const length = Math.round((loop + loopExtraSeconds) * rate);
      // Sines that do not close after the loop, of unlike pitch, so that a hard cut would be a step of up to 1.
      const sine = (hz) => [Float32Array.from({ length }, (_, i) => 0.5 * Math.cos((2 * Math.PI * hz * i) / rate))];
      const pitches = { original: 110.7, decoded: 173.3, difference: 241.9 };
      const sounds = Object.fromEntries(Object.entries(pitches).map(([part, hz]) => [part, sine(hz)]));
      const render = async (act) => {
        const context = new OfflineAudioContext(1, 3 * rate, rate);
        const player = new LoopPlayer(context, sounds, rate, 'original');
        player.start(0);
        act(player);
        return (await context.startRendering()).getChannelData(0);
      };
      const step = (s) => s.reduce((m, v, i) => (i ? Math.max(m, Math.abs(v - s[i - 1])) : m), 0);
      const highest = (s) => s.reduce((m, v) => Math.max(m, Math.abs(v)), 0);
      const untouched = await render(() => {});
      const switched = await render((player) => {
        // The second switch comes while the first is still under way.
        player.switchTo('difference', 0.7013);
        player.switchTo('decoded', 0.704);
        player.switchTo('original', 1.6);
        player.stop(2.2);
      });
      // What is heard long after a switch is what would have been heard had it always played: the place is kept.
      const at = Math.round(1.9 * rate);
      const apart = switched.slice(at, at + 4000).reduce((m, v, i) => Math.max(m, Math.abs(v - untouched[at + i])), 0);
      return {
        sourceStep: Math.max(...Object.values(sounds).map(([s]) => step(s))),
        seamStep: step(untouched),
        switchedStep: step(switched),
        apart,
        tail: highest(switched.slice(Math.round(2.25 * rate))),
        loud: highest(switched),
      };
    })()`);
    // 8 ms of crossfade between levels of 0.5 adds at most 1 / 353 to a step.
    expect(measured.seamStep).toBeLessThan(measured.sourceStep * 1.2);
    expect(measured.switchedStep).toBeLessThan(measured.sourceStep + 1 / 353);
    expect(measured.apart).toBeLessThan(1e-6);
    expect(measured.tail).toBe(0);
    expect(measured.loud).toBeLessThan(0.51);
    expect(measured.loud).toBeGreaterThan(0.45);
  });
});

interface LoopMeasured {
  readonly sourceStep: number;
  readonly seamStep: number;
  readonly switchedStep: number;
  readonly apart: number;
  readonly tail: number;
  readonly loud: number;
}

/** Makes sure that there is a report of three formats: a run whose results are kept costs nothing. */
async function finishedRun(bench: RunningBench, id: string): Promise<void> {
  const request: SurviveRequest = { formatIds: ['aac-96', 'mp3-320', 'opus-128'], limitDbtp: -1 };
  await fetch(`${bench.url}/api/versions/${id}/survive`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(request),
  });
  await expect
    .poll(async () => (await bench.get<Survival>(`/versions/${id}/survive`)).job?.state, {
      timeout: patience,
    })
    .toBe('done');
}
