import type { Pcm } from '../audio/pcm.ts';
import { frameCount } from '../audio/pcm.ts';
import { type Band, thirdOctaves } from '../measure/third-octaves.ts';
import { floats, type Kernels } from '../signal/kernels.ts';
import { PairSpectrum } from '../signal/pair-spectrum.ts';

/** Third octaves kept: 20 Hz to 20 kHz. */
export const songBandCount = 31;
/** First of the 28 bands that hearing takes, 25 Hz. */
export const firstHeardBand = 1;

/**
 * A song as its two sides sound band by band in time: what everything about places is worked out from. Powers are mean
 * squares with full scale = 1, `songBandCount` a step.
 */
export interface SongBands {
  readonly stepSeconds: number;
  readonly steps: number;
  readonly left: Float32Array;
  readonly right: Float32Array;
  /** Mean of left times right: what adds up when the sides are added; can be negative. */
  readonly common: Float32Array;
}

/** Below this band the long window is used, above the short one, Hz. */
const splitHz = 450;
/** Long window at 48 kHz: 171 ms, 5.9 Hz a bin; the short one is a quarter. */
const longSize = 8192;
/** Steps to a long window; two short windows share a step. */
const stepsInWindow = 4;
const shortInLong = 4;

interface BandBins {
  readonly band: number;
  readonly first: number;
  readonly weights: Float64Array;
}

/**
 * Takes a song block by block (any size; only the sequence counts) and keeps its third octaves each 43 ms or so: two
 * window lengths, so that low bands part and high ones move. More than two channels are folded as in ITU-R BS.775 (centre
 * and surrounds 3 dB down; from memory), a single one stands for both sides.
 */
export class SongBandMeter {
  readonly #kernels: Kernels;
  readonly #rate: number;
  readonly #step: number;
  readonly #long: PairSpectrum;
  readonly #short: PairSpectrum;
  readonly #longBins: readonly BandBins[];
  readonly #shortBins: readonly BandBins[];
  readonly #pointers: readonly [number, number];
  readonly #window: number;
  #filled: number;
  #rows: Float32Array[] = [];

