import type { Pcm } from '../audio/pcm.ts';
import { thirdOctaves } from '../measure/third-octaves.ts';
import { RealFft } from '../signal/fft.ts';
import { agreeingDelay, information, trust } from './align-fraction.ts';
import { type DelayLine, delayAt } from './change-line.ts';
import { ClockReader } from './change-onto.ts';

const size = 4096;
const bins = size / 2 + 1;
/** Third octaves that likeness is told by, Hz: below, a block holds too few periods; above, coding leaves noise. */
const fromHz = 100;
const toHz = 10_000;
/** Bands this far below the loudest of a window say nothing, dB. */
const reachDb = 60;

/** What two sounds have in common around one moment, once b is moved along a line of delays. */
export interface WindowCoherence {
  /** What is left of the delay, samples. */
  readonly residualSamples: number;
  /** How far that is to be trusted, 1/samples^2. */
  readonly weight: number;
  /** Mean coherence of the third octaves, 0..1. */
  readonly likeness: number;
  /** For each channel: correlation with its twin, -1..1. */
  readonly correlations: readonly number[];
  /** Of left minus right with its twin, -1..1; 0 unless there are two channels. */
  readonly sideCorrelation: number;
}

interface Sums {
  cross: number;
  a: number;
  b: number;
}

interface Spectrum {
  readonly re: Float64Array;
  readonly im: Float64Array;
}

const spectrum = (): Spectrum => ({ re: new Float64Array(bins), im: new Float64Array(bins) });

/** Compares windows of two sounds of equal rate and channel count; holds the work arrays. */
export class WindowComparer {
  readonly #a: Pcm;
  readonly #b: ClockReader;
  readonly #fft = new RealFft(size);
  readonly #block = new Float64Array(size);
  readonly #spectraA: readonly Spectrum[];
  readonly #spectraB: readonly Spectrum[];
  readonly #cross = spectrum();
  readonly #powerA = new Float64Array(bins);
  readonly #powerB = new Float64Array(bins);

  constructor(a: Pcm, b: Pcm) {
    this.#a = a;
    this.#b = new ClockReader(b, 1);
    this.#spectraA = a.channels.map(spectrum);
    this.#spectraB = b.channels.map(spectrum);
  }

  /**
   * Compares `frames` samples of a from `start` on with what b plays then, read by a's clock along the line. null
   * where either is silent.
   *
   * @param signs for each channel 1 or -1: -1 where b's is upside down
   * @param reach furthest residual looked for, samples
   */
  compare(
    start: number,
    frames: number,
    line: DelayLine,
    signs: readonly number[],
    reach: number,
  ): WindowCoherence | null {
    for (const sums of [this.#cross.re, this.#cross.im, this.#powerA, this.#powerB]) sums.fill(0);
    const own = signs.map((): Sums => ({ cross: 0, a: 0, b: 0 }));
    const side: Sums = { cross: 0, a: 0, b: 0 };
    let blocks = 0;
    const played = this.#b.read(start + delayAt(line, start), 1 + line.slope, frames);
    for (let at = 0; at + size <= frames; at += size / 2) {
      for (let c = 0; c < signs.length; c++) {
        this.#transform(this.#a.channels[c], start + at, 1, this.#spectraA[c]);
        this.#transform(played[c], at, signs[c], this.#spectraB[c]);
        const before = own[c].a;
        this.#addChannel(this.#spectraA[c], this.#spectraB[c], own[c]);
        blocks += Number(own[c].a > before);
      }
      if (signs.length === 2) addSide(this.#spectraA, this.#spectraB, side);
    }
    if (blocks === 0 || own.every(({ b }) => b === 0)) return null;
    const { re, im } = this.#cross;
    const weights = trust(re, im, this.#powerA, this.#powerB, blocks);
    return {
      residualSamples: agreeingDelay(re, im, weights, size, reach),
      weight: information(weights, size),
      likeness: bandLikeness(this.#a.sampleRate, re, im, this.#powerA, this.#powerB),
      correlations: own.map(correlation),
      sideCorrelation: correlation(side),
    };
  }

  #transform(samples: Float32Array, start: number, sign: number, into: Spectrum): void {
    const inside = start >= 0 && start + size <= samples.length;
    for (let i = 0; i < size; i++)
      this.#block[i] = sign * hann[i] * (inside ? samples[start + i] : (samples[start + i] ?? 0));
    this.#fft.forward(this.#block, into.re, into.im);
  }

  #addChannel(a: Spectrum, b: Spectrum, own: Sums): void {
    const [aRe, aIm, bRe, bIm] = [a.re, a.im, b.re, b.im];
    const { re: crossRe, im: crossIm } = this.#cross;
    let [cross, allA, allB] = [0, 0, 0];
    for (let k = 1; k < bins; k++) {
      const re = aRe[k] * bRe[k] + aIm[k] * bIm[k];
      const powerA = aRe[k] * aRe[k] + aIm[k] * aIm[k];
      const powerB = bRe[k] * bRe[k] + bIm[k] * bIm[k];
      crossRe[k] += re;
      crossIm[k] += aRe[k] * bIm[k] - aIm[k] * bRe[k];
      this.#powerA[k] += powerA;
      this.#powerB[k] += powerB;
      cross += re;
      allA += powerA;
      allB += powerB;
    }
    own.cross += cross;
    own.a += allA;
    own.b += allB;
  }
}

/** Left minus right of both. */
function addSide([a, a2]: readonly Spectrum[], [b, b2]: readonly Spectrum[], side: Sums): void {
  let [cross, allA, allB] = [0, 0, 0];
  for (let k = 1; k < bins; k++) {
    const aRe = a.re[k] - a2.re[k];
    const aIm = a.im[k] - a2.im[k];
    const bRe = b.re[k] - b2.re[k];
    const bIm = b.im[k] - b2.im[k];
    cross += aRe * bRe + aIm * bIm;
    allA += aRe * aRe + aIm * aIm;
    allB += bRe * bRe + bIm * bIm;
  }
  side.cross += cross;
  side.a += allA;
  side.b += allB;
}

function correlation({ cross, a, b }: Sums): number {
  return a > 0 && b > 0 ? cross / Math.sqrt(a * b) : 0;
}

/** Mean over the third octaves of |sum of cross-spectrum| / sqrt(power of a * power of b). */
function bandLikeness(
  sampleRate: number,
  crossRe: Float64Array,
  crossIm: Float64Array,
  aPower: Float64Array,
  bPower: Float64Array,
): number {
  const bands = thirdOctaves(sampleRate)
    .filter(({ nominalHz }) => nominalHz >= fromHz && nominalHz <= toHz)
    .map(({ lowHz, highHz }) => {
      const [low, high] = [lowHz, highHz].map((hertz) => Math.round((hertz * size) / sampleRate));
      const sum = (values: Float64Array) => values.subarray(low, high).reduce((x, y) => x + y, 0);
      return { re: sum(crossRe), im: sum(crossIm), a: sum(aPower), b: sum(bPower) };
    });
  const floor = bands.reduce((most, { a }) => Math.max(most, a), 0) * 10 ** (-reachDb / 10);
  const told = bands.filter(({ a }) => a > floor);
  if (told.length === 0) return 0;
  const likeness = ({ re, im, a, b }: (typeof bands)[number]) =>
    b > 0 ? Math.sqrt((re * re + im * im) / (a * b)) : 0;
  return told.reduce((sum, band) => sum + likeness(band), 0) / told.length;
}

const hann = Float64Array.from({ length: size }, (_, i) => 0.5 - 0.5 * Math.cos((2 * Math.PI * i) / size));
