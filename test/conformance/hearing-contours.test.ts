import { describe, expect, test } from 'vitest';
import { contourHz, levelOfPhon, phonOfLevel } from '../../src/hearing/equal-loudness.ts';
import { weightingDb, weightingFilters } from '../../src/hearing/frequency-weighting.ts';
import { hearingThresholdDb } from '../../src/hearing/hearing-threshold.ts';
import { biquadGain } from '../../src/signal/k-weighting.ts';

/** Contours at 40, 60, 80 phon, dB SPL, worked out apart from this code from the published formula and Table 1. */
const contours: readonly (readonly [hertz: number, in2003: readonly number[], in2023: readonly number[]])[] =
  [
    [20, [99.85, 109.51, 118.99], [99.74, 109.37, 118.86]],
    [63, [73.08, 85.94, 98.36], [72.96, 85.8, 98.35]],
    [100, [64.37, 78.65, 92.48], [64.24, 78.5, 92.46]],
    [250, [50.4, 67.53, 84.31], [50.29, 67.42, 84.31]],
    [1000, [40.01, 60.01, 80.01], [40, 60, 80]],
    [3150, [35.61, 56.42, 77.07], [35.47, 56.36, 77.16]],
    [8000, [51.8, 71.66, 91.41], [51.6, 71.5, 91.33]],
    [12500, [51.49, 68.63, 85.41], [51.31, 68.58, 85.61]],
  ];

describe('equal loudness (ISO 226)', () => {
  test.for(contours)('%i Hz: 40, 60 and 80 phon in 2003 and 2023', ([hertz, in2003, in2023]) => {
    [40, 60, 80].forEach((phon, i) => {
      expect(levelOfPhon(phon, hertz, 2003)).toBeCloseTo(in2003[i], 1);
      expect(levelOfPhon(phon, hertz)).toBeCloseTo(in2023[i], 1);
    });
  });

  test('the two ways undo each other, and between the third octaves too', () => {
    for (const hertz of [...contourHz, 33, 450, 9100])
      for (const phon of [20, 47, 80])
        for (const [edition, digits] of [
          [2003, 1], // its two formulas round the reference to 94 and to 93.98 dB
          [2023, 6],
        ] as const)
          expect(phonOfLevel(levelOfPhon(phon, hertz, edition), hertz, edition)).toBeCloseTo(phon, digits);
  });

  test('ends where the standard ends', () => {
    expect(() => levelOfPhon(40, 19.9)).toThrow(RangeError);
    expect(() => levelOfPhon(40, 12501)).toThrow(RangeError);
  });
});

test('threshold of hearing (ISO 389-7:2019): free and diffuse field', () => {
  expect(hearingThresholdDb(125, 'free')).toBe(22.1);
  expect(hearingThresholdDb(1000, 'free')).toBe(2.4);
  expect(hearingThresholdDb(1000, 'diffuse')).toBe(0.8);
  expect(hearingThresholdDb(8000, 'free')).toBe(12.6);
  expect(hearingThresholdDb(8000, 'diffuse')).toBe(6.8);
  expect(hearingThresholdDb(1500, 'free')).toBe(2.4);
  expect(hearingThresholdDb(18000, 'free')).toBe(70.4);
  expect(hearingThresholdDb(16000, 'diffuse')).toBe(43.7);
});

/** IEC 61672-1:2013 Table 3: nominal frequency, A, C; as transcribed in the open library python-acoustics. */
const weightings: readonly (readonly [number, number, number])[] = [
  [10, -70.4, -14.3],
  [20, -50.5, -6.2],
  [31.5, -39.4, -3],
  [63, -26.2, -0.8],
  [125, -16.1, -0.2],
  [250, -8.6, 0],
  [500, -3.2, 0],
  [1000, 0, 0],
  [2000, 1.2, -0.2],
  [4000, 1, -0.8],
  [8000, -1.1, -3],
  [12500, -4.3, -6.2],
  [16000, -6.6, -8.5],
  [20000, -9.3, -11.2],
];

describe('frequency weightings (IEC 61672-1:2013 Table 3)', () => {
  test.for(weightings)('%f Hz', ([nominal, a, c]) => {
    // The table is for exact frequencies, a tenth of a decade apart.
    const hertz = 10 ** (Math.round(10 * Math.log10(nominal)) / 10);
    expect(Math.abs(weightingDb('A', hertz) - a)).toBeLessThan(0.06);
    expect(Math.abs(weightingDb('C', hertz) - c)).toBeLessThan(0.06);
  });

  test.for([32000, 44100, 48000, 96000])('the filters follow the curves at %i Hz', (rate) => {
    for (const weighting of ['A', 'C'] as const) {
      const filters = weightingFilters(weighting, rate);
      for (let hertz = 16; hertz < Math.min(20000, 0.42 * rate); hertz *= 1.1) {
        const gain = filters.reduce((product, filter) => product * biquadGain(filter, hertz, rate), 1);
        expect(Math.abs(20 * Math.log10(gain) - weightingDb(weighting, hertz))).toBeLessThan(0.25);
      }
    }
  });
});
