import { describe, expect, test } from 'vitest';
import { pcmAtRate } from '../../src/audio/at-rate.ts';
import {
  harmonicLeadSeconds,
  makeSweep,
  planSweep,
  sweepRate,
  sweepSamples,
} from '../../src/places/sweep.ts';
import { measureSweep, SweepMeasurer } from '../../src/places/sweep-measure.ts';
import { seeded } from '../seeded-sound.ts';
import { virtualRoom } from './virtual-room.ts';

const rate = 32000;
const plan = planSweep({ seconds: 2, toHz: 15000 });
const signal = makeSweep(plan, rate);

describe('the sweep (Farina, AES 108th Convention 2000, preprint 5093)', () => {
  test('20 Hz to 20 kHz in 10 s: harmonics arrive 1.00343, 1.59040, 2.00687 and 2.32990 s early', () => {
    const long = planSweep({ seconds: 10 });
    expect(sweepRate(long, long.main)).toBeCloseTo(1.4476483, 6);
    [1.00343, 1.5904, 2.00687, 2.3299].forEach((lead, i) => {
      expect(harmonicLeadSeconds(long, long.main, i + 2)).toBeCloseTo(lead, 4);
    });
  });

  test('passes each frequency when it says, and starts low', () => {
    const sweep = sweepSamples(plan, plan.main, 48000);
    // Zero crossings around 1 kHz.
    const middle = Math.round(sweepRate(plan, plan.main) * Math.log(1000 / 20) * 48000);
    let crossings = 0;
    for (let n = middle - 480; n < middle + 480; n++) if (sweep[n] < 0 !== sweep[n + 1] < 0) crossings++;
    expect(Math.abs(crossings / 2 / 0.02 - 1000)).toBeLessThan(30);
    const peak = (from: number, to: number) =>
      signal.channels[0].subarray(from * rate, to * rate).reduce((top, x) => Math.max(top, Math.abs(x)), 0);
    expect(peak(0, 0.25)).toBe(0);
    expect(peak(1, 1 + plan.quiet.seconds)).toBeLessThan(0.4 * peak(plan.main.startSeconds, plan.seconds));
    expect(peak(0, plan.seconds)).toBeLessThan(10 ** (-10 / 20));
  });

  test('asks for nothing that could harm', () => {
    expect(() => planSweep({ levelDbfs: -3 })).toThrow(RangeError);
    expect(() => planSweep({ seconds: 300 })).toThrow(RangeError);
  });
});

const measurer = new SweepMeasurer(plan, rate, signal.channels[0].length + rate);
/** Measured once, whichever test asks; the recordings themselves are let go of. */
const measuredRooms = new Map<number, ReturnType<typeof measureRoom>>();
function measuredRoom(seed: number) {
  const known = measuredRooms.get(seed) ?? measureRoom(seed);
  measuredRooms.set(seed, known);
  return known;
}
function measureRoom(seed: number) {
  const { recording, ...room } = virtualRoom(seed, signal);
  return { room, measured: measurer.measure(recording) };
}

