import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Pcm } from '../../src/audio/pcm.ts';
import { amplitudeToDb } from '../../src/signal/decibels.ts';
import { kWeighting } from '../../src/signal/k-weighting.ts';
import { outside } from '../outside.ts';
import { inAll, measure, musicLike, sweep, whiteNoise } from './loudness-signals.ts';

const ffmpeg = outside('ffmpeg');
const gcc = outside('gcc');
const header = ['/usr/include/ebur128.h', '/usr/local/include/ebur128.h'].some(existsSync);
if (!header)
  process.stderr.write('left out: checks against libebur128, whose header is not installed here\n');

const rates = [22050, 32000, 44100, 48000, 88200, 96000, 176400, 192000];

const signals: Record<string, (rate: number) => Pcm> = {
  noise: (rate) => ({
    sampleRate: rate,
    channels: [whiteNoise(rate, rate * 5, 0.3), whiteNoise(rate + 1, rate * 5, 0.1)],
  }),
  sweep: (rate) => inAll(sweep(rate * 6, rate, 20, 0.45 * rate, 0.5), 2, rate),
  'something like music': (rate) => musicLike(7, 8, rate),
};

/** Tones so low that even a coarse grid between samples misses less than 0.1 dB of them, faded in and out. */
function lowTones(rate: number): Pcm {
  const samples = Float32Array.from({ length: rate }, (_, n) => {
    const fade = Math.min(1, (20 * n) / rate, (20 * (rate - 1 - n)) / rate);
    return [0.011, 0.023, 0.037].reduce(
      (sum, cycles) => sum + 0.3 * fade * Math.sin(2 * Math.PI * cycles * n),
      0,
    );
  });
  return inAll(samples, 2, rate);
}

function levelSteps(rate: number): Pcm {
  const levels = [0.02, 0.2, 0.07, 0.4, 0.1, 0.3];
  const noise = whiteNoise(3, rate * 6 * levels.length, 1);
  return inAll(
    noise.map((x, n) => x * levels[Math.floor(n / (rate * 6))]),
    2,
    rate,
  );
}

const cases = rates.flatMap((rate) => Object.keys(signals).map((name) => [name, rate] as const));

let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'everyroom-loudness-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function interleavedFile(pcm: Pcm): string {
  const count = pcm.channels.length;
  const samples = new Float32Array(pcm.channels[0].length * count);
  pcm.channels.forEach((channel, c) => {
    for (let n = 0; n < channel.length; n++) samples[n * count + c] = channel[n];
  });
  const path = join(folder, 'signal.f32');
  writeFileSync(path, new Uint8Array(samples.buffer));
  return path;
}

/**
 * How much more our high-pass passes than one with the numerator 1, -2, 1 at every rate, as libebur128 and ffmpeg
 * have it: we keep the gain of 48 kHz, which is what 'the same frequency response' asks for.
 */
function gainOverOthersDb(rate: number): number {
  return amplitudeToDb(kWeighting(rate).highPass.b0);
}

function expectWithin(ours: number | null, theirs: number | null, tolerance: number, what: string) {
  expect(ours, what).not.toBeNull();
  expect(theirs, what).not.toBeNull();
  expect(Math.abs(ours! - theirs!), `${what}: ${ours} against ${theirs}`).toBeLessThanOrEqual(tolerance);
}

