import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, test } from 'vitest';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import type { Pcm } from '../../src/audio/pcm.ts';
import { addPart, emptyChain } from '../../src/finish/chain.ts';
import { renderChain } from '../../src/finish/render.ts';
import { builtInPlaces } from '../../src/places/built-in-places.ts';
import { PlaceProcessor } from '../../src/places/place-processor.ts';
import type { DeskSong } from '../../src/server/desk-api.ts';
import type { ReferenceSet } from '../../src/server/keeping-api.ts';
import { seededMix } from '../seeded-sound.ts';
import { deskSong, playThrough, servePlayer, withPlayer } from './desk-sound-support.ts';
import { axeViolations, browserPath, launchBrowser, openPage, RunningBench } from './page-support.ts';

const patience = 60_000;
const rate = 44_100;
const highest = (samples: Float32Array) => samples.reduce((most, x) => Math.max(most, Math.abs(x)), 0);

describe.skipIf(!browserPath)('the desk elsewhere: in places, through chains', () => {
  let bench: RunningBench;
  let browser: Browser;
  let served: Awaited<ReturnType<typeof servePlayer>>;
  let song: DeskSong & { seconds: number };
  let page: Page;
  let troubles: string[] = [];
  const mix = seededMix(11, { sideDb: -9, seconds: 5, sampleRate: rate });

  const open = async (path: string, at = bench.url) => {
    ({ page, troubles } = await openPage(browser, at + path));
  };
  const heard = (text: string | RegExp) =>
    page.locator('.heard-line', { hasText: text }).waitFor({ timeout: patience });
  const position = async () => {
    const [minutes, seconds] = ((await page.locator('[data-position]').textContent()) ?? '').split(':');
    return Number(minutes) * 60 + Number(seconds);
  };

  beforeAll(async () => {
    [bench, browser] = await Promise.all([RunningBench.start(), launchBrowser()]);
    served = await servePlayer(bench);
    const bring = async (name: string, kind: string, pcm: Pcm) => {
      const path = join(bench.folder, name);
      await writeWav(path, pcm, { sampleFormat: 'f32' });
      return bench.bringIn(path, { lossy: false, kind });
    };
    const version = await bring('Mix.wav', 'mix', mix);
    const reference = await bring(
      'A record one knows.wav',
      'reference',
      seededMix(5, { sideDb: -6, seconds: 5, sampleRate: rate }),
    );
    const set = await bench.post<ReferenceSet>('/sets', { name: 'Evening' });
    await bench.post(`/sets/${set.id}/members/${reference.id}`, {}, 'PUT');
    await bench.post('/desk/level', { cautionRead: true }, 'PUT');
    song = await deskSong(bench, version.songId);
  }, patience);
  afterAll(async () => {
    await browser?.close();
    await served?.[Symbol.asyncDispose]();
    await bench?.remove();
  });
  afterEach(async () => {
    await Promise.all(browser.contexts().map((context) => context.close()));
    expect(troubles, 'errors in the browser’s console').toEqual([]);
  });

  test('chains and a place are what is rendered offline, within 1e-6, wherever a block of the device begins', async () => {
    await open('/', served.url);
    await withPlayer(page);
    const full = [
      ['sub-filter', {}],
      [
        'equaliser',
        {
          bands: [
            { hertz: 300, gainDb: -3 },
            { shape: 'tilt', gainDb: 1, phase: 'linear' },
          ],
        },
      ],
      ['multiband', { low: { ratio: 2, thresholdDbfs: -24 } }],
      ['compressor', { ratio: 3, thresholdDbfs: -24, releaseBy: 'programme' }],
      ['saturation', { mixPercent: 50 }],
      ['limiter', { gainDb: 6 }],
    ] as const;
    const chain = full.reduce((made, [kind, settings]) => addPart(made, kind, settings), emptyChain);
    const pcm: Pcm = {
      sampleRate: rate,
      channels: mix.channels.map((samples) => samples.slice(0, 3 * rate)),
    };
    const rendered: Float32Array[][] = [[], []];
    for await (const { channels } of renderChain(chain, [pcm], { name: 'the mix', frames: 3 * rate }))
      channels.forEach((samples, c) => {
        rendered[c].push(samples);
      });
    const offline = rendered.map((blocks) => Float32Array.from(blocks.flatMap((block) => [...block])));
    const both = { song, rate, seconds: 2.5, chains: { chain }, gains: { chain: -6 } };
    const gain = 10 ** (-6 / 20);
    const fade = Math.round(0.01 * rate);
    const apart = (
      out: readonly Float32Array[],
      expected: readonly Float32Array[],
      from: number,
      to: number,
    ) => {
      const begin = out[0].findIndex((x) => x !== 0);
      const first = expected[0].findIndex((x) => x !== 0);
      let most = 0;
      for (const [c, samples] of out.entries())
        for (let i = from; i < to; i++)
          most = Math.max(most, Math.abs(samples[begin + i] - gain * expected[c][first + i]));
      return most;
    };
    // From the song's beginning it is the same run; the latency (5120 samples and more) is taken out.
    const heard = await playThrough(page, { ...both, chosen: 'chain' });
    expect(highest(heard.left)).toBeGreaterThan(0.2);
    expect(apart([heard.left, heard.right], offline, fade, 1.5 * rate)).toBeLessThan(1e-6);

    // A place in noise, at an odd frame: it has settled when it is heard, and its noise is that of the processor.
    const settings = {
      fullScaleDb: 80,
      playedOn: 'headphones',
      monitorFullScaleDb: null,
      noise: false,
    } as const;
    const place = builtInPlaces.find(({ id }) => id === 'living-room')!;
    const processor = new PlaceProcessor(place, settings, rate);
    const placed = mix.channels.map((samples) => samples.slice());
    processor.process(placed[0], placed[1], placed[0], placed[1]);
    for (const start of [1, 1 + 77 / rate]) {
      const live = await playThrough(page, {
        ...both,
        seconds: 1.5,
        start,
        chosen: song.baseVersionId,
        gains: {},
        place: { place, settings, gainDb: -6 },
        acts: [[0.9, 'setNoise', false]],
      });
      // It comes up from nothing: the first sample is still 0.
      const began = live.left.findIndex((x) => x !== 0) - 1;
      const [{ frame, position }] = live.told;
      // Where it stands is what it says, but for the block of the report.
      const at = Math.round(start * rate);
      expect(Math.abs(position * rate - at - (frame - began))).toBeLessThan(4096);
      let most = 0;
      for (const [c, samples] of [live.left, live.right].entries())
        for (let i = fade + 1; i < 0.5 * rate; i++)
          most = Math.max(
            most,
            Math.abs(samples[began + i] - gain * placed[c][at + i + processor.latencyFrames]),
          );
      expect(most).toBeLessThan(1e-6);
    }
  });

  test('a place is heard by keys and by address, with the references in step, said and remembered', async () => {
    await open(`/songs/${song.songId}/desk`);
    await page.locator('.desk-wave canvas').waitFor();
    await page.locator('[data-matched]', { hasText: 'that of the quietest' }).waitFor();
    await page
      .getByRole('button', { name: /A record one knows/ })
      .first()
      .waitFor();
    const press = (key: string) => page.keyboard.press(key);
    const words = page.locator('[data-live-place]');
    await words.filter({ hasText: 'as it is' }).waitFor();
    await press('e');
    await heard('Mix.wav: as in: Small car, parked');
    // Not calibrated: what is assumed is said.
    await words.filter({ hasText: 'has not been found out: it is taken to play 70 dB(A)' }).waitFor();
    await press('r');
    await heard('as in: Good studio');
    await press('r');
    await press('g');
    await heard('as in: Small car at 50 km/h');
    await press('t');
    expect(await page.getByRole('radio', { name: /^loud,/ }).isChecked()).toBe(true);
    // Louder than the desk is taken to be: held there, and said.
    await words.filter({ hasText: 'more than your desk plays now' }).waitFor();
    await press('t');
    await press('h');
    await words.filter({ hasText: 'in noise of' }).waitFor();
    await press('2');
    await heard(/A record one knows.*: as in: Small car at 50/);
    await press('Space');
    await page.locator('[data-player="playing"]').waitFor({ timeout: patience });
    await expect.poll(() => position()).toBeGreaterThan(0.3);
    await press('1');
    await press('Space');
    await page.locator('[data-player="stopped"]').waitFor();
    expect(await axeViolations(page)).toEqual([]);

    await page.goto(`${bench.url}/songs/${song.songId}/desk?place=phone&placeLevelDba=58`);
    await heard('as in: Phone loudspeaker');
    expect(await page.getByLabel('Level of my own, dB(A)').inputValue()).toBe('58');
    await press('e');
    await words.filter({ hasText: 'as it is' }).waitFor();
    await page.goto(`${bench.url}/songs/${song.songId}/desk`);
    await page.locator('.desk-wave canvas').waitFor();
    // Remembered, but nobody finds himself in it.
    expect(await page.locator('.place-panel select').inputValue()).toBe('car-50');
    await words.filter({ hasText: 'as it is' }).waitFor();
  });
});
