import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { wavHeader } from '../../src/audio/encode-wav.ts';
import { outside } from '../outside.ts';
import { between, cases, chance, countOf, faultsOf, music, quantised, seeds } from './faults-sound.ts';

// Detectors that read a figure off the samples: on seeded music, with no miss and no false alarm at all.
const rate = 44_100;
const short = (seed: number, seconds = 0.5) => music(seed, seconds, rate);
const sox = outside('sox');

describe(`DC offset, ${cases} seeded pieces`, () => {
  test('read to 1e-6 of full scale, channel by channel', () => {
    for (const seed of seeds) {
      const samples = short(seed);
      const offset = between(chance(seed), -0.05, 0.05);
      const mean = samples.reduce((sum, x) => sum + x, 0) / samples.length;
      const { dc } = faultsOf([samples, samples.map((x) => x + offset)], rate);
      expect(dc.offsets[0]).toBeCloseTo(mean, 6);
      expect(dc.offsets[1]).toBeCloseTo(mean + offset, 6);
    }
  });

  test.skipIf(!sox)('as sox stat prints it, to its last decimal', () => {
    const folder = mkdtempSync(join(tmpdir(), 'everyroom-faults-'));
    try {
      for (const seed of seeds.slice(0, 10)) {
        const samples = quantised(
          short(seed).map((x) => 0.8 * x + between(chance(seed), -0.05, 0.05)),
          16,
          null,
        );
        const path = join(folder, 'x.wav');
        const header = wavHeader(rate, 1, samples.length, 's16');
        writeFileSync(
          path,
          Buffer.concat([header, Buffer.from(Int16Array.from(samples, (x) => x * 32_768).buffer)]),
        );
        const { stderr } = spawnSync('sox', [path, '-n', 'stat'], { encoding: 'utf8' });
        const said = Number(/Mean\s+amplitude:\s+(\S+)/.exec(stderr)?.[1]);
        expect(Math.abs(faultsOf([samples], rate).dc.offsets[0] - said)).toBeLessThan(1e-6);
      }
    } finally {
      rmSync(folder, { recursive: true });
    }
  });
});

describe(`the grid of the samples, ${cases} seeded pieces`, () => {
  test('bits in use: 8, 12, 16, 20 or 24, whatever the file would say', () => {
    for (const seed of seeds) {
      const bits = [8, 12, 16, 20, 24][seed % 5];
      expect(faultsOf([quantised(short(seed), bits, chance(seed))], rate).grid.bits).toBe(bits);
    }
    expect(faultsOf([short(1).map((x) => x / 3)], rate).grid.bits).toBeNull();
    expect(faultsOf([new Float32Array(1000)], rate).grid).toMatchObject({ bits: null, shareOn16Bits: null });
  });

  test('a 16-bit song with a fade made at 24 bits: how much of it lies on the coarse grid', () => {
    const samples = quantised(music(1, 4, rate), 16, chance(1));
    const fade = 3 * rate;
    for (let n = fade; n < samples.length; n++)
      samples[n] = Math.round(samples[n] * (1 - (n - fade) / rate) * 2 ** 23) / 2 ** 23;
    const { grid } = faultsOf([samples], rate);
    expect(grid.bits).toBe(24);
    expect(grid.shareOn16Bits).toBeGreaterThan(0.7);
    expect(grid.shareOn16Bits).toBeLessThan(0.8);
  });

  /** A note that dies away to nothing. */
  const fading = (seed: number) => {
    const next = chance(seed);
    const hz = between(next, 80, 400);
    return Float32Array.from(
      { length: 0.6 * rate },
      (_, n) =>
        0.002 *
        Math.exp((-8 * n) / rate) *
        (Math.sin((2 * Math.PI * hz * n) / rate) + 0.3 * Math.sin((5 * Math.PI * hz * n) / rate)),
    );
  };

  test('fades to 16 bits without dither, rounded or cut off: none missed', () => {
    const missed = countOf((seed) => {
      const samples = fading(seed).map((x) =>
        seed % 2 ? Math.round(x * 32_768) / 32_768 : Math.floor(x * 32_768) / 32_768,
      );
      return faultsOf([samples], rate).grid.undithered !== true;
    });
    expect(missed).toBe(0);
  });

  test('the same with triangular dither, or over the noise of a room: no false alarm', () => {
    const alarms = countOf((seed) => {
      const next = chance(seed + 7);
      const samples = quantised(
        fading(seed).map((x) => x + (seed % 2 ? 0 : (4 * (next() - 0.5)) / 32_768)),
        16,
        seed % 2 ? next : null,
      );
      return faultsOf([samples], rate).grid.undithered !== false;
    });
    expect(alarms).toBe(0);
  });
});

