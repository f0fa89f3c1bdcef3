import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { mapChannels, play } from '../../test/conformance/change-sound.ts';
import { frameCount, type Pcm, slicePcm } from '../audio/pcm.ts';
import { decodeSamples } from '../audio/sample-coding.ts';
import { changeBetween } from '../compare/change.ts';
import type { VersionAlignment, VersionChange } from '../compare/change-result.ts';
import { powerToDb } from '../signal/decibels.ts';
import { anchorOf } from './anchors.ts';
import { cutLevels } from './fair-cut.ts';
import { sectionGains } from './fair-gains.ts';
import { fairPlan } from './fair-plan.ts';
import { type FairMaster, loudnessTolerance, makeFair } from './make-fair.ts';
import { recogniseMaster } from './recognise.ts';

const rate = 16_000;
const seconds = 14;
const mix = play(1, { seconds, rate });
const straight: VersionAlignment = {
  offsetSeconds: 0,
  offsetSamples: 0,
  driftPpm: 0,
  scatterSamples: 0,
  inverted: [false, false],
  swapped: false,
};
const whole = { startSeconds: 0, endSeconds: seconds };
const sections = [
  { startSeconds: 1, endSeconds: 6 },
  { startSeconds: 7.5, endSeconds: 12.5 },
];

function master(pcm: Pcm, alignment: Partial<VersionAlignment> = {}, shared = whole): FairMaster {
  return {
    sampleRate: pcm.sampleRate,
    channels: pcm.channels.length,
    alignment: { ...straight, ...alignment },
    shared,
    open: async () => pcm,
  };
}

const times = (pcm: Pcm, gain: number) => mapChannels(pcm, (samples) => samples.map((x) => x * gain));
const exchanged = (pcm: Pcm): Pcm => ({ ...pcm, channels: [pcm.channels[1], pcm.channels[0]] });

/** The samples of a file of 24 bits in stereo. */
function samplesOf(wav: Uint8Array): Float32Array[] {
  return decodeSamples(wav.subarray(44), 's24', 2, true);
}

/** Power of a - b over power of a, dB. */
function residualDb(a: readonly Float32Array[], b: readonly Float32Array[]): number {
  let [left, all] = [0, 0];
  a.forEach((samples, c) => {
    samples.forEach((x, i) => {
      left += (x - b[c][i]) ** 2;
      all += x * x;
    });
  });
  return powerToDb(left / all);
}

