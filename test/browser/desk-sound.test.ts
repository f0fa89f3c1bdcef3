import { spawnSync } from 'node:child_process';
import { readdir, rename, rm } from 'node:fs/promises';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, test } from 'vitest';
import { writeWav } from '../../src/audio/files/write-sound.ts';
import type { Pcm } from '../../src/audio/pcm.ts';
import { measureSound } from '../../src/measure/measure-sound.ts';
import type { DeskSong, Match } from '../../src/server/desk-api.ts';
import { plainHearing } from '../../web/desk/desk-player.ts';
import { outside } from '../outside.ts';
import { seeded, seededMix } from '../seeded-sound.ts';
import { bringVersion, deskSong, playThrough, servePlayer, withPlayer } from './desk-sound-support.ts';
import { browserPath, launchBrowser, openPage, RunningBench } from './page-support.ts';

const ffmpeg = outside('ffmpeg');
const rate = 44_100;
const songSeconds = 14;
/** Frames that the second version has before the song begins. */
const late = 1234;

const scaled = ({ sampleRate, channels }: Pcm, gain: number, ahead = 0): Pcm => ({
  sampleRate,
  channels: channels.map((samples) => {
    const moved = new Float32Array(samples.length + ahead);
    moved.set(
      samples.map((x) => x * gain),
      ahead,
    );
    return moved;
  }),
});
/** Bent as a limiter bends: louder, and another sound than the mix. */
const pressed = ({ sampleRate, channels }: Pcm): Pcm => ({
  sampleRate,
  channels: channels.map((samples) => samples.map((x) => Math.tanh(3 * x))),
});
const largestStep = (samples: Float32Array) =>
  samples.reduce((most, x, i) => (i > 0 ? Math.max(most, Math.abs(x - samples[i - 1])) : most), 0);
const highest = (samples: Float32Array) => samples.reduce((most, x) => Math.max(most, Math.abs(x)), 0);

