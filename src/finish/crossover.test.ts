import { describe, expect, test } from 'vitest';
import { gainAtDb, impulseResponse, sine, throughPart } from '../../test/finish-sound.ts';
import { Crossover } from './crossover.ts';
import { PairBench } from './pair-filter.ts';

/** Impulse responses of the three bands. */
function bands(splits: readonly number[], frames: number, rate: number): Float64Array[] {
  const bench = new PairBench();
  const crossover = new Crossover(bench, splits, rate);
  const out = Array.from({ length: splits.length + 1 }, () => new Float64Array(frames));
  for (let at = 0; at < frames; at += 1000) {
    const block = new Float32Array(1000);
    if (at === 0) block[0] = 1;
    bench.load([block]);
    crossover.split(1000).forEach((pairs, b) => {
      for (let i = 0; i < 1000; i++) out[b][at + i] = pairs[2 * i];
    });
  }
  return out;
}

describe.each([44100, 48000, 192000])('crossovers at %i Hz', (rate) => {
  const responses = bands([200, 4000], 30000, rate);
  test('add up flat within 0.01 dB', () => {
    const sum = responses[0].map((x, n) => x + responses[1][n] + responses[2][n]);
    for (let hertz = 15; hertz < 20000; hertz *= 1.15)
      expect(Math.abs(gainAtDb(sum, hertz, rate))).toBeLessThan(0.01);
  });

  test('stand at -6.02 dB where they cross, and fall 24 dB an octave', () => {
    expect(gainAtDb(responses[0], 200, rate)).toBeCloseTo(-6.02, 1);
    expect(gainAtDb(responses[1], 200, rate)).toBeCloseTo(-6.02, 1);
    expect(gainAtDb(responses[2], 4000, rate)).toBeCloseTo(-6.02, 1);
    expect(gainAtDb(responses[0], 1600, rate)).toBeLessThan(-70);
    expect(gainAtDb(responses[2], 500, rate)).toBeLessThan(-70);
  });
});

test('a three-band compressor that does nothing yet is flat within 0.01 dB', () => {
  // Ratio 1 with make-up in one band would be heard; a threshold that nothing reaches is not.
  const idle = { ratio: 4, thresholdDbfs: 0, kneeDb: 0 };
  const settings = { low: idle, middle: idle, high: idle };
  const response = impulseResponse('multiband', settings, 30000, 48000);
  for (let hertz = 15; hertz < 20000; hertz *= 1.3)
    expect(Math.abs(gainAtDb(response, hertz, 48000))).toBeLessThan(0.01);
});

describe('width', () => {
  const rms = (x: Float32Array) => Math.sqrt(x.slice(-4800).reduce((sum, v) => sum + v * v, 0) / 4800);
  const side = (hertz: number, settings: object) => {
    const tone = sine(hertz, 0.5, 14400);
    const [left, right] = throughPart('width', settings, [tone, tone.map((x) => -x)]);
    return 20 * Math.log10(rms(left.map((x, n) => (x - right[n]) / 2)) / rms(tone));
  };
  const mid = (hertz: number, settings: object) => {
    const tone = sine(hertz, 0.5, 14400);
    const [left, right] = throughPart('width', settings, [tone, tone]);
    expect(right).toEqual(left);
    return 20 * Math.log10(rms(left) / rms(tone));
  };
  test('mono below: the side falls at 24 dB an octave, the middle stays', () => {
    const settings = { monoBelowHertz: 120 };
    expect(side(120, settings)).toBeCloseTo(-6.02, 1);
    expect(side(30, settings)).toBeLessThan(-46);
    expect(side(2000, settings)).toBeCloseTo(0, 2);
    for (const hertz of [40, 120, 400]) expect(mid(hertz, settings)).toBeCloseTo(0, 2);
  });
  test('by band: each percentage at its own frequencies', () => {
    const settings = { lowPercent: 0, middlePercent: 50, highPercent: 200 };
    expect(side(40, settings)).toBeLessThan(-35);
    expect(side(900, settings)).toBeCloseTo(-6.02, 1);
    expect(side(18000, settings)).toBeCloseTo(6.02, 1);
    for (const hertz of [60, 200, 900, 4000, 15000]) expect(mid(hertz, settings)).toBeCloseTo(0, 2);
  });
});

test('the sub filter takes DC away and has -3 dB where it is set', () => {
  const response = impulseResponse('sub-filter', { hertz: 25, slope: '24' }, 60000, 48000);
  expect(gainAtDb(response, 25, 48000)).toBeCloseTo(-3.01, 1);
  expect(gainAtDb(response, 12.5, 48000)).toBeCloseTo(-24.1, 0);
  expect(gainAtDb(response, 0, 48000)).toBeLessThan(-100);
  expect(gainAtDb(response, 100, 48000)).toBeCloseTo(0, 2);
});
