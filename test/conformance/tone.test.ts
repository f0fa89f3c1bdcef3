import { describe, expect, test } from 'vitest';
import type { ToneResult } from '../../src/measure/measurement.ts';
import { thirdOctaves } from '../../src/measure/third-octaves.ts';
import { inAll, measure, toneSteps, whiteNoise } from './loudness-signals.ts';

/** Nominal third-octave centres, Hz: IEC 61260-1:2014 Annex E (from memory). */
const centres = [
  20, 25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000,
  2500, 3150, 4000, 5000, 6300, 8000, 10000, 12500, 16000, 20000,
];

function level(tone: ToneResult, centre: number): number {
  return tone.levelsDb[tone.centresHz.indexOf(centre)] ?? Number.NEGATIVE_INFINITY;
}

describe('third octaves (IEC 61260-1:2014, from memory)', () => {
  test('stand at the nominal centres, meet at their edges, and ten of them make a decade', () => {
    const bands = thirdOctaves(48000);
    expect(bands.map((band) => band.nominalHz)).toEqual(centres);
    bands.forEach((band, i) => {
      expect(Math.sqrt(band.lowHz * band.highHz) / band.nominalHz).toBeCloseTo(1, 1);
      if (i > 0) expect(band.lowHz / bands[i - 1].highHz).toBeCloseTo(1, 12);
      if (i >= 10) expect(band.lowHz / bands[i - 10].lowHz).toBeCloseTo(10, 9);
    });
    expect(bands[17].lowHz).toBeCloseTo(891.25, 2);
    expect(bands[17].highHz).toBeCloseTo(1122.02, 2);
  });

  test.for([
    [8000, 4000],
    [22050, 10000],
    [32000, 16000],
    [44100, 20000],
    [192000, 20000],
  ])('at %i Hz the highest band is %i Hz', ([rate, highest]) => {
    expect(thirdOctaves(rate).at(-1)?.nominalHz).toBe(highest);
  });
});

describe('tone', () => {
  for (const rate of [44100, 48000, 96000, 192000])
    test.for(centres)(`a sine at %f Hz fills its band at ${rate} Hz`, async (centre) => {
      const seconds = rate > 50000 ? 2 : 4;
      const { tone } = await measure(inAll(toneSteps([[-6, seconds]], rate, centre), 1, rate));
      const index = tone.centresHz.indexOf(centre);
      expect(level(tone, centre)).toBeGreaterThan(-0.25);
      expect(level(tone, centre)).toBeLessThanOrEqual(1e-6);
      // The next bands but one: what leaks there is the cut of a sine that starts and ends at once.
      for (const other of [index - 2, index + 2])
        if (tone.levelsDb[other] !== undefined)
          expect(tone.levelsDb[other] ?? -300).toBeLessThan(centre < 50 ? -20 : -30);
    });

  test.for([32000, 44100, 48000, 96000])('white noise rises 3.01 dB an octave at %i Hz', async (rate) => {
    const { tone } = await measure(inAll(whiteNoise(5, rate * 20, 0.3), 1, rate));
    expect(Math.abs(tone.tiltDbPerOctave! - 3.01)).toBeLessThan(0.1);
    // Band levels against bandwidth; 20 s leave a random error of about 4.34 / sqrt(width * 20) dB, five times that is allowed.
    const bands = thirdOctaves(rate);
    const span = Math.min(bands.at(-1)!.highHz, rate / 2) - bands[0].lowHz;
    bands.forEach(({ lowHz, highHz }, i) => {
      const width = Math.min(highHz, rate / 2) - lowHz;
      const expected = 10 * Math.log10(width / span);
      expect(Math.abs(tone.levelsDb[i]! - expected)).toBeLessThan(0.05 + (5 * 4.34) / Math.sqrt(width * 20));
    });
  });

  test('shares: three sines of known power', async () => {
    const low = toneSteps([[-12, 10]], 48000, 60);
    const mid = toneSteps([[-18, 10]], 48000, 700);
    const high = toneSteps([[-24, 10]], 48000, 5000);
    const { tone } = await measure(
      inAll(
        low.map((x, n) => x + mid[n] + high[n]),
        2,
      ),
    );
    const all = 10 * Math.log10(10 ** -1.2 + 10 ** -1.8 + 10 ** -2.4);
    expect(tone.lowDb).toBeCloseTo(-12 - all, 1);
    expect(tone.midDb).toBeCloseTo(-18 - all, 1);
    expect(tone.highDb).toBeCloseTo(-24 - all, 1);
  });

  test('channels are added by power, whatever their polarity', async () => {
    const samples = whiteNoise(9, 96000, 0.5);
    const mono = (await measure(inAll(samples, 1))).tone;
    const opposed = (await measure({ sampleRate: 48000, channels: [samples, samples.map((x) => -x)] })).tone;
    opposed.levelsDb.forEach((value, i) => {
      expect(value).toBeCloseTo(mono.levelsDb[i]!, 3);
    });
  });

  test('DC is not tone', async () => {
    const sine = toneSteps([[-20, 4]], 48000, 1000);
    const { tone } = await measure(
      inAll(
        sine.map((x) => x + 0.5),
        1,
      ),
    );
    expect(level(tone, 1000)).toBeGreaterThan(-0.5);
  });

  test('where in the sound something happens does not matter: every sample counts once', async () => {
    const burst = whiteNoise(2, 4800, 0.5);
    const hum = toneSteps([[-30, 6]], 48000, 100);
    const ratios: number[] = [];
    for (const at of [0, 10_000, 100_000, 283_200]) {
      const samples = hum.slice();
      burst.forEach((x, n) => {
        samples[at + n] += x;
      });
      const { tone } = await measure(inAll(samples, 1));
      ratios.push(level(tone, 5000) - level(tone, 100));
    }
    expect(Math.max(...ratios) - Math.min(...ratios)).toBeLessThan(0.1);
  });
});
