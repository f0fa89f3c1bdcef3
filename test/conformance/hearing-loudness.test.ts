import { describe, expect, test } from 'vitest';
import { loudnessInTime } from '../../src/hearing/loudness-in-time.ts';
import { PartialLoudness } from '../../src/hearing/partial-loudness.ts';
import { phonOfSone, powersOfLevels, stationaryLoudness } from '../../src/hearing/specific-loudness.ts';
import { meanThirdOctaveLevels, zwickerRate } from '../../src/hearing/third-octave-filters.ts';
import { pinkLevels, pinkNoise, tone } from './hearing-sound.ts';

/** ISO 532-1:2017, 5.1: 5 % or 0.1 sone, whichever is more. */
function expectSone(measured: number, published: number): void {
  expect(Math.abs(measured - published), `${measured} for ${published} sone`).toBeLessThanOrEqual(
    Math.max(0.1, 0.05 * published),
  );
}

/** 'count x value' pairs to values. */
function runs(...parts: readonly (number | readonly [number, number])[]): number[] {
  return parts.flatMap((part) =>
    typeof part === 'number' ? [part] : new Array<number>(part[1]).fill(part[0]),
  );
}

describe('steady sounds, ISO 532-1:2017 Annex B.2 and B.3', () => {
  /** Figures as transcribed in the tests of the open libraries MoSQITo and phonometry. */
  const signal1 = [
    -60, -60, 78, 79, 89, 72, 80, 89, 75, 87, 85, 79, 86, 80, 71, 70, 72, 71, 72, 74, 69, 65, 67, 77, 68, 58,
    45, 30,
  ];

  test('signal 1: 83.2957 sone, to the rounding of the tables', () => {
    const { sone, pattern, phon } = stationaryLoudness(signal1, 'free');
    expect(sone).toBeCloseTo(83.2957, 3);
    expect(phon).toBeCloseTo(40 + 10 * Math.log2(83.2957), 3);
    // The head and the tail of the printed pattern, with a slope in each.
    const head = runs(
      [5.3272, 9],
      [7.3877, 9],
      [7.5599, 10],
      7.2802,
      7.0002,
      6.7202,
      6.4402,
      6.1602,
      5.9351,
      5.7251,
      [6.4327, 9],
    );
    head.forEach((value, i) => {
      expect(pattern[i], `at ${(0.1 * (i + 1)).toFixed(1)} Bark`).toBeCloseTo(value, 3);
    });
    const tail = [0.7207, 0.6787, 0.6367, 0.5947, 0.5527, 0.5107, 0.4687, 0.4267, 0.4015];
    tail.forEach((value, i) => {
      expect(pattern[231 + i]).toBeCloseTo(value, 3);
    });
  });

  test.for([
    ['signal 2', 250, 80, 14.6545, runs([0, 9], [0.329, 9], [4.583, 10], 4.381, 4.231, 4.081, 3.931, 3.781)],
    [
      'signal 3',
      1000,
      60,
      4.0192,
      runs([0, 44], [0.0058, 10], [0.0647, 12], [0.3417, 13], [1.2273, 13], 1.1654),
    ],
    ['signal 4', 4000, 40, 1.5494, runs([0, 152], [0.096, 15], [0.494, 14], 0.452, 0.415, 0.393)],
  ] as const)('%s: %i Hz at %i dB', ([, hertz, level, published, head]) => {
    const levels = meanThirdOctaveLevels(tone(hertz, level, level, 1), 0.4);
    const { sone, pattern } = stationaryLoudness(levels, 'free');
    expectSone(sone, published);
    head.forEach((value, i) => {
      expectSone(pattern[i], value);
    });
  });

  test('signal 5: pink noise of 60 dB', () => {
    // Its noise reaches far below hearing, so that of 60 dB only 43.0 are left in each third octave: the level that the
    // printed pattern has at 1 kHz. Everything else is checked.
    const { sone, pattern } = stationaryLoudness(new Array<number>(28).fill(43), 'free');
    expectSone(sone, 10.4978);
    const printed = runs(
      ...([
        [0.154, 9],
        [0.451, 9],
        [0.502, 10],
        [0.451, 7],
        [0.449, 9],
        [0.441, 10],
        [0.437, 12],
        [0.415, 13],
      ] as const),
      ...([
        [0.408, 13],
        [0.404, 14],
        [0.413, 17],
        [0.446, 15],
        [0.499, 14],
        [0.582, 15],
        [0.6, 14],
        0.558,
      ] as const),
    );
    printed.forEach((value, i) => {
      expect(Math.abs(pattern[i] - value), `at ${(0.1 * (i + 1)).toFixed(1)} Bark`).toBeLessThan(
        0.05 * value + 0.01,
      );
    });
  });

  test('pink noise has the same level in all of the filters', () => {
    const levels = meanThirdOctaveLevels(pinkNoise(1, 60, 60, 4), 0.4);
    const mean = levels.reduce((sum, level) => sum + level, 0) / levels.length;
    levels.forEach((level, band) => {
      // Random error of 3.6 s: 4.34 / sqrt(bandwidth * time) dB, three times.
      const width = 0.23 * 1000 * 10 ** ((band - 16) / 10);
      expect(Math.abs(level - mean)).toBeLessThan(0.4 + (3 * 4.34) / Math.sqrt(3.6 * width));
    });
  });

  test('sone and phon: 1 sone is 40 phon, 2 sone 50, a sound not heard 3', () => {
    expect(phonOfSone(1)).toBe(40);
    expect(phonOfSone(2)).toBe(50);
    expect(phonOfSone(0.999)).toBeCloseTo(40, 1);
    expect(phonOfSone(0)).toBe(3);
  });
});

