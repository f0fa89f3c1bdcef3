import type { SeededRandom } from '../signal/seeded-random.ts';
import { factorise } from './small-matrix.ts';
import { differenceError } from './strengths.ts';

const draws = 4000;

/**
 * How many standard errors the largest of all differences between strengths passes by chance alone in `1 - level` of
 * shoot-outs: the bound that all pairs are held to together, so that the chance of seeing any difference that is not there
 * stays at 1 - level. As Tukey's studentised range, but for any covariance: by seeded draws (4000: the bound is known to
 * about 0.03).
 */
export function simultaneousBound(
  covariance: Float64Array,
  entries: number,
  random: SeededRandom,
  level = 0.95,
): number {
  // Strengths less the last one, of full rank.
  const free = entries - 1;
  const at = (i: number, j: number) => covariance[i * entries + j];
  const factor = new Float64Array(free * free);
  for (let i = 0; i < free; i++)
    for (let j = 0; j < free; j++)
      factor[i * free + j] =
        at(i, j) - at(i, free) - at(free, j) + at(free, free) + (i === j ? 1e-9 * at(i, i) : 0);
  if (!factorise(factor, free)) return Number.POSITIVE_INFINITY;
  const scale = new Float64Array(entries * entries);
  for (let i = 0; i < entries; i++)
    for (let j = 0; j < i; j++) scale[i * entries + j] = 1 / differenceError(covariance, entries, i, j);
  const largest = new Float64Array(draws);
  const normal = new Float64Array(free);
  const drawn = new Float64Array(entries);
  for (let draw = 0; draw < draws; draw++) {
    for (let i = 0; i < free; i++) normal[i] = random.normal();
    let most = 0;
    for (let i = 0; i < entries; i++) {
      let value = 0;
      for (let k = 0; k <= i && i < free; k++) value += factor[i * free + k] * normal[k];
      drawn[i] = value;
      for (let j = 0; j < i; j++) most = Math.max(most, Math.abs(value - drawn[j]) * scale[i * entries + j]);
    }
    largest[draw] = most;
  }
  largest.sort();
  return largest[Math.min(draws - 1, Math.ceil(level * draws))];
}
