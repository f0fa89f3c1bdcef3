import { powerToDb } from '../signal/decibels.ts';

/** Offset that makes 997 Hz at full scale in one channel read -3.01 LKFS. ITU-R BS.1770-5 Annex 1, eq. 2. */
const offsetLufs = -0.691;
/** ITU-R BS.1770-5 Annex 1, eq. 5 (and EBU Tech 3342 section 3.1): quieter blocks never count. */
const absoluteGateLufs = -70;
/** ITU-R BS.1770-5 Annex 1, eq. 6. */
const integratedGateLu = -10;
/** EBU Tech 3342 section 3.1 (from memory). */
const rangeGateLu = -20;
/** EBU Tech 3342 section 3.1 (from memory). */
const rangePercentiles = { low: 0.1, high: 0.95 };

/** Weighted mean-square power to loudness; 0 gives -Infinity. */
export function loudnessLufs(power: number): number {
  return offsetLufs + powerToDb(power);
}

/** The weighted mean-square power of a loudness. */
export function powerOf(lufs: number): number {
  return 10 ** ((lufs - offsetLufs) / 10);
}

function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

/** The powers above the absolute gate and above the gate `relativeLu` below the mean of those. */
function gated(powers: readonly number[], relativeLu: number): number[] {
  const audible = powers.filter((power) => power > powerOf(absoluteGateLufs));
  const gate = mean(audible) * 10 ** (relativeLu / 10);
  return audible.filter((power) => power > gate);
}

/** Integrated loudness, LUFS, from the powers of all 400 ms blocks (75 % overlap); null when none passes the gates. */
export function integratedLufs(momentaryPowers: readonly number[]): number | null {
  const loud = gated(momentaryPowers, integratedGateLu);
  return loud.length > 0 ? loudnessLufs(mean(loud)) : null;
}

/** Loudness range, LU, from the powers of 3 s blocks, one every 100 ms; null when none passes the gates. */
export function rangeLu(shortTermPowers: readonly number[]): number | null {
  const loud = gated(shortTermPowers, rangeGateLu).sort((a, b) => a - b);
  if (loud.length === 0) return null;
  const at = (share: number) => loudnessLufs(loud[Math.round((loud.length - 1) * share)]);
  return at(rangePercentiles.high) - at(rangePercentiles.low);
}
