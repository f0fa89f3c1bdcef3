import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, test } from 'vitest';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import type { Pcm } from '../../src/audio/pcm.ts';
import { addPart, type Chain, emptyChain } from '../../src/finish/chain.ts';
import { ChainRunner } from '../../src/finish/chain-runner.ts';
import type { VersionDetail } from '../../src/server/api.ts';
import type { ChainDetail, ChainSteps, Proposal } from '../../src/server/chains-api.ts';
import type { ChainLoudness, Finishing } from '../../src/server/finishing-api.ts';
import type { ReferenceSet } from '../../src/server/keeping-api.ts';
import { seededMix } from '../seeded-sound.ts';
import { axeViolations, browserPath, launchBrowser, openPage, RunningBench } from './page-support.ts';

const patience = 40_000;
const seconds = 5;

/** Keeps what goes to the loudspeakers: the last block of it, one array a channel. */
const listening = `
  window.heardBlocks = 0;
  const connect = AudioNode.prototype.connect;
  AudioNode.prototype.connect = function (to, ...rest) {
    if (to instanceof AudioDestinationNode && !(this instanceof ScriptProcessorNode)) {
      const ear = this.context.createScriptProcessor(16384, 2, 2);
      ear.onaudioprocess = ({ inputBuffer }) => {
        window.heardBlocks++;
        window.heardBlock = [0, 1].map((c) => Array.from(inputBuffer.getChannelData(c)));
      };
      connect.call(this, ear);
      connect.call(ear, this.context.destination);
    }
    return connect.call(this, to, ...rest);
  };`;

