import type { Pcm } from '../audio/pcm.ts';
import { RealFft } from '../signal/fft.ts';

const largestBlock = 4096;
const smallestBlock = 256;
/** Fewer blocks than this tell nothing of coherence, so that there is no fraction to be had. */
const fewestBlocks = 8;
/** A fraction must stand out of its own uncertainty by this many standard deviations, or it is none. */
const significance = 3;

/**
 * What is left of b's delay against a after `whole` samples, in -1..1 samples, from the phase of the cross-spectrum:
 * the delay at which the phases of all bins agree best, each bin weighted by how far its coherence over the blocks
 * lets its phase be trusted (the maximum-likelihood weighting of Knapp and Carter, IEEE Trans. ASSP-24, 1976; from
 * memory). Where lossy coding replaced the sound by noise, coherence is low and the bin has no say.
 * 0 when there is too little sound to tell, or the fraction found is within its own uncertainty.
 */
export function fractionalDelay(
  a: Pcm,
  b: Pcm,
  windows: readonly number[],
  frames: number,
  whole: number,
): number {
  const size = Math.max(
    smallestBlock,
    Math.min(largestBlock, 2 ** Math.floor(Math.log2(frames / fewestBlocks))),
  );
  const fft = new RealFft(size);
  const bins = size / 2 + 1;
  const hann = Float64Array.from({ length: size }, (_, i) => 0.5 - 0.5 * Math.cos((2 * Math.PI * i) / size));
  const [aRe, aIm, bRe, bIm, crossRe, crossIm, aPower, bPower] = Array.from(
    { length: 8 },
    () => new Float64Array(bins),
  );
  let blocks = 0;
  for (const window of windows)
    for (let start = window; start + size <= window + frames; start += size / 2)
      for (let c = 0; c < a.channels.length; c++) {
        fft.forward(windowed(a.channels[c], start, hann), aRe, aIm);
        fft.forward(windowed(b.channels[c], start + whole, hann), bRe, bIm);
        if (aRe.every((value) => value === 0)) continue;
        blocks++;
        for (let k = 0; k < bins; k++) {
          crossRe[k] += aRe[k] * bRe[k] + aIm[k] * bIm[k];
          crossIm[k] += aRe[k] * bIm[k] - aIm[k] * bRe[k];
          aPower[k] += aRe[k] ** 2 + aIm[k] ** 2;
          bPower[k] += bRe[k] ** 2 + bIm[k] ** 2;
        }
      }
  if (blocks < fewestBlocks) return 0;
  const weights = trust(crossRe, crossIm, aPower, bPower, blocks);
  const fraction = agreeingDelay(crossRe, crossIm, weights, size);
  return Math.abs(fraction) < significance * deviation(weights, size, blocks) ? 0 : fraction;
}

function windowed(samples: Float32Array, start: number, window: Float64Array): Float64Array {
  const block = new Float64Array(window.length);
  const end = Math.min(window.length, samples.length - start);
  for (let i = Math.max(0, -start); i < end; i++) block[i] = window[i] * samples[start + i];
  return block;
}

/** So that a few perfect bins do not decide alone. */
const highestCoherence = 0.9999;

/** Weight of each bin's unit phasor, from sums over `blocks` blocks: coherence / (1 - coherence), nothing for bins that hold nothing. */
export function trust(
  crossRe: Float64Array,
  crossIm: Float64Array,
  aPower: Float64Array,
  bPower: Float64Array,
  blocks: number,
): Float64Array {
  const most = aPower.reduce((x, y) => Math.max(x, y), 0);
  return aPower.map((power, k) => {
    const magnitude = crossRe[k] ** 2 + crossIm[k] ** 2;
    if (magnitude === 0 || power < most * 1e-10) return 0;
    const coherence = Math.min(highestCoherence, magnitude / (power * bPower[k]));
    // Independent noises have a coherence of about 1/blocks.
    return coherence < 4 / blocks ? 0 : coherence / (1 - coherence);
  });
}

/** What weights like these tell about a delay, 1/samples^2; the inverse of the least variance of an estimate (Cramer-Rao), a block. */
export function information(weights: Float64Array, size: number): number {
  let sum = 0;
  weights.forEach((weight, k) => {
    sum += weight * ((2 * Math.PI * k) / size) ** 2;
  });
  return sum;
}

/** Least standard deviation that an estimate with these weights can have (Cramer-Rao), samples; overlapped blocks count half. */
function deviation(weights: Float64Array, size: number, blocks: number): number {
  const known = information(weights, size);
  return known > 0 ? 1 / Math.sqrt(known * blocks) : Number.POSITIVE_INFINITY;
}

/**
 * The delay within +-`reach` samples that turns the weighted phasors most nearly in line: coarse search, then Newton's
 * method on the slope.
 */
export function agreeingDelay(
  re: Float64Array,
  im: Float64Array,
  weights: Float64Array,
  size: number,
  reach = 1,
): number {
  const bins = [...weights.keys()].filter((k) => k > 0 && weights[k] > 0);
  if (bins.length === 0) return 0;
  const phases = bins.map((k) => Math.atan2(im[k], re[k]));
  const omegas = bins.map((k) => (2 * Math.PI * k) / size);
  const at = (delay: number) => {
    let [value, slope, bend] = [0, 0, 0];
    for (let i = 0; i < bins.length; i++) {
      const angle = phases[i] + omegas[i] * delay;
      const weight = weights[bins[i]];
      value += weight * Math.cos(angle);
      slope -= weight * omegas[i] * Math.sin(angle);
      bend -= weight * omegas[i] ** 2 * Math.cos(angle);
    }
    return { value, slope, bend };
  };
  let best = 0;
  let bestValue = at(0).value;
  for (let delay = -reach; delay <= reach; delay += 0.125) {
    const { value } = at(delay);
    if (value > bestValue) [best, bestValue] = [delay, value];
  }
  for (let step = 0; step < 20; step++) {
    const { slope, bend } = at(best);
    if (bend >= 0) break;
    const move = -slope / bend;
    best = Math.max(-reach, Math.min(reach, best + move));
    if (Math.abs(move) < 1e-6) break;
  }
  return best;
}
