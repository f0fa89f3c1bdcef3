import type { Pcm } from '../audio/pcm.ts';
import { RealFft } from '../signal/fft.ts';

/** What is looked at, Hz: below, a window holds too few periods; above, lossy coding and drift leave little. */
const fromHz = 60;
const toHz = 10_000;
/** Bins this far below the window's strongest have no say, dB. */
const reachDb = 60;

/** Where a window of one sound was found in another. */
export interface WindowMatch {
  /** How much later the other sound has it, whole samples. */
  readonly delaySamples: number;
  /** Height of the phase correlation there, 0..1: 1 for the same sound, about 0.05 for any other. */
  readonly likeness: number;
  /** Sign of the correlation of each channel, times its height. */
  readonly signs: readonly number[];
}

/**
 * Looks for `frames` samples of a from `start` on in b, within `reach` samples of the expected delay, by phase
 * correlation (each bin counts the same however loud: equalising and bass do not blur it; Knapp and Carter 1976, from
 * memory). Channels are correlated each with its own twin and their squares added, so that an inverted channel is
 * found too. null when the window is silent in either.
 */
export function matchWindow(
  a: Pcm,
  b: Pcm,
  start: number,
  frames: number,
  expected: number,
  reach: number,
): WindowMatch | null {
  const span = frames + 2 * reach;
  const size = 2 ** Math.ceil(Math.log2(span));
  const fft = new RealFft(size);
  const bins = size / 2 + 1;
  const [aRe, aIm, bRe, bIm] = Array.from({ length: 4 }, () => new Float64Array(bins));
  const low = Math.ceil((fromHz * size) / a.sampleRate);
  const high = Math.min(bins - 1, Math.floor((toHz * size) / a.sampleRate));
  const correlations: Float64Array[] = [];
  const shares: number[] = [];
  for (let c = 0; c < a.channels.length; c++) {
    fft.forward(cut(a.channels[c], start, frames, size), aRe, aIm);
    fft.forward(cut(b.channels[c], start + expected - reach, span, size), bRe, bIm);
    let strongest = 0;
    for (let k = low; k <= high; k++) strongest = Math.max(strongest, aRe[k] ** 2 + aIm[k] ** 2);
    const floor = strongest * 10 ** (-reachDb / 10);
    let heard = 0;
    for (let k = 0; k < bins; k++) {
      const [re, im] = [aRe[k] * bRe[k] + aIm[k] * bIm[k], aRe[k] * bIm[k] - aIm[k] * bRe[k]];
      const magnitude = Math.sqrt(re * re + im * im);
      const counts = k >= low && k <= high && magnitude > 0 && aRe[k] ** 2 + aIm[k] ** 2 > floor;
      aRe[k] = counts ? re / magnitude : 0;
      aIm[k] = counts ? im / magnitude : 0;
      heard += Number(counts);
    }
    if (heard === 0) continue;
    const correlation = new Float64Array(size);
    fft.inverse(aRe, aIm, correlation);
    // At most 1: all counted bins (and their mirror images) in line.
    correlations[c] = correlation.map((x) => (x * size) / (2 * heard));
    shares.push(c);
  }
  if (shares.length === 0) return null;
  let [best, at] = [-1, 0];
  for (let lag = 0; lag <= 2 * reach; lag++) {
    let sum = 0;
    for (const c of shares) sum += correlations[c][lag] ** 2;
    if (sum > best) [best, at] = [sum, lag];
  }
  return {
    delaySamples: expected + at - reach,
    likeness: Math.sqrt(best / shares.length),
    signs: a.channels.map((_, c) => correlations[c]?.[at] ?? 0),
  };
}

/** A piece under a Hann window (softly cut, so that its edges are no sound of their own), zeros after. */
function cut(samples: Float32Array, start: number, frames: number, size: number): Float64Array {
  const piece = new Float64Array(size);
  const fade = Math.min(frames / 2, 2048);
  for (let i = 0; i < frames; i++) {
    const edge = Math.min(i + 0.5, frames - i - 0.5);
    const gain = edge >= fade ? 1 : 0.5 - 0.5 * Math.cos((Math.PI * edge) / fade);
    piece[i] = (samples[start + i] ?? 0) * gain;
  }
  return piece;
}
