import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { frameCount, joinPcm, type Pcm, slicePcm } from '../audio/pcm.ts';
import { cellPeaks } from './cell-peaks.ts';
import { cutGrid } from './code-chain.ts';
import { CodingSpectra } from './coding-spectra.ts';
import { cutPeakDbtp } from './cut-peak.ts';
import { coarsestFormats } from './estimate.ts';
import { findFormat, parseFormats, surviveFormats } from './formats.ts';
import { overlappedPieces } from './overlapped-pieces.ts';
import { LikelyPassages } from './passages.ts';
import { PeakMoments } from './peak-moments.ts';
import { PlayerClipTally } from './player-clip.ts';
import { PreEchoSearch } from './pre-echo.ts';
import { cutStretches, gatherReel } from './reel.ts';

const rate = 44_100;

function random(seed: number): () => number {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) | 0;
    return state / 2 ** 31;
  };
}

function noise(seconds: number, level: number, seed: number, channels = 2): Pcm {
  const next = random(seed);
  const frames = Math.round(seconds * rate);
  return {
    sampleRate: rate,
    channels: Array.from({ length: channels }, () =>
      Float32Array.from({ length: frames }, () => level * next()),
    ),
  };
}

function mapped(pcm: Pcm, change: (x: number, n: number, channel: number) => number): Pcm {
  return { ...pcm, channels: pcm.channels.map((samples, c) => samples.map((x, n) => change(x, n, c))) };
}

function blocksOf(pcm: Pcm, frames: number): Pcm[] {
  const blocks: Pcm[] = [];
  for (let at = 0; at < frameCount(pcm); at += frames)
    blocks.push(slicePcm(pcm, at, Math.min(frameCount(pcm), at + frames)));
  return blocks;
}

describe('formats', () => {
  test('ids, quality steps, codecs, series and lists are understood; the usual set by its own ids', () => {
    for (const format of surviveFormats) expect(findFormat(format.id)).toEqual(format);
    expect(findFormat('vorbis-q5')).toEqual(findFormat('vorbis-160'));
    expect(findFormat('opus-128+sbc')).toMatchObject({ id: 'opus-128+sbc-328', label: 'Opus 128 → SBC 328' });
    expect(parseFormats('AAC, mp3-320 aac-96').map(({ id }) => id)).toEqual([
      'aac-96',
      'aac-128',
      'aac-256',
      'mp3-320',
    ]);
    expect(parseFormats('all')).toEqual(surviveFormats);
    for (const bad of [
      'aac',
      'aac-9',
      'mp3-123',
      'vorbis-q11',
      'mp3-q5',
      'aac-128+',
      'sbc+sbc+sbc',
      'flac-9',
    ])
      expect(findFormat(bad), bad).toBeUndefined();
    expect(() => parseFormats('aac-128,wma')).toThrow(expect.objectContaining({ code: 'USAGE' }));
    expect(() => parseFormats(' ')).toThrow(expect.objectContaining({ code: 'USAGE' }));
  });

  test('the quick answer is taken from the lowest rate of each codec', () => {
    expect(coarsestFormats(surviveFormats).map(({ id }) => id)).toEqual([
      'aac-96',
      'mp3-128',
      'vorbis-96',
      'opus-96',
      'sbc-328',
    ]);
    expect(coarsestFormats(parseFormats('opus-128+sbc,aac-256')).map(({ id }) => id)).toEqual([
      'opus-128+sbc-328',
      'aac-256',
    ]);
  });

  test('cuts fall on the frames of every codec in the chain, at the rate that is coded', () => {
    expect(cutGrid(findFormat('aac-128')!, 44_100)).toBe(1024);
    expect(cutGrid(findFormat('opus-128')!, 44_100)).toBe(882);
    expect(cutGrid(findFormat('opus-128+sbc')!, 48_000)).toBe(1920);
    expect(cutGrid(findFormat('mp3-128')!, 88_200)).toBe(2304);
    expect(cutGrid(findFormat('aac-128')!, 44_099)).toBe(1);
  });
});

describe('overlappedPieces', () => {
  test('the stretches lie end to end and are the sound, whatever the blocks; surroundings are the sound’s', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.integer({ min: 1, max: 9000 }),
        fc.integer({ min: 1, max: 4000 }),
        fc.integer({ min: 1, max: 3000 }),
        fc.integer({ min: 0, max: 500 }),
        async (frames, block, body, overlap) => {
          const sound: Pcm = {
            sampleRate: rate,
            channels: [Float32Array.from({ length: frames }, (_, n) => n)],
          };
          const sizes = { wholeFrames: 2000, bodyFrames: body, overlapFrames: overlap };
          const bodies: Pcm[] = [];
          for await (const piece of overlappedPieces(blocksOf(sound, block), sizes)) {
            const [samples] = piece.pcm.channels;
            samples.forEach((x, n) => {
              if (x !== piece.startFrame + n) expect.unreachable();
            });
            bodies.push(slicePcm(piece.pcm, piece.bodyStart, piece.bodyEnd));
            if (piece.startFrame > 0)
              expect(piece.bodyStart).toBe(Math.min(overlap, body * (bodies.length - 1)));
          }
          if (frames <= 2000) expect(bodies.length).toBe(1);
          expect(joinPcm(bodies).channels[0]).toEqual(sound.channels[0]);
        },
      ),
      { seed: 3, numRuns: 60 },
    );
  });
});

