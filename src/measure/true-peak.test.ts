import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Pcm } from '../audio/pcm.ts';
import { slicePcm } from '../audio/pcm.ts';
import { amplitudeToDb } from '../signal/decibels.ts';
import { truePeakPhases, truePeakTaps } from '../signal/true-peak-tables.ts';
import { TruePeakMeter } from './true-peak.ts';

function read(pcm: Pcm, cuts: readonly number[] = []) {
  const meter = new TruePeakMeter(pcm.sampleRate, pcm.channels.length);
  let from = 0;
  for (const to of [...cuts, pcm.channels[0].length]) {
    meter.push(slicePcm(pcm, from, to));
    from = to;
  }
  return meter.finish();
}

/** The plain twin: every sixteenth everywhere, nothing skipped. Highest |waveform| of each sample interval. */
function intervalPeaks(samples: Float32Array): Float64Array {
  const phases = truePeakPhases();
  const reach = truePeakTaps / 2;
  return Float64Array.from({ length: samples.length + 2 * reach }, (_, i) => {
    const n = i - reach;
    let peak = 0;
    for (const phase of phases) {
      let sum = 0;
      for (let k = 0; k < truePeakTaps; k++) sum += phase[k] * (samples[n - reach + 1 + k] ?? 0);
      peak = Math.max(peak, Math.abs(sum));
    }
    return peak;
  });
}

const mono = (samples: Float32Array, sampleRate = 48000): Pcm => ({ sampleRate, channels: [samples] });

/** Signals made to defeat pruning: signs that follow the filters, lone spikes after loud stretches, level steps, tones near half the rate that top out between grid points. */
const nasty = fc
  .array(
    fc.oneof(
      fc.tuple(
        fc.constant('noise'),
        fc.integer({ min: 1, max: 400 }),
        fc.double({ min: 0, max: 1.3, noNaN: true }),
      ),
      fc.tuple(
        fc.constant('alternate'),
        fc.integer({ min: 1, max: 80 }),
        fc.double({ min: 0, max: 1.3, noNaN: true }),
      ),
      fc.tuple(
        fc.constant('worst'),
        fc.integer({ min: 0, max: 15 }),
        fc.double({ min: 0, max: 1.3, noNaN: true }),
      ),
      fc.tuple(
        fc.constant('spike'),
        fc.integer({ min: 1, max: 90 }),
        fc.double({ min: 0, max: 1.3, noNaN: true }),
      ),
      fc.tuple(
        fc.constant('tone'),
        fc.integer({ min: 0, max: 15 }),
        fc.double({ min: 0, max: 1.3, noNaN: true }),
      ),
      fc.tuple(fc.constant('silence'), fc.integer({ min: 1, max: 300 }), fc.constant(0)),
    ),
    { minLength: 1, maxLength: 14 },
  )
  .chain((parts) =>
    fc.infiniteStream(fc.double({ min: -1, max: 1, noNaN: true })).map((random) => {
      const phases = truePeakPhases();
      return Float32Array.from(
        parts.flatMap(([kind, n, level]) => {
          if (kind === 'noise') return Array.from({ length: n }, () => level * (random.next().value ?? 0));
          if (kind === 'alternate') return Array.from({ length: n }, (_, i) => (i % 2 ? -level : level));
          if (kind === 'tone')
            return Array.from(
              { length: 80 },
              (_, i) =>
                level * Math.sin((Math.PI * i) / 80) * Math.cos(2 * Math.PI * 0.48 * (i - 40 - n / 16)),
            );
          if (kind === 'worst') return Array.from(phases[n], (h) => level * Math.sign(h));
          if (kind === 'spike') return Array.from({ length: n }, (_, i) => (i === n >> 1 ? level : 0));
          return new Array<number>(n).fill(0);
        }),
      );
    }),
  );

