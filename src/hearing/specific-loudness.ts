import type { SoundField } from './hearing-threshold.ts';
import {
  bandAdaptation,
  bandLimits,
  criticalBands,
  diffuseCorrection,
  earTransmission,
  lowBandCorrections,
  lowBandEnds,
  lowBandRanges,
  slopeRanges,
  slopeSteepness,
  thresholdLevels,
} from './zwicker-tables.ts';

/** Values of a specific loudness pattern: one every 0.1 Bark, from 0.1 to 24. */
export const patternLength = 240;
/** Ratio between a tone that is just heard and the noise within the ear that covers it. ISO 532-1:2017, A.3. */
const thresholdFactor = 0.25;

/** Powers up to which a row of the correction of low bands holds, and the factors of that row; by band, then row. */
const lowRangePowers = lowBandEdges((row, i) => lowBandRanges[row] - lowBandCorrections[row][i]);
const lowFactors = lowBandEdges((row, i) => lowBandCorrections[row][i]);

function lowBandEdges(decibels: (row: number, band: number) => number): Float64Array {
  return Float64Array.from({ length: 11 * 8 }, (_, k) => 10 ** (0.1 * decibels(k % 8, Math.floor(k / 8))));
}

/** What the outer ear, and a diffuse field, make of the power of each critical band. */
const earFactors = {
  free: Float64Array.from(earTransmission, (loss) => 10 ** (-0.1 * loss)),
  diffuse: Float64Array.from(earTransmission, (loss, b) => 10 ** (0.1 * (diffuseCorrection[b] - loss))),
};

/**
 * Power of the twenty critical bands as the ear gets them: the lowest third octaves corrected and joined, then the outer
 * ear and, in a diffuse field, its correction; before `bandAdaptation`. ISO 532-1:2017, 5.3 and A.3.
 *
 * @param powers 28 third octaves, 25 Hz to 12.5 kHz, mean squares over that of 20 uPa
 * @param out 20 values, written
 */
export function criticalBandPowers(powers: ArrayLike<number>, field: SoundField, out: Float64Array): void {
  let band = 0;
  let sum = 0;
  for (let i = 0; i < 11; i++) {
    const power = powers[i];
    let k = 8 * i;
    const last = k + 7;
    while (k < last && power > lowRangePowers[k]) k++;
    sum += power * lowFactors[k];
    if (i + 1 === lowBandEnds[band]) {
      out[band++] = sum;
      sum = 0;
    }
  }
  for (let b = 3; b < criticalBands; b++) out[b] = powers[b + 8];
  const factors = earFactors[field];
  for (let b = 0; b < criticalBands; b++) out[b] *= factors[b];
}

const thresholdPowers = Float64Array.from(thresholdLevels, (level) => 10 ** (0.1 * level));
/** From power to s * 10^(0.1 * (level - adaptation - threshold)). */
const overThreshold = Float64Array.from(
  thresholdLevels,
  (level, b) => thresholdFactor * 10 ** (-0.1 * (level + bandAdaptation[b])),
);

/**
 * Core loudness of the critical bands, sone/Bark; the 21st value is the 0 that ends the pattern. ISO 532-1:2017, A.3.
 *
 * @param bandPowers 20 values of `criticalBandPowers`
 * @param out 21 values, written
 */
export function coreLoudness(bandPowers: ArrayLike<number>, out: Float64Array): void {
  for (let b = 0; b < criticalBands; b++) {
    out[b] = 0;
    if (!(bandPowers[b] > thresholdPowers[b])) continue;
    const ratio = 1 - thresholdFactor + overThreshold[b] * bandPowers[b];
    // Fourth root by two square roots: far cheaper than a power.
    out[b] = Math.max(0, coreScale[b] * (Math.sqrt(Math.sqrt(ratio)) - 1));
  }
  out[criticalBands] = 0;
  // Below 80 Hz the threshold falls so steeply that the band's loudness is put right. ISO 532-1:2017, A.3.
  if (out[0] > 0) out[0] *= Math.min(1, 0.4 + 0.32 * out[0] ** 0.2);
}

