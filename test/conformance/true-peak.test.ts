import { describe, expect, test } from 'vitest';
import type { Pcm } from '../../src/audio/pcm.ts';
import { TruePeakMeter } from '../../src/measure/true-peak.ts';
import { amplitudeToDb } from '../../src/signal/decibels.ts';
import { kaiser, sinc } from '../../src/signal/interpolation.ts';
import { inAll, musicLike, whiteNoise } from './loudness-signals.ts';

function read(pcm: Pcm) {
  const meter = new TruePeakMeter(pcm.sampleRate, pcm.channels.length);
  meter.push(pcm);
  return meter.finish();
}

/** A sine of `cycles` per sample with 10 ms fades, so that its ends do not ring. */
function fadedSine(cycles: number, amplitude: number, degrees: number, frames = 24000): Float32Array {
  const fade = 480;
  return Float32Array.from({ length: frames }, (_, n) => {
    const edge = Math.min(1, n / fade, (frames - 1 - n) / fade);
    const gain = 0.5 - 0.5 * Math.cos(Math.PI * edge);
    return amplitude * gain * Math.sin(2 * Math.PI * cycles * n + (degrees * Math.PI) / 180);
  });
}

/** Highest |waveform| on a grid of `factor` points a sample, from 512 samples a value: as good as ideal. */
function reference(samples: Float32Array, factor: number): number {
  const reach = 256;
  let peak = 0;
  for (let p = 0; p < factor; p++) {
    const filter = Float64Array.from({ length: 2 * reach }, (_, k) => {
      const distance = p / factor + reach - 1 - k;
      return sinc(distance) * kaiser(distance / reach, 10);
    });
    for (let n = -32; n < samples.length + 32; n++) {
      let sum = 0;
      const from = Math.max(0, reach - 1 - n);
      const to = Math.min(2 * reach, samples.length + reach - 1 - n);
      for (let k = from; k < to; k++) sum += filter[k] * samples[n - reach + 1 + k];
      peak = Math.max(peak, Math.abs(sum));
    }
  }
  return amplitudeToDb(peak);
}

describe('EBU Tech 3341 v4, signals 15 to 19 (tolerance +0.2/-0.4 dB)', () => {
  test.for([
    [15, 1 / 4, 0.5, 0, -6],
    [16, 1 / 4, 0.5, 45, -6],
    [17, 1 / 6, 0.5, 60, -6],
    [18, 1 / 8, 0.5, 67.5, -6],
    [19, 1 / 4, 1.41, 45, 3],
  ] as const)('signal %i', ([, cycles, amplitude, degrees, expected]) => {
    for (const rate of [44100, 48000, 96000]) {
      const { truePeakDbtp } = read(inAll(fadedSine(cycles, amplitude, degrees), 2, rate));
      expect(truePeakDbtp).toBeLessThanOrEqual(expected + 0.2);
      expect(truePeakDbtp).toBeGreaterThanOrEqual(expected - 0.4);
    }
  });
});

test.for([0, 1, 2, 3])(
  'EBU Tech 3341 v4, signals 20 to 23: one loud period between samples, offset %i (tolerance +0.2/-0.4 dB)',
  (offset) => {
    // Made at four times the rate as the standard says; splice and low-pass are left open by it: here the loud
    // period follows phase-continuous, and 1024 samples of a Kaiser-windowed sinc pass up to 0.45 of the rate.
    const frames = 16000;
    const middle = Math.floor(frames / 2 / 24) * 24;
    let phase = 0;
    const dense = Float64Array.from({ length: frames }, (_, n) => {
      const loud = n >= middle && n < middle + 16;
      const value = (loud ? 1 : 0.5) * Math.sin(phase);
      phase += (2 * Math.PI * (loud ? 1 / 4 : 1 / 6)) / 4;
      return value;
    });
    const fade = (n: number) => Math.min(1, n / 800, (frames - 1 - n) / 800);
    const reach = 512;
    const filter = Float64Array.from({ length: 2 * reach + 1 }, (_, k) => {
      const distance = (k - reach) / 4;
      return (0.95 / 4) * sinc(0.95 * distance) * kaiser((k - reach) / reach, 8);
    });
    const samples = Float32Array.from({ length: frames / 4 }, (_, i) => {
      let sum = 0;
      for (let k = -reach; k <= reach; k++) {
        const n = 4 * i + offset + k;
        if (n >= 0 && n < frames) sum += dense[n] * fade(n) * filter[k + reach];
      }
      return sum;
    });
    const { truePeakDbtp } = read(inAll(samples, 2));
    expect(truePeakDbtp).toBeLessThanOrEqual(0.2);
    expect(truePeakDbtp).toBeGreaterThanOrEqual(-0.4);
  },
);

describe('against a 64x reference made from 512 samples a value', () => {
  test.for([0.01, 0.1, 0.23, 0.25, 0.31, 1 / 3, 0.37, 0.4, 0.43, 0.45])(
    'a sine of %f of the sample rate reads its amplitude within 0.05 dB',
    (cycles) => {
      for (const degrees of [0, 17, 45, 67.5, 90]) {
        // Long enough that some sample interval holds the very top.
        const { truePeakDbtp } = read(inAll(fadedSine(cycles, 0.8, degrees), 1));
        expect(Math.abs(truePeakDbtp! - amplitudeToDb(0.8))).toBeLessThan(0.05);
      }
    },
  );

  test.for([1, 2, 3, 4, 5, 6])('something like music, seed %i, within 0.05 dB', (seed) => {
    const channels = musicLike(seed, 0.12, 48000).channels.map((samples) => lowPassed(samples));
    const expected = Math.max(...channels.map((samples) => reference(samples, 64)));
    const { truePeakDbtp } = read({ sampleRate: 48000, channels });
    expect(Math.abs(truePeakDbtp! - expected)).toBeLessThan(0.05);
  });

  test.for([1, 2, 3, 4, 5, 6])('clipped noise, seed %i, within 0.05 dB, overs found', (seed) => {
    const samples = lowPassed(clippedNoise(seed));
    const reading = read(inAll(samples, 1));
    expect(Math.abs(reading.truePeakDbtp! - reference(samples, 64))).toBeLessThan(0.05);
    expect(reading.overCount).toBeGreaterThan(0);
  });

  test.for([1, 2, 3, 4, 5, 6])(
    'a smooth sound clipped at the sample rate itself, seed %i: its splinters reach half the rate, within 0.2 dB',
    (seed) => {
      const samples = lowPassed(whiteNoise(seed, 3000, 1.6), 0.35).map((x) => Math.max(-1, Math.min(1, x)));
      expect(Math.abs(read(inAll(samples, 1)).truePeakDbtp! - reference(samples, 64))).toBeLessThan(0.2);
    },
  );
});

function clippedNoise(seed: number): Float32Array {
  return whiteNoise(seed, 3000, 1.6).map((x) => Math.max(-1, Math.min(1, x)));
}

/** What a converter or resampler leaves of a sound: nothing above 0.45 of the sample rate (or `cycles` + 0.02). */
function lowPassed(samples: Float32Array, cycles = 0.43): Float32Array {
  const reach = 128;
  const filter = Float64Array.from({ length: 2 * reach + 1 }, (_, k) => {
    const distance = k - reach;
    return 2 * cycles * sinc(2 * cycles * distance) * kaiser(distance / reach, 8);
  });
  return samples.map((_, n) => filter.reduce((sum, h, k) => sum + h * (samples[n + reach - k] ?? 0), 0));
}