describe.skipIf(!browserPath)('the sound of the desk, in the browser', () => {
  let bench: RunningBench;
  let browser: Browser;
  let served: Awaited<ReturnType<typeof servePlayer>>;
  let page: Page;
  let troubles: string[];
  let song: DeskSong & { seconds: number };
  /** What lies in the versions, on the song's timeline, from its beginning. */
  const sounds = new Map<string, readonly Float32Array[]>();

  beforeAll(async () => {
    [bench, browser] = await Promise.all([RunningBench.start(), launchBrowser()]);
    served = await servePlayer(bench);
    const mix = seededMix(11, { sideDb: -9, seconds: songSeconds, sampleRate: rate });
    const versions = [
      { name: 'Late and soft', pcm: scaled(mix, 0.5, late), heard: scaled(mix, 0.5) },
      { name: 'Pressed', pcm: pressed(mix), heard: pressed(mix) },
      // The newest is the base.
      { name: 'Mix', pcm: mix, heard: mix },
    ];
    let songId: string | undefined;
    for (const { name, pcm, heard } of versions) {
      const path = join(bench.folder, `${name}.wav`);
      await writeWav(path, pcm, { sampleFormat: 'f32' });
      const version = await bringVersion(bench, path, songId);
      songId = version.songId;
      sounds.set(version.id, heard.channels);
    }
    song = await deskSong(bench, songId!);
  });
  afterAll(async () => {
    await browser?.close();
    await served?.[Symbol.asyncDispose]();
    await bench?.remove();
  });
  const open = async () => {
    const opened = await openPage(browser, served.url);
    troubles = opened.troubles;
    page = opened.page;
    await withPlayer(page);
  };
  afterEach(async () => {
    await Promise.all(browser.contexts().map((context) => context.close()));
  });

  const matched = async (startSeconds: number, endSeconds: number): Promise<Record<string, number>> => {
    const parts = song.sources.map(({ versionId, offsetSeconds }) => ({
      versionId,
      startSeconds: startSeconds + offsetSeconds,
      endSeconds: endSeconds + offsetSeconds,
    }));
    const answer = await fetch(`${bench.url}/api/desk/match`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ parts }),
    });
    const match = (await answer.json()) as Match;
    return Object.fromEntries(match.parts.map(({ versionId, gainDb }) => [versionId, gainDb]));
  };
  const idOf = (name: string) => song.sources.find((source) => source.name.startsWith(name))!.versionId;

  test('versions are laid on the newest, to the sample', () => {
    expect(song.baseVersionId).toBe(idOf('Mix'));
    const placed = song.sources.map(({ name, aligned, offsetSeconds, driftPpm }) => ({
      name: name.replace('.wav', ''),
      aligned,
      frames: offsetSeconds * rate,
      driftPpm,
    }));
    expect(placed).toEqual([
      { name: 'Late and soft', aligned: 'aligned', frames: expect.closeTo(late, 6), driftPpm: 0 },
      { name: 'Pressed', aligned: 'aligned', frames: expect.closeTo(0, 6), driftPpm: 0 },
      { name: 'Mix', aligned: 'itself', frames: 0, driftPpm: 0 },
    ]);
  });

  test('200 switches: no gap, no step, every sample in its place', async () => {
    await open();
    const random = seeded(3);
    const ids = [...sounds.keys()];
    const gains = await matched(0, songSeconds);
    const acts: [number, string, string][] = [];
    for (let at = 0.7; acts.length < 200; at += 0.035 + 0.04 * random())
      acts.push([at, 'choose', ids[Math.floor(random() * ids.length)]]);
    const start = 1;
    const { left, right, told, state, trouble } = await playThrough(page, {
      song,
      rate,
      seconds: 12.9,
      start,
      chosen: ids[0],
      gains,
      acts,
    });
    expect([state, trouble, troubles]).toEqual(['playing', null, []]);
    // When it began: the first frame that is heard.
    const begin = left.findIndex((x) => x !== 0);
    const song0 = start * rate - begin;
    const expected = (id: string, channel: number, frame: number) =>
      10 ** (gains[id] / 20) * sounds.get(id)![channel][frame + song0];
    const fade = Math.round(0.01 * rate);
    const steps = [left, right].map((_, c) =>
      Math.max(
        ...ids.map((id) =>
          largestStep(
            sounds
              .get(id)!
              [c].subarray(rate, 14 * rate)
              .map((x) => x * 10 ** (gains[id] / 20)),
          ),
        ),
      ),
    );
    const peak = Math.max(...ids.map((id) => highest(sounds.get(id)![0]) * 10 ** (gains[id] / 20)));
    for (const [c, samples] of [left, right].entries())
      expect(largestStep(samples)).toBeLessThan(steps[c] + (2 * peak * Math.PI) / 2 / fade);
    // Between switches each sample is the chosen version's at that place of the song.
    let apart = 0;
    let looked = 0;
    for (const [k, [, , id]] of acts.entries()) {
      // Room for the fade, after one that may be under way.
      const from = told[k].heeded + 3 * fade;
      const to = told[k + 1]?.frame ?? left.length;
      for (let i = from; i < to; i++) {
        apart = Math.max(
          apart,
          Math.abs(left[i] - expected(id, 0, i)),
          Math.abs(right[i] - expected(id, 1, i)),
        );
        looked++;
      }
    }
    expect(looked).toBeGreaterThan(200 * 400);
    expect(apart).toBeLessThan(1e-6);
  });

  test.skipIf(!ffmpeg)('matched versions are equally loud, by our meter and by ffmpeg', async () => {
    await open();
    const [from, to] = [3, 9];
    const gains = await matched(from, to);
    const found: { ours: number; ffmpeg: number }[] = [];
    for (const { versionId } of song.sources) {
      const { left, right } = await playThrough(page, {
        song,
        rate: 48_000,
        seconds: to - from + 0.7,
        start: from,
        chosen: versionId,
        gains,
      });
      const begin = left.findIndex((x) => x !== 0);
      const part = (samples: Float32Array) => samples.slice(begin, begin + (to - from) * 48_000);
      const pcm: Pcm = { sampleRate: 48_000, channels: [part(left), part(right)] };
      const { loudness } = await measureSound([pcm], { sampleRate: 48_000, channels: 2, frames: null });
      const path = join(bench.folder, `${versionId}.wav`);
      await writeWav(path, pcm, { sampleFormat: 'f32' });
      found.push({ ours: loudness.integratedLufs!, ffmpeg: ffmpegLoudness(path) });
    }
    for (const meter of ['ours', 'ffmpeg'] as const) {
      const values = found.map((figures) => figures[meter]);
      expect(Math.max(...values) - Math.min(...values), `${meter}: ${values}`).toBeLessThan(0.1);
    }
    expect(Math.min(...Object.values(gains))).toBeLessThan(-3);
    expect(Math.max(...Object.values(gains))).toBe(0);
  });

  test.for([rate, 48_000])(
    'the difference of a version and its late, soft copy is silence at %i Hz',
    async (at) => {
      await open();
      const gains = { [idOf('Mix')]: 20 * Math.log10(0.5) };
      const both = { song, rate: at, seconds: 1.5, start: 3, chosen: idOf('Mix'), gains };
      const heard = await playThrough(page, both);
      const nulled = await playThrough(page, {
        ...both,
        hearing: { ...plainHearing, minus: idOf('Late') },
      });
      const level = highest(heard.left);
      expect(level).toBeGreaterThan(0.1);
      expect(
        20 * Math.log10(Math.max(highest(nulled.left), highest(nulled.right), 1e-12) / level),
      ).toBeLessThan(-120);
    },
  );

  test('memory stays flat over 500 switches of five four-minute songs', async () => {
    await open();
    await page.evaluate('soundFromNowhere(240)');
    const long = {
      baseVersionId: 'v0',
      seconds: 240,
      sources: Array.from({ length: 5 }, (_, i) => ({ versionId: `v${i}` })),
    } as unknown as typeof song;
    const random = seeded(9);
    const session = await page.context().newCDPSession(page);
    const heapAfter = async (switches: number) => {
      const acts = Array.from({ length: switches }, (_, k) => [0.7 + 0.03 * k, 'choose', `v${k % 5}`]);
      for (let k = 0; k < switches; k += 25) acts.push([0.71 + 0.03 * k, 'seek', 230 * random()]);
      const seconds = 0.8 + 0.03 * switches;
      await page.evaluate(`(async () => {
        chunkBytes.length = 0;
        await playThrough(${JSON.stringify({ song: long, rate: 48_000, seconds, chosen: 'v0', acts })});
      })()`);
      await session.send('HeapProfiler.collectGarbage');
      const { usedSize } = await session.send('Runtime.getHeapUsage');
      return usedSize;
    };
    const before = await heapAfter(100);
    const after = await heapAfter(500);
    expect(after - before).toBeLessThan(1_000_000);
    const rooms = await page.evaluate<number[]>('chunkBytes.filter((bytes) => bytes > 0)');
    // The same from the first report to the last, and no more than fifteen seconds of each song.
    expect(new Set(rooms).size).toBe(1);
    expect(rooms[0]).toBeLessThan(5 * 15 * 48_000 * 8);
    expect(rooms.length).toBeGreaterThan(100);
  });

  /** Opens the song in real time and plays the base. */
  const playing = async () => {
    await open();
    await page.evaluate(`(async () => {
      const song = ${JSON.stringify(song)};
      globalThis.states = [];
      globalThis.player = openDeskPlayer();
      player.subscribe(() => {
        if (states.at(-1)?.state !== player.state.state || states.at(-1)?.trouble !== player.state.trouble)
          states.push({ state: player.state.state, trouble: player.state.trouble, at: player.state.positionSeconds });
      });
      player.setSources(sourcesOf(song), song.seconds);
      player.choose(song.baseVersionId);
      player.setLoop({ startSeconds: 0, endSeconds: 13 });
      await player.play();
    })()`);
    await until(`player.state.state === 'playing'`);
  };
  // Polled from here: the page's own policy forbids code in strings.
  const until = (condition: string) =>
    expect.poll(() => page.evaluate(condition), { timeout: 60_000, interval: 20 }).toBe(true);
  const state = () =>
    page.evaluate<{ state: string; trouble: string | null; position: number; ready: string[] }>(
      `({ ...player.state, ready: [...player.state.ready], position: player.position() })`,
    );

  test('the first sound comes after loading, and the position moves on with it', async () => {
    await playing();
    const states = await page.evaluate<{ state: string }[]>('states');
    expect(states.map(({ state }) => state).filter((name, i, all) => all.indexOf(name) === i)).toEqual(
      expect.arrayContaining(['loading', 'playing']),
    );
    await until('player.position() > 0.5');
    expect(await page.evaluate(`(player.seek(6), player.position())`)).toBe(6);
    await until('player.position() > 6.2 && player.position() < 8');
    await page.evaluate(`player.pause()`);
    await until(`player.state.state === 'stopped'`);
    const { seconds } = await page.evaluate<{ seconds: number }>('player.takeExposure()');
    expect(seconds).toBeGreaterThan(0.5);
  });

  test('a file that is gone is named; the others play', async () => {
    const gone = song.sources[1];
    const { sha256 } = await bench.get<{ sha256: string }>(`/versions/${gone.versionId}`);
    const file = join(bench.folder, 'home', 'audio', sha256.slice(0, 2), sha256);
    const playback = join(bench.folder, 'home', 'playback');
    await rename(file, `${file}.away`);
    for (const name of await readdir(playback)) if (name.startsWith(sha256)) await rm(join(playback, name));
    try {
      await playing();
      await until('player.state.trouble !== null');
      expect(await state()).toMatchObject({
        state: 'playing',
        trouble: 'The file of “Pressed.wav” is no longer on the disk.',
      });
      await page.evaluate(`player.choose('${gone.versionId}'); player.seek(9)`);
      await until(`player.state.state === 'failed'`);
      await page.evaluate(`player.choose('${idOf('Late')}')`);
      await until(`player.state.state === 'playing'`);
      expect((await state()).position).toBeGreaterThan(8.9);
    } finally {
      await rename(`${file}.away`, file);
    }
    troubles.length = 0;
  });

  test('a device that goes away: said, the position kept, playing resumed on the next one', async () => {
    await page?.close().catch(() => {});
    await open();
    await page.evaluate(`(() => {
      const Real = AudioContext;
      globalThis.contexts = [];
      globalThis.AudioContext = class extends Real {
        constructor(options) {
          if (globalThis.noDevice) throw new DOMException('no device', 'NotSupportedError');
          super(options);
          contexts.push(this);
        }
      };
      globalThis.noDevice = true;
      const song = ${JSON.stringify(song)};
      globalThis.player = openDeskPlayer();
      player.setSources(sourcesOf(song), song.seconds);
      player.seek(5);
      void player.play();
    })()`);
    await until(`player.state.state === 'failed'`);
    expect((await state()).trouble).toMatch(/no sound device/);
    const plugIn = `globalThis.noDevice = false; navigator.mediaDevices.dispatchEvent(new Event('devicechange'))`;
    await page.evaluate(plugIn);
    await until(`player.state.state === 'playing' && player.position() > 5.3`);
    await page.evaluate(`globalThis.noDevice = true; contexts.at(-1).dispatchEvent(new Event('error'))`);
    await until(`player.state.state === 'failed'`);
    const kept = await state();
    expect(kept.trouble).toMatch(/device is gone/);
    expect(kept.position).toBeGreaterThan(5.2);
    await page.evaluate(plugIn);
    await until(`player.state.state === 'playing'`);
    expect((await state()).position).toBeGreaterThan(kept.position - 0.3);
    expect((await state()).trouble).toBeNull();
  });
});

function ffmpegLoudness(path: string): number {
  const { stderr } = spawnSync('ffmpeg', ['-nostats', '-i', path, '-af', 'ebur128', '-f', 'null', '-'], {
    encoding: 'utf8',
  });
  return Number(/Summary:[\s\S]*I:\s+(-?[\d.]+) LUFS/.exec(stderr)![1]);
}