describe('PlayerClipTally', () => {
  test('counts samples, runs, time and the longest run, at each level', () => {
    const left = Float32Array.of(0, 1.1, 1.1, 0.9, -1.2, 0, 0, 0, 1, 0);
    const right = Float32Array.of(0, 0, 1.1, 0, 0, 0, 0, 0, 0, 0.6);
    for (const size of [1, 3, 10]) {
      const tally = new PlayerClipTally(10, 2, [0, -6, 6]);
      for (const block of blocksOf({ sampleRate: 10, channels: [left, right] }, size))
        tally.push(block, cellPeaks(block));
      const [asIs, down, up] = tally.finish();
      // 1.0 itself has no place among 16-bit numbers.
      expect(asIs).toEqual({ samples: 5, runs: 4, seconds: 0.4, longestSeconds: 0.2 });
      expect(down).toEqual({ samples: 0, runs: 0, seconds: 0, longestSeconds: 0 });
      expect(up).toEqual({ samples: 7, runs: 4, seconds: 0.6, longestSeconds: 0.4 });
    }
  });
});

describe('CodingSpectra', () => {
  const sound = noise(2, 0.3, 1);

  test('noise of a known level is told in its bands, and no other damage', () => {
    const next = random(9);
    const coded = mapped(sound, (x) => x + 0.003 * next());
    const spectra = new CodingSpectra(rate, 2);
    spectra.push(sound, coded);
    const { noise: added, bandwidth, stereo } = spectra.finish();
    expect(added.noiseToSoundDb).toBeCloseTo(-40, 0);
    for (const band of added.bands.slice(3)) expect(Math.abs(band.noiseToSoundDb! + 40)).toBeLessThan(1);
    // White noise of ±0.003 has a power of 0.003²/3, of which a band holds its share of the width.
    const top = added.bands.find(({ lowHz }) => lowHz === 4000)!;
    expect(top.noiseDbfs).toBeCloseTo(10 * Math.log10(((0.003 ** 2 / 3) * 4000) / (rate / 2)), 0);
    expect(bandwidth.lostHz).toBe(0);
    expect(Math.abs(stereo!.sideChangeDb!)).toBeLessThan(0.1);
  });

  test('a song folded to mono above nothing, a narrower one, and one without its top', () => {
    const narrow = mapped(
      sound,
      (x, n, c) => 0.5 * (x + sound.channels[1 - c][n]) + 0.25 * (x - sound.channels[1 - c][n]),
    );
    const spectra = new CodingSpectra(rate, 2);
    spectra.push(sound, narrow);
    const { stereo } = spectra.finish();
    expect(stereo!.sideChangeDb).toBeCloseTo(-6.02, 1);
    expect(stereo!.correlationBefore).toBeCloseTo(0, 1);
    expect(stereo!.correlationAfter).toBeCloseTo(0.6, 1);

    // Averages of neighbours take the top away: |cos(pi f / rate)| is a third of the amplitude at 17.3 kHz.
    const dull = mapped(sound, (_x, n, c) => {
      const samples = sound.channels[c];
      return 0.5 * (samples[n] + (samples[n - 1] ?? 0));
    });
    const dulled = new CodingSpectra(rate, 2);
    dulled.push(sound, dull);
    const { bandwidth } = dulled.finish();
    expect(bandwidth.beforeHz).toBe(22_000);
    expect(Math.abs(bandwidth.afterHz! - (rate / Math.PI) * Math.acos(Math.sqrt(0.1)))).toBeLessThan(400);
  });

  test('mono has no stereo, silence no figures, both finite', () => {
    const mono = new CodingSpectra(rate, 1);
    const silence = noise(0.1, 0, 1, 1);
    mono.push(silence, silence);
    const { noise: added, bandwidth, stereo } = mono.finish();
    expect([added.noiseToSoundDb, bandwidth.beforeHz, stereo]).toEqual([null, null, null]);
  });
});