describe('making masters fair', () => {
  test('head, drift, rate, polarity, exchanged sides and level: what comes out is one and the same', async () => {
    const masters = [
      master(mix),
      // 500 samples later, 6 dB louder.
      master(times(play(1, { seconds, rate, delaySamples: 500 }), 2), {
        offsetSeconds: 500 / rate,
      }),
      // A clock 120 ppm slower, upside down, quieter, begins 3 samples and a third early.
      master(times(play(1, { seconds, rate, delaySamples: -10 / 3, driftPpm: 120 }), -0.8), {
        offsetSeconds: -10 / 3 / rate,
        driftPpm: 120,
        inverted: [true, true],
      }),
      // Another rate, left and right exchanged.
      master(exchanged(play(1, { seconds, rate: 24_000, delaySamples: 777 })), {
        offsetSeconds: 777 / 24_000,
        swapped: true,
      }),
    ];
    const { cuts, plan } = await makeFair(masters, sections, { seed: 's', sampleRate: rate });
    expect(plan.sections.map(({ frames }) => frames)).toEqual([5 * rate, 5 * rate]);
    for (const s of [0, 1]) {
      const all = cuts.map((own) => own[s]);
      for (const each of all) {
        expect(each.gainDb).toBeLessThanOrEqual(0);
        expect(Math.abs(each.lufs - all[0].lufs)).toBeLessThan(0.02);
        expect(residualDb(samplesOf(all[0].wav), samplesOf(each.wav))).toBeLessThan(-70);
      }
      // Nothing that tells them apart but their samples.
      expect(new Set(all.map(({ wav }) => wav.length)).size).toBe(1);
      expect(new Set(all.map(({ wav }) => wav.subarray(0, 44).join())).size).toBe(1);
    }
    expect(cuts[1][0].gainDb).toBeCloseTo(cuts[0][0].gainDb - 6.02, 1);
  });

  test('alignments as found by comparing serve as well', async () => {
    const late = times(play(1, { seconds, rate, delaySamples: 321.4, driftPpm: -60 }), 1.5);
    const change = await changeBetween(mix, late);
    const found = master(late, change.same!.alignment, change.same!.length.shared);
    const { cuts } = await makeFair([master(mix), found], sections, { seed: 's', sampleRate: rate });
    for (const s of [0, 1])
      expect(residualDb(samplesOf(cuts[0][s].wav), samplesOf(cuts[1][s].wav))).toBeLessThan(-55);
  });

  test('levels: within 0.1 LU, nothing turned up, nothing above the ceiling, for masters that differ', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.array(
          fc.record({
            drive: fc.double({ min: 1, max: 4, noNaN: true }),
            gain: fc.double({ min: 0.8, max: 2, noNaN: true }),
          }),
          {
            minLength: 2,
            maxLength: 4,
          },
        ),
        fc.double({ min: -14, max: -2, noNaN: true }),
        async (makers, ceilingDbtp) => {
          const short = slicePcm(mix, 0, 5 * rate);
          const masters = makers.map(({ drive, gain }) =>
            master(mapChannels(short, (samples) => samples.map((x) => gain * Math.tanh(drive * x)))),
          );
          const { cuts } = await makeFair(masters, [{ startSeconds: 0.5, endSeconds: 4.5 }], {
            seed: 'f',
            ceilingDbtp,
            sampleRate: rate,
          });
          const loudness = cuts.map(([cut]) => cut.lufs);
          expect(Math.max(...loudness) - Math.min(...loudness)).toBeLessThan(loudnessTolerance);
          let least = Number.NEGATIVE_INFINITY;
          for (const [cut] of cuts) {
            expect(cut.gainDb).toBeLessThanOrEqual(1e-9);
            expect(cut.truePeakDbtp).toBeLessThan(ceilingDbtp + 0.01);
            least = Math.max(least, cut.gainDb, cut.truePeakDbtp - ceilingDbtp);
          }
          // No lower than need be: the quietest is untouched, or the highest peak is at the ceiling.
          expect(least).toBeGreaterThan(-0.02);
        },
      ),
      { seed: 5, numRuns: 12 },
    );
  });

  test('a file says what was measured, and starts and ends in silence', async () => {
    const { cuts } = await makeFair([master(mix), master(times(mix, 0.5))], sections, {
      seed: 's',
      sampleRate: rate,
    });
    const [left, right] = samplesOf(cuts[0][0].wav);
    const levels = cutLevels({ sampleRate: rate, channels: [left, right] });
    expect(levels.lufs).toBeCloseTo(cuts[0][0].lufs, 9);
    expect(levels.truePeakDbtp).toBeCloseTo(cuts[0][0].truePeakDbtp, 9);
    for (const at of [0, frameCount({ sampleRate: rate, channels: [left] }) - 1])
      expect(Math.abs(left[at])).toBeLessThan(1e-3);
  });

  test('mono plays on both sides', async () => {
    const mono: Pcm = { sampleRate: rate, channels: [mix.channels[0]] };
    const { cuts } = await makeFair([master(mix), master(mono)], sections, { seed: 's', sampleRate: rate });
    expect(cuts[1][0].wav.length).toBe(cuts[0][0].wav.length);
    expect(Math.abs(cuts[1][0].lufs - cuts[0][0].lufs)).toBeLessThan(loudnessTolerance);
  });

  test('silence and sections that not all have are refused in words', async () => {
    const silent = master(times(mix, 0));
    await expect(makeFair([master(mix), silent], sections, { seed: 's', sampleRate: rate })).rejects.toThrow(
      /too quiet/,
    );
    const short = master(mix, {}, { startSeconds: 0, endSeconds: 2 });
    await expect(makeFair([master(mix), short], sections, { seed: 's' })).rejects.toThrow(
      /None of the sections/,
    );
  });
});

