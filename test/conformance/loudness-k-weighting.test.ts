import { describe, expect, test } from 'vitest';
import { amplitudeToDb } from '../../src/signal/decibels.ts';
import { biquadGain, kWeighting } from '../../src/signal/k-weighting.ts';
import { inAll, measure, toneSteps } from './loudness-signals.ts';

const rates = [8000, 11025, 16000, 22050, 32000, 44100, 48000, 88200, 96000, 176400, 192000, 384000, 768000];

/** Magnitude of the K filter, dB, computed from ITU-R BS.1770-5 Tables 1 and 2. */
const responseDb = [
  [20, -13.275],
  [50, -3.934],
  [100, -1.133],
  [200, -0.265],
  [500, 0.042],
  [997, 0.691],
  [1000, 0.698],
  [2000, 3.071],
  [4000, 3.968],
  [8000, 4.039],
  [10000, 4.042],
  [16000, 4.043],
] as const;

function kDb(hertz: number, sampleRate: number): number {
  const { shelf, highPass } = kWeighting(sampleRate);
  return amplitudeToDb(biquadGain(shelf, hertz, sampleRate) * biquadGain(highPass, hertz, sampleRate));
}

/** How far the filter may be off at a rate, dB. */
function toleranceDb(sampleRate: number): number {
  if (sampleRate >= 44100) return 0.02;
  return sampleRate >= 22050 ? 0.06 : 0.45;
}

describe('K-weighting', () => {
  test('has the coefficients of ITU-R BS.1770-5 Tables 1 and 2 at 48 kHz', () => {
    const { shelf, highPass } = kWeighting(48000);
    const table = [
      [1.53512485958697, -2.69169618940638, 1.19839281085285, -1.69065929318241, 0.73248077421585],
      [1, -2, 1, -1.99004745483398, 0.99007225036621],
    ];
    [shelf, highPass].forEach(({ b0, b1, b2, a1, a2 }, stage) => {
      [b0, b1, b2, a1, a2].forEach((value, i) => {
        expect(value).toBeCloseTo(table[stage][i], 13);
      });
    });
  });

  test.for(responseDb)('at 48 kHz the response at %i Hz is %f dB', ([hertz, db]) => {
    expect(kDb(hertz, 48000)).toBeCloseTo(db, 3);
  });

  test.for(rates)('at %i Hz the response is that at 48 kHz', (rate) => {
    for (const [hertz, db] of responseDb) {
      if (hertz > rate * 0.45) continue;
      // The bilinear transform bends the shelf at low rates.
      expect(Math.abs(kDb(hertz, rate) - db), `${hertz} Hz`).toBeLessThan(toleranceDb(rate));
    }
  });

  test.for([7999, 768001, 0, Number.NaN])('refuses %d Hz', (rate) => {
    expect(() => kWeighting(rate)).toThrow(RangeError);
  });
});

describe('the anchor of ITU-R BS.1770-5 Annex 1', () => {
  test.for(rates)('997 Hz at full scale in one channel reads -3.01 LKFS at %i Hz', async (rate) => {
    const { loudness } = await measure(inAll(toneSteps([[0, 4]], rate, 997), 1, rate));
    expect(Math.abs(loudness.integratedLufs! + 3.01)).toBeLessThan(toleranceDb(rate));
  });

  test.for(responseDb)('a full-scale sine of %i Hz reads what the response says', async ([hertz, db]) => {
    const { loudness } = await measure(inAll(toneSteps([[0, 4]], 48000, hertz), 1));
    expect(Math.abs(loudness.integratedLufs! - (-0.691 - 3.0103 + db))).toBeLessThan(0.02);
  });

  test('two equal channels read 3.01 LU more', async () => {
    const { loudness } = await measure(inAll(toneSteps([[0, 4]], 48000, 997), 2));
    expect(loudness.integratedLufs).toBeCloseTo(0, 1);
  });
});