describe(`ends and gaps, ${cases} seeded pieces`, () => {
  test('silence before, inside and after is timed to 64 samples', () => {
    for (const seed of seeds) {
      const next = chance(seed);
      const part = () => Float32Array.from({ length: rate / 4 }, () => next() - 0.5);
      const [head, gap, tail] = [between(next, 0, 1), between(next, 0.55, 1.5), between(next, 0, 1)].map(
        (seconds) => Math.round(seconds * rate),
      );
      const samples = new Float32Array(head + gap + tail + 2 * (rate / 4));
      samples.set(part(), head);
      samples.set(part(), head + rate / 4 + gap);
      const { ends } = faultsOf([samples], rate);
      expect(Math.abs(ends.headZeroSeconds - head / rate)).toBeLessThanOrEqual(64 / rate);
      expect(Math.abs(ends.tailZeroSeconds - tail / rate)).toBeLessThanOrEqual(64 / rate);
      expect(ends.gapCount).toBe(1);
      expect(Math.abs(ends.gaps[0].startSeconds - (head / rate + 0.25))).toBeLessThanOrEqual(64 / rate);
      expect(Math.abs(ends.gaps[0].endSeconds - (head + gap) / rate - 0.25)).toBeLessThanOrEqual(64 / rate);
    }
  });

  test('songs that begin and end as they should are not cut; the middle of a song is', () => {
    // The bounds of the rules start-cut and end-cut.
    const isCut = (samples: Float32Array) => {
      const { headDbfs, tailDbfs } = faultsOf([samples], rate).ends;
      return { start: (headDbfs ?? -200) > -30, end: (tailDbfs ?? -200) > -40 };
    };
    expect(countOf((seed) => isCut(short(seed, 1)).start || isCut(short(seed, 1)).end)).toBe(0);
    const missed = { start: 0, end: 0 };
    for (const seed of seeds) {
      // Single drums and notes leave rests in which a cut is none.
      const samples = music(seed, 2, rate, 'band');
      const from = Math.round(between(chance(seed), 0.2, 0.8) * rate);
      const cut = isCut(samples.subarray(from, from + Math.round(0.6 * rate)));
      if (!cut.start) missed.start++;
      if (!cut.end) missed.end++;
    }
    // A first sample may happen to stand near 0.
    expect(missed.start).toBeLessThanOrEqual(0.25 * cases);
    expect(missed.end).toBeLessThanOrEqual(0.02 * cases);
  });

  test('silence through and through', () => {
    const { ends } = faultsOf([new Float32Array(rate)], rate);
    expect(ends).toMatchObject({
      headZeroSeconds: 1,
      tailZeroSeconds: 1,
      headDbfs: null,
      tailDbfs: null,
      gapCount: 0,
    });
  });
});

describe(`below 20 Hz, ${cases} seeded cases`, () => {
  test('a sine of 5 to 18 Hz under music, with DC, is read to 1 dB; music alone stays far below the bound', () => {
    const low = 8000;
    for (const seed of seeds) {
      const next = chance(seed);
      const [hz, height] = [between(next, 5, 18), between(next, 0.05, 0.3)];
      const samples = music(seed, 7, low);
      const spoilt = samples.map((x, n) => x + 0.1 + height * Math.sin((2 * Math.PI * hz * n) / low));
      const level = 10 * Math.log10(height ** 2 / 2);
      expect(Math.abs(faultsOf([spoilt], low).subsonic.levelDbfs! - level)).toBeLessThan(1);
      expect(faultsOf([samples], low).subsonic.shareDb!).toBeLessThan(-18);
    }
  });
});
