import { stationaryLoudness } from '../hearing/specific-loudness.ts';
import { RealFft } from '../signal/fft.ts';

/** Samples in a stretch that is taken for steady. */
export const stretchFrames = 4096;
/** Third octaves of 25 Hz to 12.5 kHz, as ISO 532-1 takes them. */
const bands = 28;
/** Band levels of so many pairs of stretches are kept; of longer sounds every second, every fourth and so on. */
const mostPairs = 4096;
/** At which level the sounds are thought to be heard, dB SPL. */
const heardDb = 70;
const perBark = 10;

/**
 * How far two sounds of one length lie apart in the ear: mean distance of their specific loudness (ISO 532-1, stationary, stretches
 * of 4096 samples, free field), each brought to 70 dB SPL by its own loudness. Not a model of what moves faster.
 */
export class PatternDistance {
  readonly #fft = new RealFft(stretchFrames);
  readonly #re = new Float64Array(stretchFrames / 2 + 1);
  readonly #im = new Float64Array(stretchFrames / 2 + 1);
  readonly #time = new Float64Array(stretchFrames);
  readonly #window = Float64Array.from(
    { length: stretchFrames },
    (_, i) => 0.5 - 0.5 * Math.cos((2 * Math.PI * i) / stretchFrames),
  );
  readonly #edges: readonly (readonly [number, number])[];
  /** Levels of the one and the other by band, dB, a pair after the other. */
  #pairs: { readonly before: Float32Array; readonly after: Float32Array }[] = [];
  #every = 1;
  #seen = 0;

  constructor(sampleRate: number) {
    this.#edges = Array.from({ length: bands }, (_, b) => {
      const middle = ((1000 * 10 ** ((b - 16) / 10)) / sampleRate) * stretchFrames;
      return [middle * 10 ** -0.05, middle * 10 ** 0.05];
    });
  }

  /** Takes a stretch of both, of one channel, `stretchFrames` long. */
  take(before: Float32Array, after: Float32Array): void {
    if (this.#seen++ % this.#every !== 0) return;
    this.#pairs.push({ before: this.#levels(before), after: this.#levels(after) });
    if (this.#pairs.length < mostPairs) return;
    this.#pairs = this.#pairs.filter((_, i) => i % 2 === 0);
    this.#every *= 2;
  }

  /** Mean distance, sone; null when nothing was taken or one of them has no loudness. */
  finish(beforeLufs: number | null, afterLufs: number | null): number | null {
    if (beforeLufs === null || afterLufs === null || this.#pairs.length === 0) return null;
    const heard = (levels: Float32Array, lufs: number) =>
      stationaryLoudness(
        levels.map((level) => level + heardDb - lufs),
        'free',
      ).pattern;
    let sum = 0;
    for (const { before, after } of this.#pairs) {
      const one = heard(before, beforeLufs);
      const other = heard(after, afterLufs);
      for (let z = 0; z < one.length; z++) sum += Math.abs(one[z] - other[z]) / perBark;
    }
    return sum / this.#pairs.length;
  }

  #levels(samples: Float32Array): Float32Array {
    for (let i = 0; i < stretchFrames; i++) this.#time[i] = samples[i] * this.#window[i];
    this.#fft.forward(this.#time, this.#re, this.#im);
    return Float32Array.from(this.#edges, ([low, high]) => {
      // The floor keeps silence a number.
      let power = 1e-14;
      for (let k = Math.max(1, Math.floor(low)); k <= Math.min(stretchFrames / 2, Math.ceil(high)); k++) {
        const share = Math.max(0, Math.min(k + 0.5, high) - Math.max(k - 0.5, low));
        power += share * (this.#re[k] ** 2 + this.#im[k] ** 2);
      }
      return 10 * Math.log10((2 * power) / (0.375 * stretchFrames ** 2));
    });
  }
}
