import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import { type Pcm, slicePcm } from '../../src/audio/pcm.ts';
import { confirmDelay } from '../../src/compare/align.ts';
import type { Survival, SurviveRequest } from '../../src/server/api.ts';
import { music } from '../integration/server-support.ts';
import { browserPath, launchBrowser, openPage, RunningBench } from './page-support.ts';

const patience = 60_000;
const formatId = 'aac-96';
const label = 'AAC 96';
/** The loop as the page makes it; rendered on until the fade of the beginning has come round. */
const loopSeconds = 4;
const settledSeconds = 0.1;
const heardSeconds = loopSeconds + settledSeconds;

interface Heard {
  readonly pcm: Pcm;
  /** What the page says that it plays. */
  readonly status: string;
  readonly levels: string;
}

describe.skipIf(!browserPath)('what the screen of lossy coding plays', () => {
  let bench: RunningBench;
  let browser: Browser;
  let id: string;
  const song = music(8);

  beforeAll(async () => {
    [bench, browser] = await Promise.all([RunningBench.start(), launchBrowser()]);
    const path = join(bench.folder, 'Loud one.wav');
    await writeWav(path, song, { sampleFormat: 'f32' });
    id = (await bench.bringIn(path, { lossy: false })).id;
    const request: SurviveRequest = { formatIds: [formatId], limitDbtp: 0 };
    await bench.post(`/versions/${id}/survive`, request);
  });
  afterAll(async () => {
    await browser?.close();
    await bench?.remove();
  });

  /** Presses play in the page, as a person does, and takes what its player sends to the loudspeaker. */
  async function listen(part: 'Original' | 'Decoded' | 'Difference', match: boolean): Promise<Heard> {
    const { page, troubles } = await openPage(browser, `${bench.url}/versions/${id}/survive`);
    // A context that renders when it is told to: the same nodes, and no sample lost on a busy machine.
    await page.evaluate(`globalThis.AudioContext = function ({ sampleRate }) {
      const context = new OfflineAudioContext(2, ${heardSeconds} * sampleRate, sampleRate);
      context.resume = context.close = () => Promise.resolve();
      globalThis.played = context;
      return context;
    }`);
    const group = page.getByRole('group', { name: `Listen to ${label}` });
    if (match) await group.getByRole('checkbox', { name: 'Match the decoded level' }).press('Space');
    await group.focus();
    await page.keyboard.press({ Original: 'o', Decoded: 'd', Difference: 'x' }[part]);
    await group.getByRole('button', { name: 'Play the loop' }).click();
    const status = page.locator(`[data-listening="${part.toLowerCase()}"]`);
    await status.waitFor({ timeout: patience });
    const words = await status.textContent();
    const levels = await page.locator('[data-level-note]').textContent();
    const pcm = await rendered(page);
    expect(troubles).toEqual([]);
    await page.context().close();
    return { pcm, status: words ?? '', levels: levels ?? '' };
  }

  test('is the song at its place, the decoded sound over it, and their difference, at the levels that it tells', async () => {
    await expect
      .poll(async () => (await bench.get<Survival>(`/versions/${id}/survive`)).job?.state, {
        timeout: patience,
      })
      .toBe('done');
    const original = await listen('Original', true);
    const decoded = await listen('Decoded', true);
    const difference = await listen('Difference', true);
    const { levels } = original;
    const down = Number(/turned down by ([\d.]+) dB,/.exec(levels)?.[1] ?? 0);
    const raised = Number(/raised by (\d+) dB above that/.exec(levels)?.[1]);
    expect(raised).toBeGreaterThan(0);
    expect(decoded.levels).toBe(levels);
    expect(difference.levels).toBe(levels);

    // The original: the file's own samples at the place that is told, at the gain that is told.
    const [, minutes, seconds] = /(\d+):([\d.]+) to/.exec(original.status)!;
    const told = Math.round((60 * Number(minutes) + Number(seconds)) * song.sampleRate);
    const source = slicePcm(song, told, told + heardSeconds * song.sampleRate);
    const place = confirmDelay(beforeSeam(source), beforeSeam(original.pcm), 0);
    // Shown to a tenth of a second.
    const late = Math.round(place!.delaySamples);
    expect(Math.abs(late)).toBeLessThanOrEqual(0.1 * song.sampleRate);
    const gain = 10 ** (-down / 20);
    const from = settled(song);
    const own = original.pcm.channels[0];
    for (let i = from; i < loopSeconds * song.sampleRate; i += 97)
      expect(own[i]).toBeCloseTo(gain * song.channels[0][told - late + i], 5);

    // The decoded sound: at the original's level and place.
    expect(confirmDelay(beforeSeam(original.pcm), beforeSeam(decoded.pcm), 0)!.delaySamples).toBeCloseTo(
      0,
      1,
    );
    const [common, power] = [
      product(loop(original.pcm), loop(decoded.pcm)),
      product(loop(decoded.pcm), loop(decoded.pcm)),
    ];
    expect(Math.abs(20 * Math.log10(common / power))).toBeLessThan(0.005);

    // The difference: decoded minus original, raised as told.
    const up = 10 ** (raised / 20);
    for (let i = from; i < own.length; i += 97)
      expect(difference.pcm.channels[0][i] / up).toBeCloseTo(decoded.pcm.channels[0][i] - own[i], 5);
  });
});

/** After the fade of the beginning and the seam that the loop folds in. */
function settled({ sampleRate }: Pcm): number {
  return Math.round(settledSeconds * sampleRate);
}

/** Once round, from where it has settled. */
function loop(pcm: Pcm): Pcm {
  return slicePcm(pcm, settled(pcm), settled(pcm) + loopSeconds * pcm.sampleRate);
}

function beforeSeam(pcm: Pcm): Pcm {
  return slicePcm(pcm, settled(pcm), loopSeconds * pcm.sampleRate);
}

function product(a: Pcm, b: Pcm): number {
  return a.channels.reduce(
    (sum, samples, c) => samples.reduce((total, x, i) => total + x * b.channels[c][i], sum),
    0,
  );
}

async function rendered(page: Page): Promise<Pcm> {
  const { sampleRate, channels } = await page.evaluate<{
    sampleRate: number;
    channels: string[];
  }>(`(async () => {
    const sound = await globalThis.played.startRendering();
    const base64 = (floats) => {
      const bytes = new Uint8Array(floats.buffer);
      let text = '';
      for (let i = 0; i < bytes.length; i += 8192) text += String.fromCharCode(...bytes.subarray(i, i + 8192));
      return btoa(text);
    };
    return {
      sampleRate: sound.sampleRate,
      channels: [0, 1].map((c) => base64(sound.getChannelData(c).slice())),
    };
  })()`);
  return {
    sampleRate,
    channels: channels.map((text) => new Float32Array(Uint8Array.from(Buffer.from(text, 'base64')).buffer)),
  };
}
