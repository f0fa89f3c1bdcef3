import { describe, expect, test } from 'vitest';
import { sine, throughPart } from '../../test/finish-sound.ts';
import { RealFft } from '../signal/fft.ts';
import { cleanToHertz } from './oversampler.ts';

const size = 16384;

/** Amplitude spectrum of the steady part; the tones lie on bins, so that no window is needed. */
function spectrum(samples: Float32Array): Float64Array {
  const re = new Float64Array(size / 2 + 1);
  const im = new Float64Array(size / 2 + 1);
  new RealFft(size).forward(Float64Array.from(samples.subarray(samples.length - size)), re, im);
  return re.map((x, k) => (2 * Math.hypot(x, im[k])) / size);
}

/** The steady answer to a sine on a bin: highest line that is no harmonic, dB under the tone; and the harmonics. */
function lines(bin: number, amplitude: number, settings: object, rate: number) {
  // Long enough for the DC filter to have come to rest; the end of the tone, an edge, is left out.
  const frames = ('asymmetryPercent' in settings ? 6 : 2) * size;
  const tone = Float32Array.from(
    { length: frames + 2000 },
    (_, n) => amplitude * Math.sin((2 * Math.PI * bin * n) / size),
  );
  const [whole] = throughPart('saturation', { mixPercent: 100, ...settings }, [tone], { sampleRate: rate });
  const out = whole.subarray(0, frames);
  const levels = spectrum(out);
  let alias = 0;
  levels.forEach((level, k) => {
    // Above 20 kHz nobody hears it.
    if (k % bin !== 0 && k * rate < cleanToHertz(rate) * size) alias = Math.max(alias, level);
  });
  return {
    aliasDb: 20 * Math.log10(alias / levels[bin]),
    harmonic: (n: number) => levels[n * bin] / levels[bin],
    tone: levels[bin],
  };
}

describe('what folds back below 20 kHz lies under -100 dB', () => {
  test.each([
    // bins that share no factor with the size, so that folded lines fall between harmonics
    [44100, 7001, 1, 0],
    [44100, 5003, 1, 0],
    [44100, 3001, 1, 6],
    [44100, 7421, 1, 0],
    [48000, 6007, 1, 0],
    [48000, 6007, 0.5, 6],
    // harmonics just above half the rate
    [44100, 2801, 1, 0],
    [48000, 2777, 1, 0],
    [96000, 3001, 1, 0],
  ])('at %i Hz, bin %i, amplitude %f, drive %f dB', (rate, bin, amplitude, driveDb) => {
    expect(lines(bin, amplitude, { driveDb }, rate).aliasDb).toBeLessThan(-100);
    if (driveDb === 0)
      expect(lines(bin, amplitude, { driveDb, asymmetryPercent: 100 }, rate).aliasDb).toBeLessThan(-100);
  });
});

test('harmonics are those of the polynomial', () => {
  // u = 1/2 sin: u - u^3 + 3/5 u^5 - 1/7 u^7 with sin^3 = (3 sin - sin 3)/4 and so on, worked by hand.
  const u = 0.5;
  const first = u - (3 / 4) * u ** 3 + (3 / 5) * (10 / 16) * u ** 5 - (1 / 7) * (35 / 64) * u ** 7;
  const third = (1 / 4) * u ** 3 - (3 / 5) * (5 / 16) * u ** 5 + (1 / 7) * (21 / 64) * u ** 7;
  const { harmonic, tone } = lines(301, 1, {}, 48000);
  expect(tone).toBeCloseTo(first / u, 4);
  expect(harmonic(3)).toBeCloseTo(third / first, 4);
  expect(harmonic(2)).toBeLessThan(1e-5);
});

test('asymmetry brings even harmonics and no DC', () => {
  const { harmonic } = lines(301, 0.5, { asymmetryPercent: 100 }, 48000);
  expect(harmonic(2)).toBeGreaterThan(0.01);
  const long = sine(1000, 0.9, 96000);
  const [out] = throughPart('saturation', { mixPercent: 100, asymmetryPercent: 100 }, [long]);
  const end = out.slice(-4800);
  expect(Math.abs(end.reduce((sum, x) => sum + x, 0) / end.length)).toBeLessThan(1e-3);
});

test('a soft sound passes nearly as it is', () => {
  const soft = sine(1000, 0.001, 4800);
  const [out] = throughPart('saturation', { mixPercent: 100 }, [soft]);
  out.forEach((x, n) => {
    expect(Math.abs(x - soft[n])).toBeLessThan(1e-8);
  });
});