describe('TruePeakMeter', () => {
  test('finds what looking everywhere finds: pruning misses neither the maximum nor an over', () => {
    fc.assert(
      fc.property(nasty, (samples) => {
        const peaks = intervalPeaks(samples);
        const highest = peaks.reduce((a, b) => Math.max(a, b), 0);
        const reading = read(mono(samples));
        if (highest === 0) expect(reading.truePeakDbtp).toBeNull();
        // Single precision has no digits left among denormals.
        else if (highest > 1e-30)
          expect(Math.abs(reading.truePeakDbtp! - amplitudeToDb(highest))).toBeLessThan(1e-4);
        // Overs, unless one is so near full scale that rounding decides.
        const limit = 10 ** (0.001 / 20);
        if (peaks.some((peak) => Math.abs(peak - limit) < 1e-4)) return;
        let count = 0;
        let last = Number.NEGATIVE_INFINITY;
        peaks.forEach((peak, i) => {
          if (peak <= limit) return;
          if (i - last >= 48) count++;
          last = i + 1;
        });
        expect(reading.overCount).toBe(count);
      }),
      { numRuns: 200 },
    );
  });

  test('does not depend on how the sound is cut into blocks', () => {
    const seeded = fc.tuple(nasty, nasty, nasty);
    fc.assert(
      fc.property(seeded, fc.array(fc.nat()), (parts, raw) => {
        const samples = new Float32Array([...parts, ...parts, ...parts].flatMap((part) => [...part]));
        const cuts = raw.map((cut) => cut % (samples.length + 1)).sort((a, b) => a - b);
        expect(read(mono(samples), cuts)).toEqual(read(mono(samples)));
      }),
      { numRuns: 60 },
    );
  });

  test('a gain in dB raises the peak by as much', () => {
    fc.assert(
      fc.property(nasty, fc.double({ min: -60, max: 30, noNaN: true }), (samples, gainDb) => {
        const before = read(mono(samples)).truePeakDbtp;
        const after = read(mono(samples.map((x) => x * 10 ** (gainDb / 20)))).truePeakDbtp;
        if (before !== null && before > -200) expect(after! - before).toBeCloseTo(gainDb, 3);
      }),
      { numRuns: 60 },
    );
  });

  test('tells where, how high and in which channel an over is', () => {
    const rate = 48000;
    const quiet = new Float32Array(rate);
    const loud = new Float32Array(rate);
    // fs/4 at 45 degrees: samples at 0.849, waveform at 1.2, for 10 ms around 0.5 s.
    for (let n = 0; n < 480; n++)
      loud[23760 + n] =
        1.2 * Math.sin((Math.PI * n) / 2 + Math.PI / 4) * Math.sin((Math.PI * n) / 480) ** 0.25;
    const { overCount, overs, truePeakDbtp } = read({ sampleRate: rate, channels: [quiet, loud] });
    expect(overCount).toBe(1);
    expect(overs[0].channel).toBe(1);
    expect(overs[0].peakDbtp).toBeCloseTo(truePeakDbtp!, 6);
    expect(overs[0].startSeconds).toBeGreaterThan(0.4945);
    expect(overs[0].startSeconds).toBeLessThan(0.4975);
    expect(overs[0].endSeconds).toBeGreaterThan(0.5025);
    expect(overs[0].endSeconds).toBeLessThan(0.5055);
  });

  test('tells at most 200 overs, the highest, in order of time, and counts all', () => {
    const spacing = 200;
    const samples = new Float32Array(5000 * spacing);
    for (let i = 0; i < 5000; i++) samples[i * spacing + 100] = 1.1 + ((i * 37) % 5000) / 10000;
    const { overCount, overs } = read(mono(samples));
    expect(overCount).toBe(5000);
    expect(overs).toHaveLength(200);
    expect(Math.min(...overs.map((over) => over.peakDbtp))).toBeCloseTo(amplitudeToDb(1.1 + 0.48), 3);
    const starts = overs.map((over) => over.startSeconds);
    expect(starts).toEqual([...starts].sort((a, b) => a - b));
  });

  test('full-scale DC and a square clipped at full scale are not over', () => {
    const square = Float32Array.from({ length: 9600 }, (_, n) => (Math.floor(n / 2400) % 2 ? -1 : 1));
    expect(
      read(mono(new Float32Array(9600).fill(1).map((x, n) => x * Math.min(1, n / 960, (9599 - n) / 960))))
        .overCount,
    ).toBe(0);
    // The edges of a square do ring over full scale; that is real.
    expect(read(mono(square)).truePeakDbtp).toBeGreaterThan(0.5);
  });

  test('handles silence, nothing, one sample, denormals and 24 channels', () => {
    expect(read(mono(new Float32Array(1000)))).toEqual({ truePeakDbtp: null, overCount: 0, overs: [] });
    expect(read(mono(new Float32Array(0)))).toEqual({ truePeakDbtp: null, overCount: 0, overs: [] });
    expect(read(mono(Float32Array.of(-0.5))).truePeakDbtp).toBeCloseTo(amplitudeToDb(0.5), 6);
    expect(read(mono(new Float32Array(5000).fill(1e-42))).truePeakDbtp).toBeLessThan(-800);
    const channels = Array.from({ length: 24 }, (_, c) => Float32Array.of(0, 0.01 * (c + 1), 0));
    expect(read({ sampleRate: 48000, channels }).truePeakDbtp).toBeCloseTo(amplitudeToDb(0.24), 6);
  });

  test('refuses a block of another shape', () => {
    const meter = new TruePeakMeter(48000, 1);
    expect(() => meter.push({ sampleRate: 44100, channels: [new Float32Array(1)] })).toThrow(RangeError);
  });
});
