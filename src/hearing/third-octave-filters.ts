import { filterTable, zwickerBands } from './zwicker-tables.ts';

/** The only rate that the filters of ISO 532-1 are given for, Hz. */
export const zwickerRate = 48000;
/** Levels a second after smoothing, Hz. */
export const zwickerLevelRate = 2000;
const decimation = zwickerRate / zwickerLevelRate;
/** Squared reference pressure, (20 uPa)^2. */
const referencePower = 4e-10;
/** Added to the mean square, Pa^2. ISO 532-1:2017, 6.3 (as in MoSQITo). */
const leastPower = 1e-12;

/**
 * Powers, over that of 20 uPa, of the 28 third octaves from 25 Hz to 12.5 kHz, 2000 times a second: filters of sixth order, squared, smoothed by
 * three first-order low-passes of 2/(3 f), at least 2/3 ms. ISO 532-1:2017, 6.3, Tables A.1 and A.2.
 *
 * @param pressure sound pressure, Pa, at 48 kHz
 * @returns by band; the first value stands for the first sample
 */
export function thirdOctavePowers(pressure: ArrayLike<number>): Float64Array[] {
  const frames = pressure.length;
  const count = Math.ceil(frames / decimation);
  const squared = new Float64Array(frames);
  return filterTable.map((row, band) => {
    filterBand(pressure, row, squared);
    const hertz = Math.min(1000, 1000 * 10 ** ((band - 16) / 10));
    const keep = Math.exp((-3 * hertz) / (2 * zwickerRate));
    const gain = 1 - keep;
    const powers = new Float64Array(count);
    let [s1, s2, s3] = [0, 0, 0];
    for (let n = 0; n < frames; n++) {
      s1 = gain * squared[n] + keep * s1;
      s2 = gain * s1 + keep * s2;
      s3 = gain * s2 + keep * s3;
      if (n % decimation === 0) powers[n / decimation] = (s3 + leastPower) / referencePower;
    }
    return powers;
  });
}

/** Mean level of each third octave over the sound from `fromSeconds` on, dB SPL; what the stationary method takes. */
export function meanThirdOctaveLevels(pressure: ArrayLike<number>, fromSeconds = 0): Float64Array {
  const squared = new Float64Array(pressure.length);
  const from = Math.round(fromSeconds * zwickerRate);
  return Float64Array.from({ length: zwickerBands }, (_, band) => {
    filterBand(pressure, filterTable[band], squared);
    let sum = 0;
    for (let n = from; n < squared.length; n++) sum += squared[n];
    return 10 * Math.log10(Math.max(leastPower, sum / (squared.length - from)) / referencePower);
  });
}

function filterBand(pressure: ArrayLike<number>, row: readonly number[], squared: Float64Array): void {
  const [d1, e1, d2, e2, d3, e3, gain] = row;
  const [p1, q1, p2, q2, p3, q3] = [d1 - 2, 1 - e1, d2 - 2, 1 - e2, d3 - 2, 1 - e3];
  let [u1, u2, v1, v2, w1, w2] = [0, 0, 0, 0, 0, 0];
  for (let n = 0; n < squared.length; n++) {
    const x = gain * pressure[n];
    const a = x + u1;
    u1 = 2 * x - p1 * a + u2;
    u2 = x - q1 * a;
    const b = a + v1;
    v1 = v2 - p2 * b;
    v2 = -a - q2 * b;
    const c = b + w1;
    w1 = -2 * b - p3 * c + w2;
    w2 = b - q3 * c;
    squared[n] = c * c;
  }
}
