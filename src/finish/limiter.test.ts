import { describe, expect, test } from 'vitest';
import { heightOf, nastySound, sine, throughPart } from '../../test/finish-sound.ts';
import { seeded, seededMix } from '../../test/seeded-sound.ts';
import { TruePeakMeter } from '../measure/true-peak.ts';
import { doubles, floats, instantiateKernels } from '../signal/kernels.ts';
import { heightBounds, heightFactor, heightPhases, heightTables, heightTaps } from './limiter-tables.ts';

const db = (amplitude: number) => 20 * Math.log10(amplitude);
/** Seeds of nasty sounds; all 500 with EVERYROOM_ALL_SEEDS=1. */
const seeds = Array.from({ length: process.env.EVERYROOM_ALL_SEEDS ? 500 : 40 }, (_, i) => i + 1);

test('the true peak is never over the ceiling by 0.02 dB, whatever comes', { timeout: 300_000 }, () => {
  for (const seed of seeds) {
    const ceilingDbtp = [-1, -0.1, -6][seed % 3];
    const settings = {
      ceilingDbtp,
      lookAheadMs: [0.3, 0.5, 5][seed % 3],
      releaseMs: [1, 4, 200][Math.floor(seed / 3) % 3],
    };
    const [out] = throughPart('limiter', settings, [nastySound(seed, 1200)], { after: 0 });
    expect(db(heightOf(out)) - ceilingDbtp, `seed ${seed}`).toBeLessThan(0.02);
  }
});

test.each([22050, 44100, 48000, 96000, 192000])('and for something like music at %i Hz', (sampleRate) => {
  const mix = seededMix(5, { sideDb: -6, seconds: 0.4, sampleRate });
  const out = throughPart('limiter', { gainDb: 14, ceilingDbtp: -1 }, mix.channels, { sampleRate });
  const meter = new TruePeakMeter(sampleRate, 2);
  meter.push({ sampleRate, channels: out });
  const { truePeakDbtp } = meter.finish();
  expect(truePeakDbtp).toBeLessThan(-1 + 0.02);
  // It is not kept lower than it must be.
  expect(truePeakDbtp).toBeGreaterThan(-1.2);
});

test('a sound under the ceiling passes bit by bit, and again soon after one that did not', () => {
  const input = new Float32Array(96000);
  input.set(sine(500, 0.7, 96000));
  input.set(sine(500, 1.8, 480), 4800);
  const [out] = throughPart('limiter', { ceilingDbtp: -1 }, [input]);
  const same = (from: number, to: number) => out.subarray(from, to).every((x, i) => x === input[from + i]);
  expect(same(0, 4000)).toBe(true);
  expect(same(72000, 96000)).toBe(true);
});

test('one gain for both sides: the picture does not move', () => {
  const loud = sine(300, 2, 9600);
  const soft = sine(300, 0.2, 9600);
  const [a, b] = throughPart('limiter', {}, [loud, soft]);
  for (let n = 1000; n < 8000; n += 7) expect(a[n] * 0.1).toBeCloseTo(b[n], 5);
});

test('release by the programme: soon up after a lone peak, slowly after much', () => {
  const gainLater = (loudFrames: number) => {
    const end = 48000;
    const input = sine(1000, 0.1, end + 9600);
    input.set(sine(1000, 2, loudFrames), end - loudFrames);
    const [out] = throughPart('limiter', { releaseMs: 40 }, [input]);
    // 120 ms after the end
    return db(Math.max(...out.subarray(end + 5760, end + 5856)) / 0.1);
  };
  expect(gainLater(48)).toBeGreaterThan(-0.6);
  expect(gainLater(40000)).toBeLessThan(-3);
});