describe('sounds that change, ISO 532-1:2017 Annex B.4', () => {
  // The annex describes 6 to 9 as rising from one level to the other; a straight rise in dB over 5 s is assumed here.
  test.for([
    ['signal 6', tone(250, 30, 80, 5), 11.85756, 14.3592],
    ['signal 7', tone(1000, 30, 80, 5), 13.37887, 15.9534],
    ['signal 8', tone(4000, 30, 80, 5), 20.26187, 23.9501],
  ] as const)('%s: N5 and the maximum', ([, sound, n5, highest]) => {
    const loudness = loudnessInTime(sound, 'free');
    expectSone(loudness.n5, n5);
    expectSone(loudness.highestSone, highest);
  });

  // Of pulses only length and level are described: edges of 2 ms outside the length are assumed, and N5, which hangs on
  // the silence around them, is left out.
  test.for([
    ['signal 10', 0.01, 4.2998],
    ['signal 11', 0.05, 5.9746],
    ['signal 12', 0.5, 8.0772],
  ] as const)('%s: the maximum of a pulse of 1 kHz, 70 dB, %f s', ([, seconds, highest]) => {
    const edge = 0.002;
    const pulse = tone(1000, 70, 70, seconds + edge).map((x, n) => {
      const t = n / zwickerRate;
      const share = Math.min(1, t / edge, (seconds + edge - t) / edge);
      return x * (0.5 - 0.5 * Math.cos(Math.PI * share));
    });
    const sound = new Float64Array(pulse.length + 0.3 * zwickerRate);
    sound.set(pulse, 0.1 * zwickerRate);
    expectSone(loudnessInTime(sound, 'free').highestSone, highest);
  });

  test('a steady tone ends up at its stationary loudness', () => {
    const { sone } = loudnessInTime(tone(1000, 60, 60, 1), 'free');
    expectSone(sone[sone.length - 1], 4.0192);
  });
});

describe('partial loudness', () => {
  const song = powersOfLevels(Float64Array.from({ length: 28 }, (_, i) => 66 - i));

  test('in quiet is the loudness of ISO 532-1, to 1 %', () => {
    for (const level of [30, 50, 70, 90]) {
      const levels = pinkLevels(level);
      const whole = stationaryLoudness(levels, 'free').sone;
      expect(new PartialLoudness(null, 'free').look(powersOfLevels(levels)) / whole).toBeCloseTo(1, 2);
    }
  });

  test('falls as the noise rises, to nothing, and is never more than without it', () => {
    const alone = new PartialLoudness(null, 'free').look(song);
    let before = alone;
    for (let level = 0; level <= 110; level += 5) {
      const left = new PartialLoudness(powersOfLevels(pinkLevels(level)), 'free').look(song);
      expect(left).toBeLessThanOrEqual(before + 1e-9);
      before = left;
    }
    expect(before).toBe(0);
    const faint = new PartialLoudness(powersOfLevels(pinkLevels(10)), 'free').look(song);
    expect(faint / alone).toBeGreaterThan(0.995);
  });

  test('a tone in pink noise: the masked threshold lies 2 to 8 dB under the noise in its critical band', () => {
    // Zwicker and Fastl, Psychoacoustics, chapter 4 (from memory): 2 dB under it at low, 6 dB at high frequencies.
    const noise = new PartialLoudness(powersOfLevels(new Array<number>(28).fill(50)), 'free');
    const heard = (level: number) => {
      const powers = new Float64Array(28);
      powers[16] = 10 ** (level / 10);
      return noise.look(powers) > 0;
    };
    let level = 30;
    while (!heard(level)) level += 0.25;
    expect(level).toBeGreaterThan(42);
    expect(level).toBeLessThan(48);
  });

  test('a low rumble covers what lies above it more than what lies below', () => {
    const rumble = new Float64Array(28);
    rumble[10] = 10 ** 9;
    const noise = new PartialLoudness(rumble, 'free');
    const covered = (band: number) => {
      const powers = new Float64Array(28);
      powers[band] = 10 ** 5;
      return 1 - noise.look(powers) / new PartialLoudness(null, 'free').look(powers);
    };
    expect(covered(14)).toBeGreaterThan(0.3);
    expect(covered(14)).toBeGreaterThan(covered(4) + 0.2);
    expect(covered(24)).toBeLessThan(0.05);
  });
});
