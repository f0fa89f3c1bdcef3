import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type Pcm, slicePcm } from '../audio/pcm.ts';
import { joinLanes, measureLevels, measureSound, measureSpectra } from './measure-sound.ts';
import type { Measurement } from './measurement.ts';

function measure(pcm: Pcm, cuts: readonly number[] = []): Promise<Measurement> {
  const frames = pcm.channels[0].length;
  const edges = [0, ...cuts, frames];
  const blocks = edges.slice(1).map((to, i) => slicePcm(pcm, edges[i], to));
  return measureSound(blocks, { sampleRate: pcm.sampleRate, channels: pcm.channels.length, frames });
}

/** Noise with a hum, louder at its end; deterministic. */
function sound(frames: number, channels: number, sampleRate = 8000, seed = 1): Pcm {
  let state = seed;
  const next = () => {
    state = (Math.imul(state, 1664525) + 1013904223) | 0;
    return state / 2 ** 31;
  };
  return {
    sampleRate,
    channels: Array.from({ length: channels }, () =>
      Float32Array.from(
        { length: frames },
        (_, n) =>
          (0.1 + (0.6 * n) / frames) * (0.7 * next() + 0.3 * Math.sin((2 * Math.PI * 100 * n) / sampleRate)),
      ),
    ),
  };
}

/** Blocks of so many frames. */
function cut(pcm: Pcm, blockFrames: number): Pcm[] {
  const frames = pcm.channels[0].length;
  return Array.from({ length: Math.ceil(frames / blockFrames) }, (_, i) =>
    slicePcm(pcm, i * blockFrames, Math.min(frames, (i + 1) * blockFrames)),
  );
}

/** Every number in a result. */
function numbers(value: unknown): number[] {
  if (typeof value === 'number') return [value];
  return value !== null && typeof value === 'object' ? Object.values(value).flatMap(numbers) : [];
}

