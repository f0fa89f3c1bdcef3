import { expect, test } from 'vitest';
import { faultless } from '../../test/faultless.ts';
import type { Pcm } from '../audio/pcm.ts';
import { fitnessOf } from './fitness.ts';
import { measureSound } from './measure-sound.ts';

/** Decaying notes of many heights, as played. */
function played(): Float32Array {
  let state = 3;
  const next = () => {
    state = (Math.imul(state, 1664525) + 1013904223) | 0;
    return (state >>> 0) / 2 ** 32;
  };
  const out = new Float32Array(48_000 * 12);
  for (let at = 0; at < out.length - 30_000; at += 9000) {
    const [height, hz] = [0.05 + 0.35 * next() ** 2, 80 + 900 * next()];
    for (let n = 0; n < 30_000; n++)
      out[at + n] += height * Math.sin((2 * Math.PI * hz * n) / 48_000) * Math.exp(-n / 9000);
  }
  return out;
}

const fitness = async (channel: Float32Array) => {
  const pcm: Pcm = { sampleRate: 48_000, channels: [channel] };
  return (await measureSound([pcm], { sampleRate: 48_000, channels: 1, frames: channel.length })).fitness;
};

test('a mix as played has room and no limiting; driven into a ceiling it shows it', async () => {
  const mix = await fitness(played());
  expect(mix.busLimiting).toBe('none');
  expect(mix.headroomDb).toBeGreaterThan(4);
  const driven = await fitness(played().map((x) => 0.7 * Math.tanh(40 * x)));
  expect(driven.busLimiting).toBe('heavy');
  expect(driven.headroomDb).toBeLessThan(3.5);
});

test('the share near the top does not depend on level', async () => {
  const a = await fitness(played());
  const b = await fitness(played().map((x) => x / 4));
  expect(b.nearTopShare).toBeCloseTo(a.nearTopShare!, 2);
});

test('silence and very short sounds have no verdict on limiting', async () => {
  expect(await fitness(new Float32Array(200_000))).toMatchObject({
    headroomDb: null,
    nearTopShare: null,
    busLimiting: null,
    bits: null,
  });
  expect((await fitness(played().slice(0, 100_000))).busLimiting).toBeNull();
});

test('loudness over noise is told only where there is both', () => {
  const loudness = {
    integratedLufs: -20,
    rangeLu: 5,
    maxMomentaryLufs: -15,
    maxShortTermLufs: -17,
    reason: null,
  };
  const noisy = { ...faultless, noise: { ...faultless.noise, floorDbfs: -70 } };
  const given = [loudness, { truePeakDbtp: -6 }] as const;
  expect(fitnessOf(90, ...given, noisy, { nearTopShare: 0 }).loudnessOverNoiseDb).toBe(50);
  expect(fitnessOf(90, ...given, faultless, { nearTopShare: 0 }).loudnessOverNoiseDb).toBeNull();
});