/** N'0 of each band: 0.0635 * 10^(0.025 * threshold). */
export const coreScale: readonly number[] = thresholdLevels.map((level) => 0.0635 * 10 ** (0.025 * level));

/** Steepness by range and band, flat, for the inner loop. */
const steepness = Float64Array.from(
  slopeRanges.flatMap((_, range) =>
    bandLimits.map((_, band) => slopeSteepness[range][Math.min(Math.max(band - 1, 0), 7)]),
  ),
);
const bandsInAll = bandLimits.length;
const ranges = Float64Array.from(slopeRanges);
const limits = Float64Array.from(bandLimits, (limit) => limit + 1e-4);

/**
 * Total loudness in sone, and the pattern along critical-band rate: core loudness with the slopes by which a loud band
 * covers those above. ISO 532-1:2017, 5.4 and A.4; not rounded.
 *
 * @param core 21 values of `coreLoudness`
 * @param pattern 240 values, written; left out when only the total is wanted
 */
export function addSlopes(core: ArrayLike<number>, pattern?: Float64Array): number {
  let total = 0;
  let z1 = 0;
  let n1 = 0;
  let range = slopeRanges.length - 1;
  let at = 0;
  for (let band = 0; band < bandsInAll; band++) {
    const main = core[band];
    const limit = limits[band];
    while (z1 < limit) {
      let z2 = limit;
      let n2 = main;
      let slope = 0;
      if (n1 <= main) {
        if (n1 < main) {
          range = 0;
          while (ranges[range] > main) range++;
        }
        total += n2 * (z2 - z1);
      } else {
        n2 = Math.max(ranges[range], main);
        slope = steepness[range * bandsInAll + band];
        let width = (n1 - n2) / slope;
        z2 = z1 + width;
        if (z2 > limit) {
          z2 = limit;
          width = z2 - z1;
          n2 = n1 - width * slope;
        }
        total += (width * (n1 + n2)) / 2;
      }
      if (pattern)
        for (; at < patternLength && 0.1 * (at + 1) <= z2; at++)
          pattern[at] = slope === 0 ? n2 : n1 - (0.1 * (at + 1) - z1) * slope;
      while (range < ranges.length - 1 && n2 <= ranges[range]) range++;
      z1 = z2;
      n1 = n2;
    }
  }
  if (pattern) pattern.fill(0, at);
  return Math.max(0, total);
}

/** Mean squares over that of 20 uPa of levels in dB SPL; -Infinity is 0. */
export function powersOfLevels(levelsDb: ArrayLike<number>): Float64Array {
  return Float64Array.from(levelsDb, (level) => 10 ** (0.1 * level));
}

export interface StationaryLoudness {
  readonly sone: number;
  /** Loudness level, phon. */
  readonly phon: number;
  /** Specific loudness at 0.1, 0.2 ... 24 Bark, sone/Bark. */
  readonly pattern: Float64Array;
}

/**
 * Loudness of a steady sound by Zwicker's method, ISO 532-1:2017 clause 5.
 *
 * @param levelsDb third-octave levels of 25 Hz to 12.5 kHz, 28 of them, dB SPL
 */
export function stationaryLoudness(levelsDb: ArrayLike<number>, field: SoundField): StationaryLoudness {
  const bands = new Float64Array(criticalBands);
  const core = new Float64Array(criticalBands + 1);
  const pattern = new Float64Array(patternLength);
  criticalBandPowers(powersOfLevels(levelsDb), field, bands);
  coreLoudness(bands, core);
  const sone = addSlopes(core, pattern);
  return { sone, phon: phonOfSone(sone), pattern };
}

/** Loudness level of a loudness, phon, at least 3. ISO 532-1:2017, A.4 (from memory). */
export function phonOfSone(sone: number): number {
  return sone >= 1 ? 40 + 10 * Math.log2(sone) : Math.max(3, 40 * (sone + 0.0005) ** 0.35);
}