test('the plan keeps to what all have and converts as few as it can', () => {
  const lay = (sampleRate: number, shared = whole) => ({ sampleRate, alignment: straight, shared });
  const plan = fairPlan(
    [lay(44_100), lay(96_000, { startSeconds: 2, endSeconds: 11 }), lay(96_000), lay(44_100)],
    [...sections, { startSeconds: 10, endSeconds: 14 }],
  );
  expect(plan.sampleRate).toBe(44_100);
  expect(plan.common).toEqual({ startSeconds: 2, endSeconds: 11 });
  expect(plan.sections.map(({ startSeconds, frames }) => [startSeconds, frames])).toEqual([
    [2, 4 * 44_100],
    [7.5, 3.5 * 44_100],
  ]);
  expect(plan.leftOut).toEqual([{ startSeconds: 10, endSeconds: 14 }]);
  expect(plan.cuts[0][0]).toEqual({ start: 2 * 44_100, drift: 0 });
  expect(fairPlan([lay(8000), lay(8000)], sections).sampleRate).toBe(44_100);
});

test('gains turn down to the quietest, and further for a peak', () => {
  const levels = [
    { lufs: -10, truePeakDbtp: -0.5 },
    { lufs: -14, truePeakDbtp: -0.2 },
  ];
  const { targetLufs, gainsDb } = sectionGains(levels, -1)!;
  expect(targetLufs).toBeCloseTo(-14.8, 9);
  expect(gainsDb.map((gain) => Number(gain.toFixed(9)))).toEqual([-4.8, -0.8]);
});

test.each([
  ['low', 3500, 4000, 4500],
  ['mid', 7000, 8000, 9000],
] as const)('the %s anchor: flat to %i Hz, 25 dB down at %i, 50 dB at %i', (which, flat, down25, down50) => {
  const gainAt = (hertz: number) => {
    const frames = 12_000;
    const tone = Float32Array.from({ length: frames }, (_, n) =>
      Math.sin((2 * Math.PI * hertz * n) / 48_000),
    );
    const [out] = anchorOf({ sampleRate: 48_000, channels: [tone] }, which).channels;
    const power = (samples: Float32Array) => samples.subarray(3000, 9000).reduce((sum, x) => sum + x * x, 0);
    return powerToDb(power(out) / power(tone));
  };
  for (const hertz of [100, flat / 2, flat * 0.9, flat]) expect(Math.abs(gainAt(hertz))).toBeLessThan(0.1);
  expect(gainAt(down25)).toBeLessThan(-25);
  expect(gainAt(down50)).toBeLessThan(-50);
});

describe('recognising what came back', () => {
  test('a master is accepted, with what is odd about it; another song is refused', async () => {
    const driven = mapChannels(play(1, { seconds, rate, delaySamples: 90 }), (samples) =>
      samples.map((x) => -Math.tanh(4 * x)),
    );
    const back = recogniseMaster(await changeBetween(mix, driven), seconds);
    expect(back).toMatchObject({
      accepted: true,
      notes: [expect.stringContaining('upside down (both channels)')],
    });
    const other = recogniseMaster(await changeBetween(mix, play(900, { seconds, rate })), seconds);
    expect(other).toMatchObject({
      accepted: false,
      reason: expect.stringContaining('not a master of that mix'),
    });
  });

  test('a short piece, another take and another edit are refused with the reason', async () => {
    const copy = await changeBetween(mix, mix);
    const same = copy.same!;
    const changed = (change: Partial<VersionChange>) => recogniseMaster({ ...copy, ...change }, seconds);
    expect(changed({ similarity: 0.4 })).toMatchObject({ reason: expect.stringContaining('40 %') });
    const shared = { startSeconds: 0, endSeconds: 4 };
    expect(changed({ same: { ...same, length: { ...same.length, shared } } })).toMatchObject({
      reason: 'It holds only 29 % of the mix.',
    });
    expect(changed({ same: { ...same, unlike: [{ startSeconds: 1, endSeconds: 6 }] } })).toMatchObject({
      reason: expect.stringContaining('another edit'),
    });
    const alignment = { ...same.alignment, inverted: [true, false], swapped: true, driftPpm: 40 };
    expect(changed({ same: { ...same, alignment } })).toMatchObject({
      accepted: true,
      notes: [
        expect.stringContaining('One channel is upside down'),
        expect.stringContaining('changed places'),
        expect.stringContaining('40 parts in a million slower'),
      ],
    });
  });
});