describe('PreEchoSearch', () => {
  const next = random(4);
  const clicks = { sampleRate: rate, channels: [new Float32Array(4 * rate)] };
  for (let beat = 0; beat < 7; beat++)
    for (let n = 0; n < 4000; n++)
      clicks.channels[0][rate / 4 + beat * 22_050 + n] = 0.8 * next() * Math.exp(-n / 800);

  test('noise before an onset is smear; the same noise under the sound is not', () => {
    const early = mapped(clicks, (x, n) =>
      (((n + 800 - rate / 4) % 22_050) + 22_050) % 22_050 < 800 ? x + 0.01 * next() : x,
    );
    const late = mapped(clicks, (x) => x * 1.01);
    const smeared = new PreEchoSearch();
    smeared.push(clicks, early, 0);
    expect(smeared.finish()).toMatchObject({ onsets: 7, smeared: 7 });
    expect(smeared.finish().worstAtSeconds! % 0.5).toBeCloseTo(0.25, 1);
    const clean = new PreEchoSearch();
    clean.push(clicks, late, 0);
    expect(clean.finish()).toMatchObject({ onsets: 7, smeared: 0 });
  });
});

describe('moments and passages', () => {
  test('the highest moments are found with their heights, the highest first, a second apart', () => {
    const quiet = noise(6, 0.1, 5);
    const pcm = mapped(quiet, (x, n) => (n === 50_000 ? 0.9 : n === 55_000 ? 0.8 : n === 200_000 ? 0.7 : x));
    const moments = new PeakMoments();
    const [before, after] = [slicePcm(pcm, 0, 120_000), slicePcm(pcm, 120_000, frameCount(pcm))];
    moments.push(before, 0, cellPeaks(before));
    moments.push(after, 120_000, cellPeaks(after));
    const found = moments.finish();
    expect(found.length).toBeGreaterThan(2);
    expect(Math.abs(found[0].atSeconds - 50_000 / rate)).toBeLessThan(0.05);
    expect(found[0].peakDbtp).toBeCloseTo(20 * Math.log10(0.9), 1);
    // The one at 55000 is within a second of the first.
    expect(Math.abs(found[1].atSeconds - 200_000 / rate)).toBeLessThan(0.05);
  });

  test('a cut in the middle of a loud tone reads the tone, not the cut', () => {
    const tone: Pcm = {
      sampleRate: rate,
      channels: [Float32Array.from({ length: rate }, (_, n) => Math.sin((2 * Math.PI * 9000 * n) / rate))],
    };
    for (const start of [5_000, 10_001, 20_002])
      expect(Math.abs(cutPeakDbtp(tone, start, start + 3000)!)).toBeLessThan(0.06);
  });

  test('loud bright places are picked, whatever the blocks, and silence is not', () => {
    const quiet = noise(20, 0.05, 6);
    const pcm = mapped(quiet, (x, n) => {
      const second = Math.floor(n / rate);
      return second === 7 || second === 13 ? 12 * x : second < 3 ? 0 : x;
    });
    const picked = [777, 65_536].map((size) => {
      const likely = new LikelyPassages(rate, 2);
      for (const block of blocksOf(pcm, size)) likely.push(block);
      return likely.finish();
    });
    expect(picked[0]).toEqual(picked[1]);
    expect(picked[0].some(({ startSeconds }) => startSeconds > 6.5 && startSeconds < 8)).toBe(true);
    expect(picked[0].some(({ startSeconds }) => startSeconds > 12.5 && startSeconds < 14)).toBe(true);
    expect(picked[0].every(({ endSeconds }) => endSeconds > 3)).toBe(true);
  });

  test('a reel holds its passages at the places it names, on the grid', async () => {
    const pcm: Pcm = { sampleRate: rate, channels: [Float32Array.from({ length: 20 * rate }, (_, n) => n)] };
    const spans = [
      { startSeconds: 15, endSeconds: 15.4 },
      { startSeconds: 5, endSeconds: 5.3 },
      { startSeconds: 5.5, endSeconds: 5.8 },
      { startSeconds: 19.8, endSeconds: 25 },
    ];
    const stretches = await cutStretches({ sampleRate: rate, blocks: blocksOf(pcm, 10_000) }, spans, 1024);
    expect(stretches).toHaveLength(3);
    const sound = { sampleRate: rate, channels: 1, frames: 20 * rate };
    const { pcm: reel, bodies } = gatherReel(sound, stretches, spans, 1024);
    const starts = bodies.map(({ start }) => reel.channels[0][start] / rate);
    [5, 5.5, 15, 19.8].forEach((seconds, i) => {
      expect(Math.abs(starts[i] - seconds)).toBeLessThan(1 / rate + 1e-6);
    });
    expect(reel.channels[0][bodies[3].end - 1]).toBe(20 * rate - 1);
    expect(reel.channels[0][0] % 1024).toBe(0);
    expect(frameCount(reel)).toBeLessThan(8 * rate);
  });
});
