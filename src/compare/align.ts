import { frameCount, type Pcm, slicePcm } from '../audio/pcm.ts';
import { RealFft } from '../signal/fft.ts';
import { fractionalDelay } from './align-fraction.ts';
import { pickWindows } from './align-windows.ts';

export interface DelayOptions {
  /** Delays beyond +- this are not looked for, samples. Default 8192. */
  readonly maxDelaySamples?: number;
  /**
   * Where the delay should be. It decides only between delays that fit equally well, as those a period apart do in a
   * steady tone.
   */
  readonly expectedSamples?: number;
}

export interface Delay {
  /** How much later b is than a, samples; negative when earlier. */
  readonly delaySamples: number;
  /** Normalised cross-correlation of a and b at the nearest whole delay, in the windows looked at, 0..1. */
  readonly likeness: number;
}

const windowFrames = 32_768;
/** Shorter sounds are looked at with silence around them: in less, anything is like anything. */
const shortestWindow = 2048;
const windowCount = 4;
/** Delays whose likeness is this close to the best fit equally well (heuristic; coding noise changes likeness less). */
const equallyLike = 0.002;

/**
 * Delay of b against a, to about a hundredth of a sample where b is a filtered or coded copy of a. Same rate and
 * channel count. null when either is silent or nothing in b resembles a (no delay correlates positively).
 *
 * Whole samples by cross-correlation, normalised by the energy under each lag, channels and the song's most telling
 * windows added; then the fraction from the phase of the cross-spectrum. Channels are correlated each with its own
 * twin, so that sounds which cancel in mono align too.
 */
export function findDelay(a: Pcm, b: Pcm, options: DelayOptions = {}): Delay | null {
  if (a.sampleRate !== b.sampleRate || a.channels.length !== b.channels.length)
    throw new RangeError('findDelay needs sounds of equal rate and channel count');
  const reach = options.maxDelaySamples ?? 8192;
  const frames = Math.max(shortestWindow, Math.min(windowFrames, frameCount(a)));
  const windows = pickWindows(a, frames, windowCount);
  if (windows.length === 0) return null;
  const likeness = lagLikeness(a, b, windows, frames, reach);
  const whole = bestLag(likeness, reach, options.expectedSamples);
  if (whole === null) return null;
  return {
    delaySamples: whole + fractionalDelay(a, b, windows, frames, whole),
    likeness: likeness[whole + reach],
  };
}

/** Lags to either side of the expected one that must fit worse. */
const nearReach = 3;
/** As much is looked at, from the middle of the sound; where that is silent, all of it is. */
const nearFrames = 2 ** 20;
/** A likeness below this may have a better one elsewhere, so that all lags have to be looked at (heuristic). */
const nearEnough = 0.9;

/**
 * As findDelay where the delay is known but for its confirmation: only the lags next to `expectedSamples` are looked
 * at, and all others when it does not fit best among these or fits badly. Many times quicker.
 */
export function confirmDelay(a: Pcm, b: Pcm, expectedSamples: number): Delay | null {
  const frames = Math.max(shortestWindow, Math.min(windowFrames, frameCount(a)));
  const from = Math.max(0, Math.floor((frameCount(a) - nearFrames) / 2));
  const middle = slicePcm(a, from, Math.min(frameCount(a), from + nearFrames));
  const windows = pickWindows(middle, frames, windowCount).map((start) => start + from);
  const likeness = Array.from({ length: 2 * nearReach + 1 }, (_, i) =>
    likenessAt(a, b, windows, frames, expectedSamples + i - nearReach),
  );
  const expected = likeness[nearReach];
  if (!(expected >= nearEnough) || likeness.some((other) => other > expected))
    return findDelay(a, b, { expectedSamples });
  return {
    delaySamples: expectedSamples + fractionalDelay(a, b, windows, frames, expectedSamples),
    likeness: expected,
  };
}

/** Normalised cross-correlation at one lag. */
function likenessAt(a: Pcm, b: Pcm, windows: readonly number[], frames: number, lag: number): number {
  let [own, other, common] = [0, 0, 0];
  for (const start of windows)
    a.channels.forEach((samples, c) => {
      const later = b.channels[c];
      const from = Math.max(0, start, -lag);
      const to = Math.min(start + frames, samples.length, later.length - lag);
      for (let i = from; i < to; i++) {
        const [x, y] = [samples[i], later[i + lag]];
        own += x * x;
        other += y * y;
        common += x * y;
      }
    });
  return own > 0 && other > 0 ? common / Math.sqrt(own * other) : 0;
}

/** Normalised cross-correlation at every lag -reach..reach, windows and channels added before normalising. */
function lagLikeness(
  a: Pcm,
  b: Pcm,
  windows: readonly number[],
  frames: number,
  reach: number,
): Float64Array {
  const span = frames + 2 * reach;
  const fft = new RealFft(2 ** Math.ceil(Math.log2(Math.max(2, span))));
  const bins = fft.size / 2 + 1;
  const [aRe, aIm, bRe, bIm] = Array.from({ length: 4 }, () => new Float64Array(bins));
  const crossRe = new Float64Array(bins);
  const crossIm = new Float64Array(bins);
  const energyAtLag = new Float64Array(2 * reach + 1);
  let energy = 0;
  for (const start of windows)
    for (let c = 0; c < a.channels.length; c++) {
      const own = cut(a.channels[c], start, frames, fft.size);
      const other = cut(b.channels[c], start - reach, span, fft.size);
      for (const x of own) energy += x * x;
      let under = 0;
      for (let i = 0; i < span; i++) {
        under += other[i] * other[i] - (i >= frames ? other[i - frames] * other[i - frames] : 0);
        if (i >= frames - 1) energyAtLag[i - frames + 1] += under;
      }
      fft.forward(own, aRe, aIm);
      fft.forward(other, bRe, bIm);
      for (let k = 0; k < bins; k++) {
        crossRe[k] += aRe[k] * bRe[k] + aIm[k] * bIm[k];
        crossIm[k] += aRe[k] * bIm[k] - aIm[k] * bRe[k];
      }
    }
  const correlation = new Float64Array(fft.size);
  fft.inverse(crossRe, crossIm, correlation);
  // A lag under which b holds next to nothing says nothing, however well that nothing fits.
  const floor = energyAtLag.reduce((most, e) => Math.max(most, e), 0) * 1e-3;
  return Float64Array.from(energyAtLag, (e, lag) =>
    e > floor ? correlation[lag] / Math.sqrt(e * energy) : 0,
  );
}

function cut(samples: Float32Array, start: number, frames: number, size: number): Float64Array {
  const piece = new Float64Array(size);
  const from = Math.max(0, start);
  const to = Math.min(samples.length, start + frames);
  if (to > from) piece.set(samples.subarray(from, to), from - start);
  return piece;
}

function bestLag(likeness: Float64Array, reach: number, expected: number | undefined): number | null {
  let best = 0;
  for (const value of likeness) best = Math.max(best, value);
  if (best <= 0) return null;
  if (expected === undefined) return likeness.indexOf(best) - reach;
  let nearest = Number.POSITIVE_INFINITY;
  for (let i = 0; i < likeness.length; i++) {
    const isPeak = likeness[i] >= (likeness[i - 1] ?? 0) && likeness[i] >= (likeness[i + 1] ?? 0);
    if (!isPeak || likeness[i] < best - equallyLike) continue;
    if (Math.abs(i - reach - expected) < Math.abs(nearest - expected)) nearest = i - reach;
  }
  return nearest;
}
