import { describe, expect, test } from 'vitest';
import { gainAtDb, impulseResponse, sine, throughPart } from '../../test/finish-sound.ts';
import { biquadGain } from '../signal/k-weighting.ts';
import { type AnalogueSection, analogueGainDb, bell, highShelf, lowShelf, pass, tilt } from './analogue.ts';
import { equaliser } from './equaliser.ts';
import { linearPhaseLatency } from './linear-phase.ts';
import { matchSection } from './matched.ts';

const gains = [-24, -6, 3, 24];
const qs = [0.1, 0.7, 3, 30];
const shapes: Readonly<Record<string, (hertz: number, gainDb: number, q: number) => AnalogueSection[]>> = {
  bell: (hertz, gainDb, q) => [bell(hertz, gainDb, q)],
  'low shelf': (hertz, gainDb, q) => [lowShelf(hertz, gainDb, Math.min(2, q))],
  'high shelf': (hertz, gainDb, q) => [highShelf(hertz, gainDb, Math.min(2, q))],
  tilt: (hertz, gainDb) => [tilt(hertz, gainDb)],
  'low cut 12': (hertz) => pass('high-pass', hertz, 2),
  'low cut 48': (hertz) => pass('high-pass', hertz, 8),
  'high cut 12': (hertz) => pass('low-pass', hertz, 2),
  'high cut 48': (hertz) => pass('low-pass', hertz, 8),
};

describe('the matched filters have the magnitude of the analogue ones within 0.1 dB to 20 kHz (where it is above -60 dB)', () => {
  test.each(
    Object.keys(shapes).flatMap((name) => [44100, 48000, 96000].map((rate) => [name, rate] as const)),
  )('%s at %i Hz', (name, rate) => {
    let worst = 0;
    for (const hertz of [10, 100, 1000, 7000, 14000, 20000])
      for (const gainDb of gains)
        for (const q of qs) {
          if (!['bell', 'low shelf', 'high shelf'].includes(name) && q !== qs[0]) continue;
          if (name.includes('cut') && gainDb !== gains[0]) continue;
          const sections = shapes[name](hertz, gainDb, q);
          const row = sections.flatMap((section) => matchSection(section, rate));
          for (let i = 0; i < 60; i++) {
            const at = Math.min(20000, rate / 2) * 2 ** (-i / 6);
            const wanted = analogueGainDb(sections, at);
            const got = row.reduce((sum, filter) => sum + 20 * Math.log10(biquadGain(filter, at, rate)), 0);
            if (wanted > -60) worst = Math.max(worst, Math.abs(got - wanted));
          }
        }
    expect(worst).toBeLessThan(0.1);
  });
});

/** The digital peaking filter of the Audio EQ Cookbook (R. Bristow-Johnson), as printed there. From memory. */
function cookbookPeaking(hertz: number, gainDb: number, q: number, rate: number) {
  const a = 10 ** (gainDb / 40);
  const w = (2 * Math.PI * hertz) / rate;
  const alpha = Math.sin(w) / (2 * q);
  const a0 = 1 + alpha / a;
  return {
    b0: (1 + alpha * a) / a0,
    b1: (-2 * Math.cos(w)) / a0,
    b2: (1 - alpha * a) / a0,
    a1: (-2 * Math.cos(w)) / a0,
    a2: (1 - alpha / a) / a0,
  };
}

/** Its low shelf, with Q. */
function cookbookLowShelf(hertz: number, gainDb: number, q: number, rate: number) {
  const a = 10 ** (gainDb / 40);
  const w = (2 * Math.PI * hertz) / rate;
  const cos = Math.cos(w);
  const root = 2 * Math.sqrt(a) * (Math.sin(w) / (2 * q));
  const a0 = a + 1 + (a - 1) * cos + root;
  return {
    b0: (a * (a + 1 - (a - 1) * cos + root)) / a0,
    b1: (2 * a * (a - 1 - (a + 1) * cos)) / a0,
    b2: (a * (a + 1 - (a - 1) * cos - root)) / a0,
    a1: (-2 * (a - 1 + (a + 1) * cos)) / a0,
    a2: (a + 1 + (a - 1) * cos - root) / a0,
  };
}

test('far below half the rate they agree with the Audio EQ Cookbook within 0.02 dB', () => {
  const rate = 192000;
  for (const [hertz, gainDb, q] of [
    [100, 6, 1],
    [400, -12, 2],
    [1000, 3, 0.7],
  ] as const)
    for (const [ours, theirs] of [
      [bell(hertz, gainDb, q), cookbookPeaking(hertz, gainDb, q, rate)],
      [lowShelf(hertz, gainDb, q), cookbookLowShelf(hertz, gainDb, q, rate)],
    ] as const)
      for (let at = 20; at < 4000; at *= 1.3) {
        const got = matchSection(ours, rate).reduce((product, f) => product * biquadGain(f, at, rate), 1);
        expect(Math.abs(20 * Math.log10(got / biquadGain(theirs, at, rate)))).toBeLessThan(0.02);
      }
});

