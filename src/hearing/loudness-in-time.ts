import { percentile } from '../measure/percentile.ts';
import type { SoundField } from './hearing-threshold.ts';
import { addSlopes, coreLoudness, criticalBandPowers } from './specific-loudness.ts';
import { thirdOctavePowers, zwickerLevelRate } from './third-octave-filters.ts';
import { criticalBands, zwickerBands } from './zwicker-tables.ts';

/** Steps within one value of 0.5 ms, between which the input is taken as a straight line. ISO 532-1:2017, 6.4. */
const innerSteps = 24;
/** Loudness values a second in the result. ISO 532-1:2017, 6.6. */
const resultRate = 500;

export interface LoudnessInTime {
  /** Total loudness each 2 ms, sone. */
  readonly sone: Float64Array;
  readonly stepSeconds: number;
  readonly highestSone: number;
  /** Loudness exceeded 5 % of the time, sone. */
  readonly n5: number;
}

/**
 * Loudness of a sound that changes, Zwicker's method of ISO 532-1:2017 clause 6: third-octave levels each 0.5 ms, core
 * loudness that dies away as hearing does after a sound, slopes, and two low-passes for short sounds.
 *
 * @param pressure sound pressure, Pa, at 48 kHz
 */
export function loudnessInTime(pressure: ArrayLike<number>, field: SoundField): LoudnessInTime {
  const powers = thirdOctavePowers(pressure);
  const count = powers[0].length;
  const core = Array.from({ length: criticalBands }, () => new Float64Array(count));
  const row = new Float64Array(zwickerBands);
  const bands = new Float64Array(criticalBands);
  const main = new Float64Array(criticalBands + 1);
  for (let n = 0; n < count; n++) {
    for (let b = 0; b < zwickerBands; b++) row[b] = powers[b][n];
    criticalBandPowers(row, field, bands);
    coreLoudness(bands, main);
    for (let b = 0; b < criticalBands; b++) core[b][n] = main[b];
  }
  for (const band of core) decayAfterSound(band);
  const total = new Float64Array(count);
  for (let n = 0; n < count; n++) {
    for (let b = 0; b < criticalBands; b++) main[b] = core[b][n];
    total[n] = addSlopes(main);
  }
  // Two low-passes, 3.5 ms and 70 ms. ISO 532-1:2017, 6.6.
  const [fast, slow] = [smoothed(total, 0.0035), smoothed(total, 0.07)];
  const keepEach = zwickerLevelRate / resultRate;
  const sone = Float64Array.from(
    { length: Math.ceil(count / keepEach) },
    (_, i) => 0.47 * fast[i * keepEach] + 0.53 * slow[i * keepEach],
  );
  return {
    sone,
    stepSeconds: 1 / resultRate,
    highestSone: sone.reduce((most, value) => Math.max(most, value), 0),
    n5: percentile(Array.from(sone), 0.95),
  };
}

/**
 * The decay of core loudness after a sound ends: a network of a diode and two capacitors, fast after short sounds and slow
 * after long ones. ISO 532-1:2017, 6.4: time constants of 5, 15 and 75 ms.
 */
function decayAfterSound(values: Float64Array): void {
  const [short, long, slowest] = [0.005, 0.015, 0.075];
  const step = 1 / (zwickerLevelRate * innerSteps);
  const p = (slowest + long) / (slowest * short);
  const root = Math.sqrt((p * p) / 4 - 1 / (short * slowest));
  const [r1, r2] = [-p / 2 + root, -p / 2 - root];
  const scale = slowest * (r1 - r2);
  const [e1, e2] = [Math.exp(r1 * step), Math.exp(r2 * step)];
  const [k1, k2] = [slowest * r1 + 1, slowest * r2 + 1];
  const toSecondFromOut = (e1 - e2) / scale;
  const toSecondFromSecond = (k2 * e1 - k1 * e2) / scale;
  const toOutFromOut = (k1 * e1 - k2 * e2) / scale;
  const toOutFromSecond = (k1 * k2 * (e1 - e2)) / scale;
  const alone = Math.exp(-step / long);
  const charge = Math.exp(-step / slowest);
  let out = 0;
  let second = 0;
  for (let n = 0; n < values.length; n++) {
    const from = values[n];
    const slope = ((n + 1 < values.length ? values[n + 1] : 0) - from) / innerSteps;
    for (let i = 0; i < innerSteps; i++) {
      const input = from + i * slope;
      if (input < out) {
        if (out > second) {
          const nextSecond = out * toSecondFromOut - second * toSecondFromSecond;
          const next = Math.max(input, out * toOutFromOut - second * toOutFromSecond);
          second = Math.min(nextSecond, next);
          out = next;
        } else {
          out = Math.max(input, out * alone);
          second = out;
        }
      } else {
        const same = Math.abs(input - out) < 1e-5;
        out = input;
        second = same && out <= second ? out : (second - input) * charge + input;
      }
      if (i === 0) values[n] = out;
    }
  }
}

/** First-order low-pass over straight lines between the values. ISO 532-1:2017, 6.6. */
function smoothed(values: Float64Array, seconds: number): Float64Array {
  const keep = Math.exp(-1 / (zwickerLevelRate * innerSteps * seconds));
  const result = new Float64Array(values.length);
  let state = 0;
  for (let n = 0; n < values.length; n++) {
    const slope = ((n + 1 < values.length ? values[n + 1] : 0) - values[n]) / innerSteps;
    for (let i = 0; i < innerSteps; i++) {
      state = keep * state + (1 - keep) * (values[n] + i * slope);
      if (i === 0) result[n] = state;
    }
  }
  return result;
}