describe('kernels and their plain twins', () => {
  const samples = Float32Array.from(nastySound(77, 1400));

  /** Highest |waveform| of each interval, everything computed. */
  function heights(frames: number): Float64Array {
    const phases = heightPhases();
    return Float64Array.from({ length: frames }, (_, i) => {
      let highest = 0;
      for (const phase of phases) {
        let sum = 0;
        for (let k = 0; k < heightTaps; k++) sum += phase[k] * (samples[i - heightTaps / 2 + 1 + k] ?? 0);
        highest = Math.max(highest, Math.abs(sum));
      }
      return Math.max(highest, Math.abs(samples[i + 1] ?? 0));
    });
  }

  test('raiseHeights finds every height above the ceiling, and nothing that is not there', () => {
    const kernels = instantiateKernels();
    const tables = heightTables();
    const pointer = kernels.allocate(tables.byteLength);
    floats(kernels, pointer, tables.length).set(tables);
    const room = kernels.allocate(4 * 2000);
    floats(kernels, room, 2000).set(samples, 200);
    const out = kernels.allocate(4 * 1400);
    const wanted = heights(1200);
    for (const ceiling of [0.3, 1, 2.5, 6]) {
      floats(kernels, out, 1400).fill(0);
      kernels.raiseHeights(room + 800, 1200, ceiling, pointer, out);
      floats(kernels, out, 1200).forEach((height, i) => {
        if (wanted[i] > ceiling * 1.0001) expect(height).toBeCloseTo(wanted[i], 4);
        else if (wanted[i] < ceiling * 0.9999) expect(height).toBeLessThanOrEqual(ceiling);
      });
    }
  });

  test('the bounds hold for the filters as they are', () => {
    const { sampleGain, gridGain, gridRest } = heightBounds();
    const random = seeded(4);
    const phases = heightPhases();
    for (let round = 0; round < 300; round++) {
      const p = round % heightFactor;
      // Signs that follow one filter are the worst there is for it.
      const x = Float64Array.from({ length: heightTaps + 1 }, (_, k) =>
        round < 32 ? Math.sign(phases[p][k] ?? 1) : 2 * random() - 1,
      );
      const at = (phase: number, shift = 0) =>
        Math.abs(phases[phase].reduce((sum, h, k) => sum + h * x[k + shift], 0));
      const grid = Math.max(at(0), at(4), at(8), at(12), at(0, 1));
      for (let phase = 0; phase < heightFactor; phase++) {
        expect(at(phase)).toBeLessThanOrEqual(sampleGain);
        expect(at(phase)).toBeLessThanOrEqual(gridGain * grid + gridRest);
      }
    }
  });

  test('followHeights does what its sentences say', () => {
    const random = seeded(9);
    const frames = 700;
    const window = 20;
    const lengths = [7, 8, 7] as const;
    const input = Float32Array.from({ length: frames }, () =>
      random() < 0.05 ? 1 + 3 * random() : random(),
    );
    const [ceiling, release, fall, rise] = [0.9, 0.01, 0.001, 0.0005];
    const kernels = instantiateKernels();
    const size = 32;
    const [heightRoom, settings, state, rings, gains] = [4 * frames, 64, 96, 8 * 5 * size, 4 * frames].map(
      (bytes) => kernels.allocate(bytes),
    );
    floats(kernels, heightRoom, frames).set(input);
    doubles(kernels, settings, 8).set([ceiling, window, ...lengths, release, fall, rise]);
    const whole = 2 ** 30;
    doubles(kernels, state, 12).set([0, 1, 1, 7 * whole, 8 * whole, 7 * whole]);
    doubles(kernels, rings, 5 * size).fill(whole, 2 * size);
    kernels.followHeights(heightRoom, frames, settings, state, rings, size, gains);

    const needs = Array.from(input, (height, i) =>
      Math.min(1, ceiling / Math.max(height, input[i - 1] ?? 0)),
    );
    let [fast, slow] = [1, 1];
    let row: number[] = needs.map((_, i) => {
      const held = Math.min(1, ...needs.slice(Math.max(0, i - window + 1), i + 1));
      slow += (held - slow) * (held < slow ? fall : rise);
      fast = held < fast ? held : fast + (held - fast) * release;
      return Math.min(fast, slow);
    });
    for (const length of lengths)
      row = row.map((_, i) => {
        let sum = 0;
        for (let k = 0; k < length; k++) sum += row[i - k] ?? 1;
        return sum / length;
      });
    floats(kernels, gains, frames).forEach((gain, i) => {
      expect(gain).toBeCloseTo(row[i], 5);
      // What the limiter promises: a sample leaves with no more gain than it needs.
      if (i >= window) expect(gain).toBeLessThanOrEqual(needs[i - window + 1] + 1e-6);
    });
  });
});
