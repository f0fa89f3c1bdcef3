import { RealFft } from '../signal/fft.ts';
import type { Curve } from './place.ts';
import { curveDb } from './place-curve.ts';

/** Frequencies the design works with: fine enough that the folded cepstrum of a steep curve does not wrap. */
const designSize = 32768;
/** Lowest gain that is designed, dB: below, nothing is heard and the logarithm stays finite. */
const leastDb = -100;

/** A complex spectrum of bins 0..size/2. */
export interface Spectrum {
  readonly re: Float64Array;
  readonly im: Float64Array;
}

/**
 * The minimum-phase response with the magnitude of a curve: log magnitude, its real cepstrum folded onto positive time, and
 * back (textbook: Oppenheim and Schafer, homomorphic deconvolution).
 *
 * @param shape changes the spectrum before it becomes taps, for example to delay it
 * @param taps length of the result, at most 8192; the last eighth is faded out
 */
export function minimumPhaseTaps(
  curve: Curve,
  sampleRate: number,
  taps: number,
  shape?: (spectrum: Spectrum, binHz: number) => void,
): Float64Array {
  const half = designSize / 2;
  const fft = new RealFft(designSize);
  const binHz = sampleRate / designSize;
  const re = Float64Array.from({ length: half + 1 }, (_, k) => {
    const db = Math.max(leastDb, curveDb(curve, Math.max(1, k * binHz)));
    return (db * Math.LN10) / 20;
  });
  const im = new Float64Array(half + 1);
  const time = new Float64Array(designSize);
  fft.inverse(re, im, time);
  for (let n = 1; n < half; n++) {
    time[n] *= 2;
    time[designSize - n] = 0;
  }
  fft.forward(time, re, im);
  for (let k = 0; k <= half; k++) {
    const size = Math.exp(re[k]);
    const angle = im[k];
    re[k] = size * Math.cos(angle);
    im[k] = size * Math.sin(angle);
  }
  shape?.({ re, im }, binHz);
  im[0] = 0;
  im[half] = 0;
  fft.inverse(re, im, time);
  const fade = taps / 8;
  return Float64Array.from({ length: taps }, (_, n) => {
    const rest = (taps - n) / fade;
    return rest >= 1 ? time[n] : time[n] * (0.5 - 0.5 * Math.cos(Math.PI * rest));
  });
}
