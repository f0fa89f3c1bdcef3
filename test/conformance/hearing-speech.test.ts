import { expect, test } from 'vitest';
import {
  normalSpeech,
  spectrumLevel,
  speechCentresHz,
  speechIntelligibility,
} from '../../src/hearing/speech-intelligibility.ts';

const silence = (count: number) => new Array<number>(count).fill(Number.NEGATIVE_INFINITY);

test('the worked example of ANSI S3.5-1997 (octave procedure): 0.504', () => {
  const { index, audible } = speechIntelligibility(
    [50, 40, 40, 30, 20, 0],
    [70, 65, 45, 25, 1, -15],
    'octave',
  );
  expect(index).toBeCloseTo(0.504, 3);
  const importance = [0.0617, 0.1671, 0.2373, 0.2648, 0.2142, 0.0549];
  expect(audible.map((share, i) => Number((share * importance[i]).toFixed(2)))).toEqual([
    0, 0, 0.08, 0.17, 0.21, 0.04,
  ]);
});

test('normal speech in quiet: 0.996', () => {
  expect(speechIntelligibility(normalSpeech('third-octave'), silence(18)).index).toBeCloseTo(0.996, 3);
});

test('normal speech adds up to 62.35 dB SPL (ANSI S3.5-1997 Table 3)', () => {
  const centres = speechCentresHz('third-octave');
  const power = normalSpeech('third-octave').reduce(
    (sum, level, i) => sum + 10 ** ((level - spectrumLevel(0, centres[i])) / 10),
    0,
  );
  expect(10 * Math.log10(power)).toBeCloseTo(62.35, 1);
});

test('noise as loud as the speech lets about half through; 15 dB more lets nothing through', () => {
  const speech = normalSpeech('third-octave');
  const at = (ratio: number) =>
    speechIntelligibility(
      speech,
      speech.map((level) => level - ratio),
    ).index;
  expect(at(0)).toBeGreaterThan(0.4);
  expect(at(0)).toBeLessThan(0.55);
  expect(at(-15)).toBeLessThan(0.02);
  expect(at(15)).toBeGreaterThan(at(5));
});
