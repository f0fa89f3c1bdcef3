import { createHash } from 'node:crypto';
import { expect, test } from 'vitest';
import type { DemoFault } from '../demo-index.ts';
import { master } from '../mastering/master.ts';
import { faultyTake, goodTake } from '../mastering/takes.ts';
import { truePeak } from '../mastering/true-peak.ts';
import { equalise } from '../mixing/equaliser.ts';
import { loudnessLufs } from '../mixing/loudness.ts';
import { type Stereo, samplePeak } from '../mixing/stereo.ts';
import { references } from '../references/index.ts';
import { saltInTheRadio } from './salt-in-the-radio.ts';

const db = (x: number) => 20 * Math.log10(x);
const rate = saltInTheRadio.sampleRate;
const mix = saltInTheRadio.mix(1);
/** Seven seconds of the full band. */
const part = {
  left: mix.left.subarray(7.5 * rate, 14.5 * rate),
  right: mix.right.subarray(7.5 * rate, 14.5 * rate),
};
const needs = saltInTheRadio.needs;
const loudness = (s: Stereo) => loudnessLufs([s.left, s.right], rate);
const take = (fault: DemoFault | null) =>
  master(part, rate, fault ? faultyTake(fault, needs) : goodTake(needs));

/** Level below 110 Hz against the loudness of the whole, dB. */
function bassShare(sound: Stereo): number {
  const low = equalise(sound.left.slice(), rate, [
    { kind: 'highcut', hz: 110 },
    { kind: 'highcut', hz: 110 },
  ]);
  const rms = Math.sqrt(low.reduce((sum, x) => sum + x * x, 0) / low.length);
  return db(rms) - loudness(sound);
}

test('played twice, an excerpt is the same to the last bit', () => {
  const once = () => {
    const { left, right } = references[0].mix(1);
    return createHash('sha256')
      .update(new Uint8Array(left.buffer))
      .update(new Uint8Array(right.buffer))
      .digest('hex');
  };
  expect(once()).toBe(once());
});

test('a mix has headroom, nothing limits it, it starts and ends in silence', () => {
  expect(db(samplePeak(mix))).toBeCloseTo(-3.5, 2);
  expect(db(truePeak(mix)) - loudness(mix)).toBeGreaterThan(13);
  for (const side of [mix.left, mix.right]) {
    expect(side.subarray(0, 0.05 * rate).every((x) => x === 0)).toBe(true);
    expect(side.subarray(side.length - 0.1 * rate).every((x) => x === 0)).toBe(true);
    expect(Math.abs(side.reduce((a, b) => a + b, 0) / side.length)).toBeLessThan(1e-5);
  }
});

test('the good master lands between -1.5 and -1.2 dBTP with life left in it', () => {
  const good = take(null);
  const peak = db(truePeak(good));
  expect(peak).toBeGreaterThan(-1.5);
  expect(peak).toBeLessThan(-1.2);
  expect(peak - loudness(good)).toBeGreaterThan(10);
});

test('each faulty master has its fault and no other', () => {
  const good = bassShare(take(null));
  const overs = take('overs');
  expect(db(samplePeak(overs))).toBeCloseTo(0, 2);
  expect(db(truePeak(overs))).toBeGreaterThan(0.5);
  expect(Math.abs(bassShare(overs) - good)).toBeLessThan(2);
  expect(db(truePeak(overs)) - loudness(overs)).toBeGreaterThan(9.5);

  const bassy = take('bassy');
  expect(bassShare(bassy) - good).toBeGreaterThan(3);
  expect(db(truePeak(bassy))).toBeLessThan(-1.2);
  expect(db(truePeak(bassy)) - loudness(bassy)).toBeGreaterThan(10);

  const thin = take('thin');
  expect(good - bassShare(thin)).toBeGreaterThan(4);
  expect(db(truePeak(thin))).toBeLessThan(-2.9);
  expect(db(truePeak(thin)) - loudness(thin)).toBeLessThan(8);
});
