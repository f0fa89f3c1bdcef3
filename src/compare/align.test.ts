import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Pcm } from '../audio/pcm.ts';
import { confirmDelay, findDelay } from './align.ts';
import { shiftPcm } from './align-shift.ts';

const rate = 44_100;

function random(seed: number): () => number {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) | 0;
    return state / 2 ** 31;
  };
}

/** 100 partials with their own beats, up to `topHz`: known at any time, between samples too. */
function orchestra(seed: number, topHz = 18_000): (seconds: number) => number {
  const next = random(seed);
  const partials = Array.from({ length: 100 }, () => ({
    omega: 2 * Math.PI * topHz * Math.abs(next()),
    phase: Math.PI * next(),
    beat: 2 + 5 * Math.abs(next()),
  }));
  return (t) =>
    partials.reduce(
      (sum, p) => sum + Math.sin(p.omega * t + p.phase) * Math.sin(p.beat * t + 9 * p.phase),
      0,
    ) / 35;
}

function sampled(sound: (seconds: number) => number, frames: number, delaySamples = 0): Float32Array {
  return Float32Array.from({ length: frames }, (_, n) => sound((n - delaySamples) / rate));
}

function pcm(...channels: Float32Array[]): Pcm {
  return { sampleRate: rate, channels };
}

describe('findDelay', () => {
  const sound = orchestra(1);
  const original = sampled(sound, 30_000);

  test('finds fractional delays to a hundredth of a sample', () => {
    fc.assert(
      fc.property(fc.double({ min: -400, max: 1500, noNaN: true }), (delay) => {
        const late = sampled(sound, 30_000, delay);
        expect(Math.abs(findDelay(pcm(original), pcm(late))!.delaySamples - delay)).toBeLessThan(0.01);
      }),
      { seed: 2, numRuns: 12 },
    );
  });

  test('is not led astray by noise 12 dB below the sound', () => {
    const next = random(3);
    const late = sampled(sound, 30_000, 312.4).map((x) => x + 0.06 * next());
    const found = findDelay(pcm(original), pcm(late))!;
    expect(Math.abs(found.delaySamples - 312.4)).toBeLessThan(0.01);
    expect(found.likeness).toBeGreaterThan(0.7);
  });

  test('gives whole samples exactly when the difference is noise only', () => {
    const next = random(4);
    const late = sampled(sound, 30_000, 1105).map((x) => x + 0.1 * next());
    expect(Math.abs(findDelay(pcm(original), pcm(late))!.delaySamples - 1105)).toBeLessThan(0.01);
  });

  test('finds the delay of channels that cancel each other in mono', () => {
    const late = sampled(sound, 30_000, 77);
    const found = findDelay(
      pcm(
        original,
        original.map((x) => -x),
      ),
      pcm(
        late,
        late.map((x) => -x),
      ),
    );
    expect(found!.delaySamples).toBeCloseTo(77, 2);
  });

  test('finds the delay of a loop that grows louder each time, where a whole loop later there is more energy', () => {
    const next = random(7);
    const loop = sampled(sound, 4000);
    const grown = Float32Array.from({ length: 200_000 }, (_, n) => {
      const level = Math.min(1, 0.2 + n / 120_000);
      return level * (loop[n % 4000] + 0.02 * next());
    });
    const late = new Float32Array(201_000);
    late.set(grown, 500);
    expect(findDelay(pcm(grown), pcm(late))!.delaySamples).toBeCloseTo(500, 2);
  });

  test('takes the expected delay among those a steady tone allows', () => {
    const tone = (t: number) => Math.sin(2 * Math.PI * 441 * t);
    const a = pcm(sampled(tone, 40_000));
    const b = pcm(sampled(tone, 42_000, 1024));
    expect(findDelay(a, b, { expectedSamples: 1024 })!.delaySamples).toBeCloseTo(1024, 2);
  });

  test('reads the onset after a long silence', () => {
    const a = new Float32Array(200_000);
    a.set(original.subarray(0, 20_000), 150_000);
    const b = new Float32Array(200_000);
    b.set(original.subarray(0, 20_000), 151_105);
    expect(findDelay(pcm(a), pcm(b))!.delaySamples).toBeCloseTo(1105, 2);
  });

  test('finds one sample in silence', () => {
    const b = new Float32Array(3000);
    b.set([0.1, 0.5, 0.1], 1023);
    expect(findDelay(pcm(Float32Array.of(0.5)), pcm(b))!.delaySamples).toBe(1024);
  });

  test('has nothing to say of silence', () => {
    const silence = pcm(new Float32Array(5000));
    expect(findDelay(silence, pcm(original))).toBeNull();
    expect(findDelay(pcm(original), silence)).toBeNull();
  });
});

describe('confirmDelay', () => {
  const sound = orchestra(3);
  const original = sampled(sound, 30_000);

  test('the delay that was expected, to a hundredth of a sample, as the full search gives it', () => {
    const late = pcm(sampled(sound, 30_000, 1104.98));
    const confirmed = confirmDelay(pcm(original), late, 1105)!;
    expect(Math.abs(confirmed.delaySamples - 1104.98)).toBeLessThan(0.01);
    expect(confirmed.delaySamples).toBeCloseTo(findDelay(pcm(original), late)!.delaySamples, 3);
  });

  test('another one than expected is found all the same, near or far', () => {
    for (const delay of [2, 1103, -700]) {
      const late = pcm(sampled(sound, 30_000, delay));
      expect(confirmDelay(pcm(original), late, 1105)!.delaySamples).toBeCloseTo(delay, 1);
    }
  });

  test('a sound that is silent in the middle is read where it is not; silence has no delay', () => {
    const long = new Float32Array(2 ** 21);
    long.set(original);
    const late = new Float32Array(2 ** 21);
    late.set(original, 312);
    expect(confirmDelay(pcm(long), pcm(late), 312)!.delaySamples).toBeCloseTo(312, 1);
    expect(confirmDelay(pcm(new Float32Array(9000)), pcm(new Float32Array(9000)), 0)).toBeNull();
  });
});

describe('shiftPcm', () => {
  const sound = orchestra(5);

  test('undoes a fractional delay: what is left is under -80 dB', () => {
    const original = sampled(sound, 4000);
    for (const delay of [0.5, -0.3, 12.25, 100.03]) {
      const restored = shiftPcm(pcm(sampled(sound, 4200, delay)), delay, 4000).channels[0];
      let [error, power] = [0, 0];
      for (let n = 200; n < 3800; n++) {
        error += (restored[n] - original[n]) ** 2;
        power += original[n] ** 2;
      }
      expect(10 * Math.log10(error / power)).toBeLessThan(-80);
    }
  });

  test('whole delays change no sample, and the length is what was asked for', () => {
    const samples = sampled(sound, 1000);
    fc.assert(
      fc.property(
        fc.integer({ min: -1200, max: 1200 }),
        fc.integer({ min: 0, max: 1500 }),
        (delay, frames) => {
          const shifted = shiftPcm(pcm(samples), delay, frames).channels[0];
          expect(shifted).toEqual(Float32Array.from({ length: frames }, (_, n) => samples[n + delay] ?? 0));
        },
      ),
      { seed: 6, numRuns: 50 },
    );
  });

  test('leaves fractions alone that are below what the delay is known to', () => {
    const samples = sampled(sound, 100);
    expect(shiftPcm(pcm(samples), 0.015, 100).channels[0]).toEqual(samples);
  });
});
