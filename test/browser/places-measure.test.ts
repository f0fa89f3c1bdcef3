import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import { makeSweep, planSweep } from '../../src/places/sweep.ts';
import type { Measuring, PlaceEntry } from '../../src/server/places-api.ts';
import { seeded } from '../seeded-sound.ts';
import { axeViolations, browserPath, launchBrowser, openPage, RunningBench } from './page-support.ts';

const patience = 60_000;
const sampleRate = 48_000;
/** The place: everything above falls 6 dB an octave. */
const cornerHz = 2000;

/** The sweep as a microphone hears it through a dull loudspeaker, with noise. */
function heard(): Float32Array {
  const random = seeded(7);
  const decay = Math.exp((-2 * Math.PI * cornerHz) / sampleRate);
  const sweep = makeSweep(planSweep({ seconds: 5 }), sampleRate).channels[0]!;
  const samples = new Float32Array(sweep.length + 2 * sampleRate);
  samples.set(sweep, sampleRate);
  let low = 0;
  return samples.map((x) => {
    low += (1 - decay) * (x - low);
    return 0.8 * low + 5e-4 * (random() - 0.5);
  });
}

/** What that loudspeaker does, dB: the pole as it is in samples. */
function trueDb(hertz: number): number {
  const decay = Math.exp((-2 * Math.PI * cornerHz) / sampleRate);
  const w = (2 * Math.PI * hertz) / sampleRate;
  return 20 * Math.log10((1 - decay) / Math.hypot(1 - decay * Math.cos(w), decay * Math.sin(w)));
}

describe.skipIf(!browserPath)('measuring a place on the page', () => {
  let bench: RunningBench;
  let browser: Browser;
  let folder: string;

  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'everyroom-microphone-'));
    const microphone = join(folder, 'microphone.wav');
    await writeWav(microphone, { sampleRate, channels: [heard()] }, { sampleFormat: 's16' });
    [bench, browser] = await Promise.all([
      RunningBench.start(),
      launchBrowser([
        '--use-fake-ui-for-media-stream',
        '--use-fake-device-for-media-stream',
        `--use-file-for-fake-audio-capture=${microphone}`,
      ]),
    ]);
  });
  afterAll(async () => {
    await browser?.close();
    await bench?.remove();
    await rm(folder, { recursive: true, force: true });
  });

  test('a sweep is played and recorded in the browser, measured, and made into a place', async () => {
    const { page, troubles } = await openPage(browser, `${bench.url}/places`);
    await page.getByRole('link', { name: 'Measure a place of your own' }).click();
    const go = page.getByRole('button', { name: 'Play the sweep and record it' });
    await go.waitFor();
    // Nothing sounds before the cautions were read.
    expect(await go.isDisabled()).toBe(true);
    await page.getByRole('checkbox', { name: /^I have read this/ }).press('Space');
    await page.getByLabel('Length').selectOption('5');
    await expect.poll(() => go.isEnabled()).toBe(true);
    await go.press('Enter');
    await page.locator('[data-recorder="recording"]').waitFor();
    await page.waitForURL(/\/places\/measure\/./, { timeout: patience });
    const sure = page.locator('[data-measured="sure"]');
    await sure.waitFor({ timeout: patience });

    const id = new URL(page.url()).pathname.split('/').at(-1);
    const { measured } = await bench.get<Measuring>(`/places/measurings/${id}`);
    const { bands, sureBands } = measured!;
    expect(await sure.textContent()).toBe(`${sureBands} of ${bands.length} bands`);
    await page.getByRole('heading', { level: 1, name: measured!.sentences[0]!, exact: true }).waitFor();
    // The browser gave the sound as it is: what was measured is the loudspeaker, but for one level throughout.
    const errors = bands
      .filter((band) => band.sure && band.centreHz > 60 && band.centreHz < 12_000)
      .map(({ db, centreHz }) => db! - trueDb(centreHz));
    expect(errors.length).toBeGreaterThan(20);
    const middle = errors.toSorted((a, b) => a - b)[Math.floor(errors.length / 2)]!;
    for (const error of errors) expect(Math.abs(error - middle)).toBeLessThan(1);
    expect(await axeViolations(page)).toEqual([]);

    const make = page.getByRole('button', { name: 'Make a place of it' });
    await make.click();
    await page.getByText('It needs a name.').waitFor();
    await page.getByRole('textbox', { name: 'Name of the place' }).fill('The dull box');
    await page.getByLabel('Loudspeakers').selectOption('mono');
    await page.getByRole('textbox', { name: 'Noise there' }).fill('47');
    await make.press('Enter');
    await page.getByRole('heading', { level: 1, name: 'The dull box' }).waitFor();
    const placeId = new URL(page.url()).pathname.split('/').at(-1);
    const { place, builtIn } = await bench.get<PlaceEntry>(`/places/${placeId}`);
    expect(builtIn).toBe(false);
    expect(place.layout).toEqual({ kind: 'mono' });
    expect(place.noise?.levelDba).toBe(47);
    expect(troubles).toEqual([]);
  });

  test('a recording without the sweep says so and what to do', async () => {
    const { page } = await openPage(browser, `${bench.url}/places/measure`);
    const other = join(folder, 'other.wav');
    const random = seeded(3);
    const hiss = Float32Array.from({ length: 6 * sampleRate }, () => 0.1 * (random() - 0.5));
    await writeWav(other, { sampleRate, channels: [hiss] }, { sampleFormat: 's16' });
    await page.getByLabel('Recording file').setInputFiles(other);
    await page.waitForURL(/\/places\/measure\/./, { timeout: patience });
    const id = new URL(page.url()).pathname.split('/').at(-1);
    await expect
      .poll(async () => (await bench.get<Measuring>(`/places/measurings/${id}`)).state, { timeout: patience })
      .toBe('failed');
    const { error } = await bench.get<Measuring>(`/places/measurings/${id}`);
    await page.getByRole('heading', { level: 1, name: error!.message, exact: true }).waitFor();
    await page.getByRole('link', { name: 'Record it again' }).waitFor();
  });
});