describe('measuring a place', () => {
  test('100 seeded rooms: within 1 dB from 60 Hz to 12 kHz wherever it calls itself sure, and it mostly does', () => {
    const misses: string[] = [];
    let [sure, all] = [0, 0];
    for (let seed = 0; seed < 100; seed++) {
      const { room, measured } = measuredRoom(seed);
      if (!measured) {
        misses.push(`room ${seed}: not found`);
        continue;
      }
      if (Math.abs(measured.startSeconds * rate - room.start) > 40)
        misses.push(`room ${seed}: found elsewhere`);
      const pairs = measured.bands.flatMap((band, b) =>
        band.centreHz > 60 && band.centreHz < 13000
          ? [{ band, b, off: (band.db ?? 0) - room.bandsDb[b] }]
          : [],
      );
      all += pairs.length;
      const known = pairs.filter(({ band }) => band.sure);
      sure += known.length;
      // The level of a recording is unknown: the middle of the differences is taken out.
      const middle = known.map(({ off }) => off).sort((a, b) => a - b)[known.length >> 1];
      for (const { band, off } of known)
        if (Math.abs(off - middle) > 1)
          misses.push(
            `room ${seed} ${JSON.stringify(room.kind)}: ${band.centreHz.toFixed(0)} Hz ${(off - middle).toFixed(2)} dB, expected ${band.errorDb.toFixed(2)}`,
          );
    }
    expect(misses.join('\n')).toBe('');
    expect(sure / all).toBeGreaterThan(0.75);
  }, 600_000);

  test('follows an automatic gain, and says that it did', () => {
    const rooms = Array.from({ length: 12 }, (_, i) => measuredRoom(i));
    const moving = rooms.filter(({ room }) => room.kind.overNoiseDb > 20 && room.kind.gainControl);
    expect(moving.length).toBeGreaterThan(3);
    for (const { measured } of moving) expect(measured!.gainMovedDb).toBeGreaterThan(1.5);
  });

  test('tells distortion from response: third harmonic of a known cubic bend', () => {
    // x - 4/3 a x^3 turns a tone of amplitude A into a third harmonic of a A^2 / 3 against A (1 - a A^2).
    const a = 0.3;
    const peak = 10 ** (plan.main.levelDbfs / 20);
    const bent = signal.channels[0].map((x) => x - (4 / 3) * a * x ** 3);
    const padded = new Float32Array(bent.length + rate);
    padded.set(bent, rate / 2);
    const measured = measureSweep({ sampleRate: rate, channels: [padded] }, plan)!;
    const expected = 20 * Math.log10((a * peak ** 2) / 3 / (1 - a * peak ** 2));
    for (const band of measured.bands.filter(({ centreHz }) => centreHz > 200 && centreHz < 2500))
      expect(Math.abs(band.distortionDb! - expected), `${band.centreHz} Hz`).toBeLessThan(1.5);
  });

  test('takes a microphone’s curve out', () => {
    const padded = new Float32Array(signal.channels[0].length + rate);
    padded.set(signal.channels[0], rate / 2);
    const curve = [
      { hertz: 1000, db: 0 },
      { hertz: 10000, db: 6 },
    ];
    const measured = measureSweep({ sampleRate: rate, channels: [padded] }, plan, curve)!;
    const at = (hertz: number) =>
      measured.bands.find((band) => Math.abs(band.centreHz / hertz - 1) < 0.02)!.db!;
    expect(at(10000) - at(1000)).toBeCloseTo(-6, 1);
  });

  test('from recorders of other rates: 16 kHz hears what it can, 96 kHz is brought to 48, and cut-off waves are still seen', () => {
    const at = (sampleRate: number, gain: number) => {
      const sound = pcmAtRate(signal, sampleRate).channels[0];
      const x = new Float32Array(sound.length + sampleRate);
      sound.forEach((v, n) => {
        x[n + sampleRate / 2] = Math.max(-0.9, Math.min(0.9, gain * v));
      });
      return measureSweep({ sampleRate, channels: [x] }, plan)!;
    };
    const low = at(16000, 1);
    for (const { centreHz, db, sure } of low.bands.filter(
      ({ centreHz }) => centreHz > 50 && centreHz < 6000,
    )) {
      expect(sure, `${centreHz} Hz`).toBe(true);
      expect(Math.abs(db!), `${centreHz} Hz`).toBeLessThan(0.3);
    }
    expect(at(96000, 1).clipped).toBe(false);
    expect(at(96000, 5).clipped).toBe(true);
  });

  test('does not find a sweep in noise or silence', () => {
    const random = seeded(5);
    const noise = Float32Array.from({ length: 6 * rate }, () => 0.3 * (random() - 0.5));
    expect(measureSweep({ sampleRate: rate, channels: [noise] }, plan)).toBeNull();
    expect(measureSweep({ sampleRate: rate, channels: [new Float32Array(3 * rate)] }, plan)).toBeNull();
  });
});