describe.skipIf(!browserPath)('the finishing page', () => {
  let bench: RunningBench;
  let browser: Browser;
  let rate = 0;
  let sound: Pcm;
  let mix: VersionDetail;
  let set: ReferenceSet;
  let troubles: string[] = [];

  const start: Chain = addPart(
    addPart(emptyChain, 'equaliser', { bands: [{ hertz: 800, gainDb: 4, q: 1 }] }),
    'limiter',
    { gainDb: 2, ceilingDbtp: -2 },
  );
  const madeChain = (chain: Chain = start) =>
    bench.post<ChainDetail>(`/versions/${mix.id}/chains`, { chain });
  const chainNow = (id: string) => bench.get<ChainDetail>(`/chains/${id}`);
  const open = async (chainId: string, options?: Parameters<typeof openPage>[2]): Promise<Page> => {
    const opened = await openPage(browser, 'about:blank', options);
    troubles = opened.troubles;
    await opened.page.context().addInitScript(listening);
    await opened.page.goto(`${bench.url}/songs/${mix.songId}/finish?chain=${chainId}`);
    await opened.page.locator('[data-levels="known"]').waitFor({ timeout: patience });
    return opened.page;
  };
  const kept = (page: Page) => page.locator('[data-kept="kept"]').waitFor({ timeout: patience });

  /** Where a block lies in a sound of the same rate, at which gain, and how much is left when it is taken away, dB. */
  const found = (block: readonly number[][], offline: readonly Float32Array[]) => {
    const [left, right] = block;
    const length = 2048;
    const probe = 64;
    let best = { at: 0, error: Number.POSITIVE_INFINITY };
    const compared = (at: number, count: number) => {
      let [xy, yy, xx] = [0, 0, 0];
      for (let i = 0; i < count; i++)
        for (const [mine, theirs] of [
          [left, offline[0]],
          [right, offline[1]],
        ] as const) {
          xy += mine[i] * theirs[at + i];
          yy += theirs[at + i] ** 2;
          xx += mine[i] ** 2;
        }
      const gain = yy > 0 ? xy / yy : 0;
      return { gain, error: xx > 0 ? (xx - gain * xy) / xx : 1 };
    };
    for (let at = 0; at + length < offline[0].length; at++) {
      const { error } = compared(at, probe);
      if (error < best.error) best = { at, error };
    }
    const { gain, error } = compared(best.at, length);
    return { gainDb: 20 * Math.log10(Math.abs(gain)), leftDb: 10 * Math.log10(Math.max(1e-30, error)) };
  };
  const offline = (chain: Chain): Float32Array[] => {
    const runner = new ChainRunner(chain, rate, 2);
    // As the file has it: 24 bits.
    const channels = sound.channels.map((samples) => samples.map((x) => Math.round(x * 2 ** 23) / 2 ** 23));
    runner.process(channels);
    return channels;
  };
  /** A block of what is heard from now on. */
  const heard = async (page: Page): Promise<number[][]> => {
    // Past the block that is being filled, the fades and the change of filters.
    const from = await page.evaluate<number>('window.heardBlocks');
    await expect
      .poll(() => page.evaluate<number>('window.heardBlocks'), { timeout: patience })
      .toBeGreaterThan(from + 1);
    return page.evaluate<number[][]>('window.heardBlock');
  };

  beforeAll(async () => {
    [bench, browser] = await Promise.all([RunningBench.start(), launchBrowser()]);
    const { page } = await openPage(browser, bench.url);
    rate = await page.evaluate<number>('new AudioContext().sampleRate');
    await page.context().close();
    sound = seededMix(7, { sideDb: -9, seconds, sampleRate: rate });
    const bring = async (name: string, pcm: Pcm, kind: string) => {
      const path = join(bench.folder, name);
      await writeWav(path, pcm, { sampleFormat: 's24' });
      return bench.bringIn(path, { lossy: false, kind });
    };
    mix = await bring('Slow Tide.wav', sound, 'mix');
    set = await bench.post<ReferenceSet>('/sets', { name: 'Evening' });
    const brighter = {
      ...sound,
      channels: sound.channels.map((samples) =>
        samples.map((x, i) => 0.5 * (x - 0.7 * (samples[i - 1] ?? 0))),
      ),
    };
    const reference = await bring('A record one knows.wav', brighter, 'reference');
    await bench.post(`/sets/${set.id}/members/${reference.id}`, {}, 'PUT');
    await bench.post('/desk/level', { cautionRead: true }, 'PUT');
  }, patience);
  afterAll(async () => {
    await browser?.close();
    await bench?.remove();
  });
  afterEach(async () => {
    for (const context of browser.contexts()) await context.close();
  });

  test('what is set is what is heard, without the chain as loud; undo and redo by key', {
    timeout: patience,
  }, async () => {
    const { id } = await madeChain();
    const page = await open(id);
    const { integratedLufs, sourceLufs } = await bench.post<ChainLoudness>(
      `/versions/${mix.id}/chain-loudness`,
      {
        chain: start,
      },
    );
    await page.keyboard.press(' ');
    await page.locator('[data-player="playing"]').waitFor({ timeout: patience });
    await page.keyboard.press('l');
    const through = found(await heard(page), offline(start));
    expect(through.leftDb).toBeLessThan(-80);

    await page.keyboard.press('c');
    const dry = found(await heard(page), sound.channels);
    expect(dry.leftDb).toBeLessThan(-100);
    // As much softer as the chain makes it louder.
    expect(through.gainDb - dry.gainDb).toBeCloseTo(sourceLufs! - integratedLufs!, 0);
    await page.keyboard.press('c');

    // By keyboard on the plot: 3 dB up, then typed as a figure.
    const point = page.getByRole('slider', { name: 'Band 1' });
    await point.focus();
    for (let i = 0; i < 3; i++) await page.keyboard.press('Shift+ArrowUp');
    await kept(page);
    await expect
      .poll(async () => (await chainNow(id)).undo, { timeout: patience })
      .toEqual(['the equaliser: band 1, gain 4 dB → 7 dB']);
    const gain = page.getByRole('spinbutton', { name: 'Gain of band 1' });
    await gain.fill('−6,5');
    await gain.press('Enter');
    await kept(page);
    await expect
      .poll(async () => (await chainNow(id)).undo, { timeout: patience })
      .toEqual(['the equaliser: band 1, gain 7 dB → −6.5 dB']);
    const edited = (await chainNow(id)).chain as Chain;
    const block = await heard(page);
    expect(found(block, offline(edited)).leftDb).toBeLessThan(-80);
    expect(found(block, offline(start)).leftDb).toBeGreaterThan(-40);

    await page.keyboard.press('Control+z');
    await page.keyboard.press('Control+z');
    await expect.poll(async () => (await chainNow(id)).step, { timeout: patience }).toBe(0);
    await page.keyboard.press('Control+Shift+Z');
    await expect.poll(async () => (await chainNow(id)).step, { timeout: patience }).toBe(1);
    await expect.poll(() => point.getAttribute('aria-valuetext')).toContain('7.0 dB more around 800 Hz');

    // A number out of its range is refused in words and changes nothing.
    await gain.fill('99');
    await gain.press('Enter');
    await page.getByText('From −24.0 to 24.0 dB.').waitFor();
    await gain.press('Escape');
    expect((await chainNow(id)).step).toBe(1);
    expect(troubles).toEqual([]);
  });

  test('parts are added, moved, bypassed and removed by keyboard, and kept as steps', {
    timeout: patience,
  }, async () => {
    const { id } = await madeChain();
    const page = await open(id);
    const kinds = async () =>
      (await chainNow(id)).chain.parts.map(({ kind, bypassed }) => (bypassed ? `(${kind})` : kind));
    await page.getByLabel('Add a part').selectOption({ label: 'Width' });
    await expect.poll(kinds, { timeout: patience }).toEqual(['equaliser', 'width', 'limiter']);
    const width = page.getByRole('button', { name: /^2 Width/ });
    await width.focus();
    await page.keyboard.press('Alt+ArrowUp');
    await expect.poll(kinds, { timeout: patience }).toEqual(['width', 'equaliser', 'limiter']);
    await page.getByRole('slider', { name: 'Middle: width' }).press('ArrowRight');
    await page.getByRole('button', { name: 'Bypass Width, number 1' }).click();
    await expect.poll(kinds, { timeout: patience }).toEqual(['(width)', 'equaliser', 'limiter']);
    await page.getByRole('button', { name: /^1 Width/ }).press('Delete');
    await expect.poll(kinds, { timeout: patience }).toEqual(['equaliser', 'limiter']);

    await page.getByLabel('Name of the snapshot').fill('Plain');
    await page.keyboard.press('Enter');
    await page.getByRole('button', { name: /Plain/ }).first().waitFor();
    await page.getByText('All that it ever was').click();
    const before = (await chainNow(id)).step;
    await page.getByRole('button', { name: 'Go back to it, step 1', exact: true }).click();
    await expect.poll(kinds, { timeout: patience }).toEqual(['equaliser', 'width', 'limiter']);
    const { steps } = await bench.get<ChainSteps>(`/chains/${id}/steps`);
    expect(steps[0]).toMatchObject({
      step: before + 1,
      words: ['went back to step 1', 'added the width as number 2'],
    });
    await page.locator('[aria-current="step"]', { hasText: 'went back to step 1' }).waitFor();
    expect(troubles).toEqual([]);
  });

  test('a proposal is refused in part, heard, taken over as one step, and taken back', {
    timeout: patience,
  }, async () => {
    const { id } = await madeChain(addPart(emptyChain, 'limiter'));
    const page = await open(id);
    await page.getByRole('button', { name: 'The difference to your references' }).click();
    const bands = page.locator('.proposed input[type="checkbox"]');
    await bands.first().waitFor({ timeout: patience });
    await page
      .getByText('1 reference can hardly say', { exact: false })
      .or(page.getByText('One reference can hardly say', { exact: false }))
      .waitFor();
    const many = await bands.count();
    expect(many).toBeGreaterThan(1);
    for (let i = 0; i < many; i++) await bands.nth(i).setChecked(i !== 0);
    expect((await chainNow(id)).step).toBe(0);
    await page.getByRole('button', { name: `Take over ${many - 1} change` }).click();
    await expect.poll(async () => (await chainNow(id)).step, { timeout: patience }).toBe(1);
    const { parts } = (await chainNow(id)).chain;
    // All but the first band: the others as one equaliser, and what is no band behind it.
    const whole = await bench.post<Proposal>(`/chains/${id}/proposals`, {
      from: 'references',
      setId: set.id,
    });
    expect(parts[0].settings.bands).toEqual(whole.bands.slice(1).map(({ band }) => band));
    expect(parts.map(({ kind }) => kind)).toEqual([
      'equaliser',
      ...whole.parts.map(({ kind }) => kind),
      'limiter',
    ]);
    await page.keyboard.press('Control+z');
    await expect.poll(async () => (await chainNow(id)).step, { timeout: patience }).toBe(0);
    expect(troubles).toEqual([]);
  });

  test('two windows: the other one is followed, and a change that came too late is told and can be made after all', {
    timeout: patience,
  }, async () => {
    const { id } = await madeChain();
    const page = await open(id);
    const change = async (gainDb: number) => {
      const { revision, chain } = await chainNow(id);
      const next = structuredClone(chain) as unknown as { parts: { settings: { gainDb: number } }[] };
      next.parts[1].settings.gainDb = gainDb;
      return bench.post<ChainDetail>(`/chains/${id}/chain`, { revision, chain: next }, 'PUT');
    };
    await change(5);
    await page.getByText('5.0 dB louder', { exact: false }).waitFor({ timeout: patience });

    // The request of this window waits until the other has made its change.
    let letGo = () => {};
    const held = new Promise<void>((resolve) => {
      letGo = resolve;
    });
    await page.route(`**/api/chains/${id}/chain`, async (route) => {
      await held;
      await route.continue();
    });
    const point = page.getByRole('slider', { name: 'Band 1' });
    await point.focus();
    await page.keyboard.press('Shift+ArrowDown');
    await change(6);
    letGo();
    await page
      .getByRole('alert')
      .getByText('changed in another window first', { exact: false })
      .waitFor({ timeout: patience });
    await page.getByText('6.0 dB louder', { exact: false }).waitFor({ timeout: patience });
    expect((await chainNow(id)).chain.parts[0].settings).toMatchObject({ bands: [{ gainDb: 4 }] });
    await page.getByRole('button', { name: 'Make my change after all' }).click();
    await expect
      .poll(async () => (await chainNow(id)).chain.parts[0].settings, { timeout: patience })
      .toMatchObject({ bands: [{ gainDb: 3 }] });
    // Nothing of the other window is lost: it is a step of its own.
    const { steps } = await bench.get<ChainSteps>(`/chains/${id}/steps`);
    expect(steps.map(({ words }) => words.join())).toContain('the limiter: gain 5 dB → 6 dB');
    // The browser itself writes a refused request on the console.
    expect(troubles.filter((each) => !each.includes('409'))).toEqual([]);
  });

  test('it is finished into a new version, with progress and a verdict', { timeout: patience }, async () => {
    const { id } = await madeChain();
    const page = await open(id);
    await page.getByRole('button', { name: 'Finish Slow Tide' }).click();
    await page.getByRole('link', { name: 'The verdict on it' }).waitFor({ timeout: patience });
    const { made } = await bench.get<Finishing>(`/versions/${mix.id}/finishing`);
    expect(made).toHaveLength(1);
    expect(made[0].chainId).toBe(id);
    expect(made[0].report.made.truePeakDbtp).toBeLessThanOrEqual(-1.98);
    expect(troubles).toEqual([]);
  });

  test('reads well in light and dark, at a desk and on a phone, for everyone', {
    timeout: patience,
  }, async () => {
    const whole = [
      'trim',
      'sub-filter',
      'width',
      'multiband',
      'compressor',
      'saturation',
      'fades',
      'dither',
    ] as const;
    const { id } = await madeChain(whole.reduce<Chain>((chain, kind) => addPart(chain, kind), start));
    for (const theme of ['light', 'dark'] as const) {
      const page = await open(id, { theme, width: theme === 'light' ? 1280 : 390 });
      for (const name of [/Equaliser/, /Width/, /Three-band/])
        await page.locator('.part-name', { hasText: name }).click();
      expect(await axeViolations(page)).toEqual([]);
      await page.locator('.part-name', { hasText: /Equaliser/ }).click();
      expect(await axeViolations(page)).toEqual([]);
      const over = await page.evaluate<number>(
        'document.documentElement.scrollWidth - document.documentElement.clientWidth',
      );
      expect(over).toBeLessThanOrEqual(0);
      expect(troubles).toEqual([]);
    }
  });
});
