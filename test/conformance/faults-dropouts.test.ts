import { describe, expect, test } from 'vitest';
import { between, cases, chance, countOf, faultsOf, music, quantised } from './faults-sound.ts';

const rates = [44_100, 48_000, 96_000];
const rateOf = (seed: number) => rates[seed % rates.length];
const clean = (seed: number) => music(seed, rateOf(seed) > 50_000 ? 0.8 : 1.4, rateOf(seed));

describe(`dropouts, ${cases} seeded pieces of music of five styles at three rates`, () => {
  test('clean music: false alarms in less than 1 %', () => {
    const alarms = countOf((seed) => faultsOf([clean(seed)], rateOf(seed)).dropouts.count > 0);
    expect(alarms).toBeLessThan(0.01 * cases);
  });

  test('notes that are gated to zeros within 3 to 8 ms and come back at once: false alarms in less than 1 %', () => {
    const alarms = countOf((seed) => {
      const rate = rateOf(seed);
      const next = chance(seed + 4000);
      const samples = music(seed, 1, rate, 'limited');
      for (let at = 0.2 * rate; at < 0.8 * rate; ) {
        const [fade, rest] = [between(next, 0.003, 0.008) * rate, between(next, 0.02, 0.2) * rate];
        at = Math.round(at);
        for (let n = 0; n < fade + rest; n++) samples[at + n] *= Math.max(0, 1 - n / fade);
        at += fade + rest + 0.1 * rate;
      }
      return faultsOf([samples], rate).dropouts.count > 0;
    });
    expect(alarms).toBeLessThan(0.01 * cases);
  });

  test('clean music in 8 bits, dithered or not, where zeros in a row are nothing strange', () => {
    const alarms = countOf((seed) => {
      const coarse = quantised(
        clean(seed).map((x) => 0.1 * x),
        8,
        seed % 2 ? chance(seed) : null,
      );
      return faultsOf([coarse], rateOf(seed)).dropouts.count > 0;
    });
    expect(alarms).toBeLessThan(0.01 * cases);
  });

  // A bound a little above what was counted: holes that begin where a slow wave crosses zero, or end in its decay.
  test('holes of 4 to 200 ms where there is sound, in one of two channels', () => {
    const missed = countOf((seed) => {
      const rate = rateOf(seed);
      const next = chance(seed + 1000);
      const whole = clean(seed);
      const samples = whole.slice();
      const frames = Math.round(rate * between(next, 0.004, 0.2));
      let at = 0;
      for (let tries = 0; tries < 400; tries++) {
        at = Math.round(samples.length * between(next, 0.1, 0.7));
        const level = (from: number) =>
          samples.subarray(from, from + rate * 0.004).reduce((high, x) => Math.max(high, Math.abs(x)), 0);
        if (level(at - rate * 0.004) > 0.02 && level(at + frames) > 0.02) break;
      }
      samples.fill(0, at, at + frames);
      const { dropouts } = faultsOf([whole, samples], rate).dropouts;
      return !dropouts.some(
        ({ channel, startSeconds, endSeconds }) =>
          channel === 1 &&
          Math.abs(startSeconds - at / rate) < 0.001 &&
          Math.abs(endSeconds - (at + frames) / rate) < 0.001,
      );
    });
    expect(missed).toBeLessThanOrEqual(36);
  });
});