describe('measureSound', () => {
  test('does not depend on how the sound is cut into blocks', async () => {
    const pcm = sound(30011, 2);
    const whole = await measure(pcm);
    await fc.assert(
      fc.asyncProperty(fc.array(fc.nat(30011), { maxLength: 12 }), async (cuts) => {
        expect(
          await measure(
            pcm,
            cuts.sort((a, b) => a - b),
          ),
        ).toEqual(whole);
      }),
      { numRuns: 20 },
    );
    expect(
      await measure(
        pcm,
        Array.from({ length: 30011 }, (_, n) => n),
      ),
    ).toEqual(whole);
  });

  test('a gain in dB moves every level by as much and nothing else', async () => {
    const pcm = sound(40000, 2);
    const before = await measure(pcm);
    await fc.assert(
      fc.asyncProperty(fc.double({ min: -30, max: 20, noNaN: true }), async (gainDb) => {
        const gain = 10 ** (gainDb / 20);
        const louder = { ...pcm, channels: pcm.channels.map((samples) => samples.map((x) => x * gain)) };
        const after = await measure(louder);
        for (const [a, b] of [
          [after.loudness.integratedLufs, before.loudness.integratedLufs],
          [after.loudness.maxMomentaryLufs, before.loudness.maxMomentaryLufs],
          [after.loudness.maxShortTermLufs, before.loudness.maxShortTermLufs],
          [after.peak.samplePeakDbfs, before.peak.samplePeakDbfs],
          [after.peak.truePeakDbtp, before.peak.truePeakDbtp],
        ])
          expect(a! - b!).toBeCloseTo(gainDb, 2);
        expect(after.loudness.rangeLu).toBeCloseTo(before.loudness.rangeLu!, 2);
        expect(after.peak.crestDb).toBeCloseTo(before.peak.crestDb!, 3);
        expect(after.peak.plrDb).toBeCloseTo(before.peak.plrDb!, 2);
        after.tone.levelsDb.forEach((level, i) => {
          expect(level).toBeCloseTo(before.tone.levelsDb[i]!, 2);
        });
      }),
      { numRuns: 10 },
    );
  });

  test('silence before the sound moves times and leaves figures', async () => {
    const pcm = sound(40000, 1);
    const before = await measure(pcm);
    for (const seconds of [1, 2.5]) {
      const late = new Float32Array(40000 + seconds * 8000);
      late.set(pcm.channels[0], seconds * 8000);
      const after = await measure({ sampleRate: 8000, channels: [late] });
      expect(after.loudness.integratedLufs).toBeCloseTo(before.loudness.integratedLufs!, 1);
      expect(after.loudness.maxMomentaryLufs).toBeCloseTo(before.loudness.maxMomentaryLufs!, 6);
      expect(after.peak.truePeakDbtp).toBeCloseTo(before.peak.truePeakDbtp!, 6);
      expect(after.traces.loudness.momentaryLufs[0]).toBeNull();
    }
  });

  test.for([0, 1, 2, 3199, 3200, 23999, 24000, 25000])(
    '%i frames at 8 kHz: null where too short, with the reason',
    async (frames) => {
      const { loudness, traces, peak } = await measure(sound(frames, 2));
      expect(loudness.integratedLufs === null).toBe(frames < 3200);
      expect(loudness.maxMomentaryLufs === null).toBe(frames < 3200);
      expect(loudness.maxShortTermLufs === null).toBe(frames < 24000);
      expect(loudness.rangeLu === null).toBe(frames < 24000);
      expect(loudness.reason === null).toBe(frames >= 24000);
      if (frames < 3200) expect(loudness.reason).toMatch(/400 ms/);
      else if (frames < 24000) expect(loudness.reason).toMatch(/3 s/);
      expect(peak.plrDb === null).toBe(frames < 3200);
      expect(traces.loudness.momentaryLufs).toHaveLength(Math.floor(frames / 800));
    },
  );

  test('no result holds an infinity or NaN: silence, DC, denormals, one sample, full scale', async () => {
    const constant = (value: number, frames = 30000): Pcm => ({
      sampleRate: 8000,
      channels: [new Float32Array(frames).fill(value)],
    });
    for (const pcm of [
      constant(0),
      constant(0.5),
      constant(1e-42),
      constant(0.5, 1),
      constant(-1),
      constant(1e-6),
    ]) {
      const result = await measure(pcm);
      for (const value of numbers(result)) expect(Number.isFinite(value)).toBe(true);
      expect(JSON.parse(JSON.stringify(result))).toEqual(result);
    }
  });

  test('silence has no levels, and says so', async () => {
    const { loudness, peak, tone } = await measure({
      sampleRate: 48000,
      channels: [new Float32Array(200000)],
    });
    expect(loudness.reason).toMatch(/[Ss]ilence/);
    expect(peak).toEqual({
      samplePeakDbfs: null,
      truePeakDbtp: null,
      plrDb: null,
      crestDb: null,
      overCount: 0,
      overs: [],
      clippedRunCount: 0,
      clippedRuns: [],
    });
    expect(tone.levelsDb.every((level) => level === null)).toBe(true);
    expect(tone.tiltDbPerOctave).toBeNull();
  });

  test('what lies under the gate has momentary loudness and no integrated one', async () => {
    const pcm = sound(40000, 1);
    const { loudness } = await measure({ ...pcm, channels: [pcm.channels[0].map((x) => x * 1e-4)] });
    expect(loudness.integratedLufs).toBeNull();
    expect(loudness.maxMomentaryLufs).toBeLessThan(-70);
    expect(loudness.reason).toMatch(/-70 LUFS/);
  });

  test('one to 24 channels', async () => {
    for (let channels = 1; channels <= 24; channels++) {
      const { loudness, peak } = await measure(sound(26000, channels));
      expect(loudness.integratedLufs).not.toBeNull();
      expect(peak.truePeakDbtp).not.toBeNull();
    }
  });

  test.for([1, 100, 7000, 11025, 384000, 1536000])('a sample rate of %i Hz', async (rate) => {
    const result = await measure(sound(rate < 20000 ? 4 * rate + 50 : 20000, 1, rate));
    expect(result.peak.truePeakDbtp).not.toBeNull();
    if (rate < 8000 || rate > 768000) expect(result.loudness.reason).toMatch(/8 kHz to 768 kHz/);
  });

  test('crest is that of the loudest channel', async () => {
    const sine = Float32Array.from(
      { length: 8000 },
      (_, n) => 0.5 * Math.sin((2 * Math.PI * 100 * n) / 8000),
    );
    const click = new Float32Array(8000);
    click[4000] = 0.9;
    const { peak } = await measure({ sampleRate: 8000, channels: [click, sine] });
    expect(peak.crestDb).toBeCloseTo(10 * Math.log10(2), 4);
    expect(peak.samplePeakDbfs).toBeCloseTo(20 * Math.log10(0.9), 4);
  });

  test('the waveform overview keeps every extreme within 4000 steps', async () => {
    const samples = new Float32Array(64 * 4000 * 3 + 17);
    samples[100_000] = 0.75;
    samples[samples.length - 1] = -0.5;
    const { waveform } = (await measure({ sampleRate: 48000, channels: [samples, samples] })).traces;
    expect(waveform.max.length).toBeLessThanOrEqual(4000);
    expect(waveform.max[Math.floor(100_000 / 48000 / waveform.stepSeconds)]).toBe(0.75);
    expect(waveform.min.at(-1)).toBe(-0.5);
    expect(waveform.min.length).toBe(Math.ceil(samples.length / 48000 / waveform.stepSeconds));
  });

  test('two lanes, joined, give what one pass gives to the last bit', async () => {
    for (const [frames, channels] of [
      [1, 1],
      [70_001, 1],
      [131_072, 2],
      [30_000, 3],
    ]) {
      const pcm = sound(frames, channels);
      const format = { sampleRate: pcm.sampleRate, channels, frames };
      // As between threads: only data comes across.
      const levels = structuredClone(await measureLevels(cut(pcm, 1000), format));
      const spectra = structuredClone(await measureSpectra(cut(pcm, 4097), format));
      const whole = await measureSound([pcm], format);
      expect(joinLanes(format, levels, spectra)).toEqual(whole);
      expect(() => joinLanes(format, { ...levels, frames: frames + 1 }, spectra)).toThrow(RangeError);
    }
  });

  test('samples that are no numbers are refused with a code', async () => {
    for (const bad of [Number.NaN, Number.POSITIVE_INFINITY]) {
      const pcm = sound(9000, 2);
      pcm.channels[1][8500] = bad;
      await expect(measure(pcm)).rejects.toMatchObject({ code: 'SOUND_NOT_NUMBERS' });
    }
  });

  test('tells progress and stops when aborted', async () => {
    const told: number[] = [];
    const abort = new AbortController();
    const pcm = sound(60000, 2);
    async function* blocks() {
      for (let at = 0; at < 60000; at += 10000) {
        if (at === 40000) abort.abort(new Error('enough'));
        yield slicePcm(pcm, at, at + 10000);
      }
    }
    const run = { signal: abort.signal, progress: (fraction: number) => told.push(fraction) };
    await expect(
      measureSound(blocks(), { sampleRate: 8000, channels: 2, frames: 60000 }, run),
    ).rejects.toThrow('enough');
    expect(told).toEqual([1 / 6, 2 / 6, 3 / 6, 4 / 6]);
  });
});