describe.skipIf(!gcc || !header)('against libebur128', () => {
  let harness = '';
  beforeAll(() => {
    harness = join(folder, 'harness');
    const source = join(import.meta.dirname, 'ebur128-harness.c');
    execFileSync(gcc!, ['-O2', '-o', harness, source, '-lebur128', '-lm']);
  });

  const ask = (pcm: Pcm) =>
    JSON.parse(
      execFileSync(harness, [String(pcm.sampleRate), String(pcm.channels.length), interleavedFile(pcm)], {
        encoding: 'utf8',
      }),
    );

  test.for(cases)('%s at %i Hz: 0.05 LU', async ([name, rate]) => {
    const pcm = signals[name](rate);
    const { loudness, peak } = await measure(pcm);
    const theirs = ask(pcm);
    const gain = gainOverOthersDb(rate);
    expectWithin(loudness.integratedLufs! - gain, theirs.integratedLufs, 0.05, 'integrated');
    expectWithin(loudness.maxMomentaryLufs! - gain, theirs.maxMomentaryLufs, 0.05, 'momentary');
    expectWithin(loudness.maxShortTermLufs! - gain, theirs.maxShortTermLufs, 0.05, 'short-term');
    expectWithin(peak.samplePeakDbfs, theirs.samplePeakDbfs, 0.001, 'sample peak');
    // libebur128 interpolates 4x below 96 kHz, 2x below 192 kHz and not at all from there, with a shorter filter,
    // so it reads lower; it must never be far above. Closeness is checked in true-peak.test.ts.
    expect(peak.truePeakDbtp!).toBeGreaterThan(theirs.truePeakDbtp - 0.1);
  });

  test.for(rates)('true peak of low tones at %i Hz: 0.1 dB', async (rate) => {
    const pcm = lowTones(rate);
    expectWithin((await measure(pcm)).peak.truePeakDbtp, ask(pcm).truePeakDbtp, 0.1, 'true peak');
  });

  test.for([44100, 48000, 96000])('range over steps of level at %i Hz: 0.1 LU', async (rate) => {
    const pcm = levelSteps(rate);
    expectWithin((await measure(pcm)).loudness.rangeLu, ask(pcm).rangeLu, 0.1, 'range');
  });

  test.for([1, 2, 4, 5, 6])('%i channels of noise: weights', async (count) => {
    const channels = Array.from({ length: count }, (_, c) => whiteNoise(c + 1, 48000 * 4, 0.05 * (c + 1)));
    const pcm = { sampleRate: 48000, channels };
    expectWithin((await measure(pcm)).loudness.integratedLufs, ask(pcm).integratedLufs, 0.05, 'integrated');
  });
});

describe.skipIf(!ffmpeg)("against ffmpeg's ebur128 filter", () => {
  function ask(pcm: Pcm) {
    const input = ['-f', 'f32le', '-ar', String(pcm.sampleRate), '-ac', String(pcm.channels.length)];
    const filter = 'ebur128=peak=true';
    const { stderr } = spawnSync(
      ffmpeg!,
      ['-nostats', '-hide_banner', ...input, '-i', interleavedFile(pcm), '-af', filter, '-f', 'null', '-'],
      { encoding: 'utf8', maxBuffer: 2 ** 26 },
    );
    const summary = stderr.slice(stderr.lastIndexOf('Summary:'));
    const figure = (label: string) => Number(summary.match(new RegExp(`${label}:\\s+(-?[\\d.]+)`))?.[1]);
    return { integratedLufs: figure('I'), rangeLu: figure('LRA'), truePeakDbtp: figure('Peak') };
  }

  // It prints one decimal: half a digit comes on top of every tolerance.
  const digit = 0.05;

  test.for(cases.filter(([, rate]) => [44100, 48000, 96000, 192000].includes(rate)))(
    '%s at %i Hz: 0.05 LU',
    async ([name, rate]) => {
      const pcm = signals[name](rate);
      const { loudness, peak } = await measure(pcm);
      const theirs = ask(pcm);
      const ours = loudness.integratedLufs! - gainOverOthersDb(rate);
      expectWithin(ours, theirs.integratedLufs, 0.05 + digit, 'integrated');
      // Its grid is 192 kHz whatever the rate, so it reads lower, never far above.
      expect(peak.truePeakDbtp!).toBeGreaterThan(theirs.truePeakDbtp - 0.1 - digit);
    },
  );

  // It counts the windows of the first 3 s, which are not full yet, towards the range; over 36 s they hardly weigh.
  test.for([44100, 48000, 96000])('range over steps of level at %i Hz: 0.1 LU', async (rate) => {
    const pcm = levelSteps(rate);
    expectWithin((await measure(pcm)).loudness.rangeLu, ask(pcm).rangeLu, 0.1 + digit, 'range');
  });

  test.for(rates)('true peak of low tones at %i Hz: 0.1 dB', async (rate) => {
    const pcm = lowTones(rate);
    expectWithin((await measure(pcm)).peak.truePeakDbtp, ask(pcm).truePeakDbtp, 0.1 + digit, 'true peak');
  });
});