  constructor(kernels: Kernels, sampleRate: number) {
    this.#kernels = kernels;
    this.#rate = sampleRate;
    const size = Math.max(64, longSize * 2 ** Math.round(Math.log2(sampleRate / 48000)));
    this.#window = size;
    this.#step = size / stepsInWindow;
    this.#long = new PairSpectrum(kernels, size);
    this.#short = new PairSpectrum(kernels, size / shortInLong);
    const bands = thirdOctaves(sampleRate).map((band, index) => ({ band, index }));
    const low = bands.filter(({ band }) => band.nominalHz < splitHz);
    const high = bands.filter(({ band }) => band.nominalHz >= splitHz);
    this.#longBins = low.map(({ band, index }) => binsOf(band, index, sampleRate / size, size));
    this.#shortBins = high.map(({ band, index }) =>
      binsOf(band, index, (sampleRate * shortInLong) / size, size / shortInLong),
    );
    this.#pointers = [kernels.allocate(size * 4), kernels.allocate(size * 4)];
    // The first window stands around the first step: its head is silence.
    this.#filled = size / 2 - this.#step / 2;
  }

  take(block: Pcm): void {
    if (block.sampleRate !== this.#rate) throw new RangeError('the blocks of a sound must agree in rate');
    const [left, right] = foldToTwo(block);
    const frames = frameCount(block);
    for (let at = 0; at < frames; ) {
      const count = Math.min(frames - at, this.#window - this.#filled);
      floats(this.#kernels, this.#pointers[0], this.#window).set(left.subarray(at, at + count), this.#filled);
      floats(this.#kernels, this.#pointers[1], this.#window).set(
        right.subarray(at, at + count),
        this.#filled,
      );
      this.#filled += count;
      at += count;
      if (this.#filled === this.#window) this.#look();
    }
  }

  finish(): SongBands {
    const head = this.#window / 2 - this.#step / 2;
    // Sound is still in the window as long as a step's own stretch holds any.
    while (this.#filled > head) {
      for (const pointer of this.#pointers)
        floats(this.#kernels, pointer, this.#window).fill(0, this.#filled);
      const rest = this.#filled;
      this.#look();
      this.#filled = rest - this.#step;
    }
    const steps = this.#rows.length;
    const all = [0, 1, 2].map((part) => {
      const flat = new Float32Array(steps * songBandCount);
      this.#rows.forEach((row, i) => {
        flat.set(row.subarray(part * songBandCount, (part + 1) * songBandCount), i * songBandCount);
      });
      return flat;
    });
    this.#rows = [];
    return { stepSeconds: this.#step / this.#rate, steps, left: all[0], right: all[1], common: all[2] };
  }

  #look(): void {
    const row = new Float32Array(3 * songBandCount);
    const [first, second] = this.#pointers;
    this.#long.add(first, second);
    addBands(this.#kernels, this.#long, this.#longBins, 1, row);
    const quarter = this.#window / shortInLong;
    for (const part of [0, 1]) {
      // The two short windows are half a step apart, around the middle of the long one.
      const offset = 4 * (this.#window / 2 - quarter / 2 + (part - 0.5) * (this.#step / 2));
      this.#short.add(first + offset, second + offset);
      addBands(this.#kernels, this.#short, this.#shortBins, 0.5, row);
    }
    this.#rows.push(row);
    for (const pointer of this.#pointers)
      floats(this.#kernels, pointer, this.#window).copyWithin(0, this.#step);
    this.#filled = this.#window - this.#step;
  }
}

/** The bands of a whole sound in memory. */
export function songBands(kernels: Kernels, pcm: Pcm): SongBands {
  const meter = new SongBandMeter(kernels, pcm.sampleRate);
  meter.take(pcm);
  return meter.finish();
}

function foldToTwo({ channels }: Pcm): readonly [Float32Array, Float32Array] {
  const [left, right = left, centre, , ...around] = channels;
  if (!centre) return [left, right];
  const half = Math.SQRT1_2;
  const side = (own: Float32Array, surround: Float32Array | undefined) =>
    own.map((x, i) => x + half * (centre[i] + (surround?.[i] ?? 0)));
  return [side(left, around[0]), side(right, around[1])];
}

/** A bin reaches half a bin to either side of its centre and is shared out by overlap. */
function binsOf({ lowHz, highHz }: Band, band: number, binHz: number, size: number): BandBins {
  const low = lowHz / binHz + 0.5;
  const high = Math.min(highHz / binHz + 0.5, size / 2);
  const first = Math.floor(low);
  const last = Math.min(Math.ceil(high), size / 2);
  const weights = Float64Array.from({ length: Math.max(0, last - first) }, (_, i) =>
    Math.max(0, Math.min(high, first + i + 1) - Math.max(low, first + i)),
  );
  return { band, first, weights };
}

function addBands(
  kernels: Kernels,
  pair: PairSpectrum,
  bands: readonly BandBins[],
  share: number,
  row: Float32Array,
): void {
  const size = pair.size;
  const [re, im] = [floats(kernels, pair.last.re, size), floats(kernels, pair.last.im, size)];
  // One-sided, Parseval, mean over a sine window; the quarter of 2X and 2Y below cancels the rest.
  const scale = share / (size * size);
  for (const { band, first, weights } of bands) {
    let [left, right, common] = [0, 0, 0];
    for (let i = 0; i < weights.length; i++) {
      const k = first + i;
      const back = k === 0 ? 0 : size - k;
      const xRe = re[k] + re[back];
      const xIm = im[k] - im[back];
      const yRe = im[k] + im[back];
      const yIm = re[back] - re[k];
      left += weights[i] * (xRe * xRe + xIm * xIm);
      right += weights[i] * (yRe * yRe + yIm * yIm);
      common += weights[i] * (xRe * yRe + xIm * yIm);
    }
    row[band] += scale * left;
    row[songBandCount + band] += scale * right;
    row[2 * songBandCount + band] += scale * common;
  }
}