test('prototypes have the gains that their names say', () => {
  const at = (section: AnalogueSection | AnalogueSection[], hertz: number) =>
    analogueGainDb([section].flat(), hertz);
  expect(at(bell(1000, 6, 2), 1000)).toBeCloseTo(6, 9);
  expect(at(lowShelf(1000, 6, 0.7), 1)).toBeCloseTo(6, 4);
  expect(at(lowShelf(1000, 6, 0.7), 1000)).toBeCloseTo(3, 9);
  expect(at(highShelf(1000, -6, 0.7), 1e6)).toBeCloseTo(-6, 4);
  expect(at(tilt(1000, 6), 1e-3)).toBeCloseTo(-3, 4);
  expect(at(tilt(1000, 6), 1e9)).toBeCloseTo(3, 4);
  expect(at(pass('high-pass', 100, 4), 100)).toBeCloseTo(-3.0103, 4);
  expect(at(pass('low-pass', 1000, 8), 2000)).toBeCloseTo(-48.2, 1);
});

const bands = [
  { shape: 'low-cut', hertz: 30, slope: '24' },
  { shape: 'bell', hertz: 300, gainDb: -4, q: 1.5 },
  { shape: 'high-shelf', hertz: 8000, gainDb: 5, q: 0.7 },
] as const;
const wantedDb = (hertz: number) =>
  analogueGainDb([...pass('high-pass', 30, 4), bell(300, -4, 1.5), highShelf(8000, 5, 0.7)], hertz);

test('a sound gets the gain of the bands, with minimum phase', () => {
  const response = impulseResponse('equaliser', { bands }, 48000, 48000);
  for (const hertz of [20, 30, 100, 300, 1000, 8000, 15000, 20000])
    expect(gainAtDb(response, hertz, 48000)).toBeCloseTo(wantedDb(hertz), 1);
});

test('and with linear phase: the same gain, a symmetric response, late by what it says', () => {
  const linear = bands.map((band) => ({ ...band, phase: 'linear' as const }));
  const rate = 48000;
  const late = linearPhaseLatency(rate);
  const around = 5000;
  const input = new Float32Array(2 * around);
  input[around] = 1;
  const [response] = throughPart('equaliser', { bands: linear }, [input]);
  for (let n = 1; n < 4000; n++) expect(response[around + n]).toBeCloseTo(response[around - n], 6);
  for (const hertz of [100, 300, 1000, 8000, 15000, 20000])
    expect(Math.abs(gainAtDb(response, hertz, rate) - wantedDb(hertz))).toBeLessThan(0.05);
  expect(
    equaliser.prepare({ bands: [] }, { sampleRate: rate, channels: 1, lateSamples: 0 }).latencySamples,
  ).toBe(0);
  expect(late).toBe(8192 / 2 + 1024);
});

describe('bands on one channel leave the other alone', () => {
  const tone = sine(1000, 0.25, 4800);
  const other = sine(700, 0.25, 4800);
  const rms = (x: Float32Array) => Math.sqrt(x.slice(2400).reduce((sum, v) => sum + v * v, 0) / 2400);
  const boost = { shape: 'bell', hertz: 1000, gainDb: 12, q: 0.5 } as const;
  test.each(['minimum', 'linear'] as const)('%s phase', (phase) => {
    const band = (on: string) => ({ bands: [{ ...boost, on, phase }] });
    const pad = (x: Float32Array) => {
      const longer = new Float32Array(12000);
      longer.set(x);
      return longer;
    };
    const run = (on: string, input: Float32Array[]) => throughPart('equaliser', band(on), input.map(pad));
    const [left, right] = run('left', [tone, other]);
    expect(rms(right.slice(0, 4800)) / rms(other)).toBeCloseTo(1, 4);
    expect(20 * Math.log10(rms(left.slice(0, 4800)) / rms(tone))).toBeCloseTo(12, 0);
    // Equal on both sides is mid only: a side band does nothing, a mid band everything.
    const [a, b] = run('side', [tone, tone]);
    expect(rms(a.slice(0, 4800)) / rms(tone)).toBeCloseTo(1, 4);
    expect(Math.max(...b.map((x, n) => Math.abs(x - a[n])))).toBeLessThan(1e-9);
    const [c, d] = run('mid', [tone, tone.map((x) => -x)]);
    expect(rms(c.slice(0, 4800)) / rms(tone)).toBeCloseTo(1, 4);
    expect(rms(d.slice(0, 4800)) / rms(tone)).toBeCloseTo(1, 4);
  });
});
