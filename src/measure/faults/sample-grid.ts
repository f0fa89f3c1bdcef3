/** How fine the samples really are, whatever the file's header says. */
export interface GridResult {
  /** Bits a sample that are in use, 1..24; null for silence and for samples finer than 24 bits (floating point). */
  readonly bits: number | null;
  /** Share of the sounding parts (about 0.1 s each) that lie on a 16-bit grid, 0..1; null for silence. A 16-bit song with a
   * fade made at 24 bits has most of its parts there. */
  readonly shareOn16Bits: number | null;
  /** Length of the passages so quiet that the last of 16 bits decides (peak at or below 4 steps, not all zero), seconds. */
  readonly lastBitSeconds: number;
  /** Share of samples in them that repeat the one before, 0..1; null when they last under 0.1 s. Triangular dither gives
   * about 0.59 (computed), rounding or cutting off without dither far more. */
  readonly repeatShare: number | null;
  /** True when those passages look cut off without dither; null when there are too few of them to tell. */
  readonly undithered: boolean | null;
}

const steps16 = 2 ** 15;
/** Highest level of a passage in which dither, if there is any, must show. */
const lastBitPeak = 4 / steps16;
const leastSeconds = 0.1;
/**
 * Shares of repeated samples above this are taken for a lack of dither (heuristic). Triangular dither of two steps
 * gives 0.594 around a fixed value, rectangular dither of one step at most 0.5 while the value moves (both computed);
 * a slow wave of 4 steps without dither repeats more than nine samples in ten.
 */
const ditherRepeats = 0.8;

/** Lowest set bit of samples counted in steps of 2^-23, as bits a sample. */
export function bitsOfGrid(bits: number): number | null {
  return bits === 0 ? null : 24 - (31 - Math.clz32(bits & -bits));
}

/** Collects the grid of the samples and looks for dither where the last of 16 bits is all there is. */
export class SampleGrid {
  readonly #rate: number;
  #bits = 0;
  #finer = false;
  #parts = 0;
  #partsOn16 = 0;
  #lastBitSamples = 0;
  #repeats = 0;

  constructor(sampleRate: number) {
    this.#rate = sampleRate;
  }

  /** One part of one channel: all its grid bits, and whether a sample was finer than they can tell. */
  addPart(bits: number, finer: boolean): void {
    if (bits === 0 && !finer) return;
    this.#bits |= bits;
    if (finer) this.#finer = true;
    this.#parts++;
    if (!finer && (bits & 0xff) === 0) this.#partsOn16++;
  }

  /** A cell of one channel; called for those with a peak above 0. */
  lookAtCell(samples: Float32Array, peak: number): void {
    if (peak > lastBitPeak || samples.length < 2) return;
    let repeats = 0;
    for (let i = 1; i < samples.length; i++) if (samples[i] === samples[i - 1]) repeats++;
    this.#repeats += repeats;
    this.#lastBitSamples += samples.length - 1;
  }

  finish(channels: number): GridResult {
    const seconds = this.#lastBitSamples / (this.#rate * channels);
    const repeatShare = seconds >= leastSeconds ? this.#repeats / this.#lastBitSamples : null;
    const bits = this.#finer ? null : bitsOfGrid(this.#bits);
    return {
      bits,
      shareOn16Bits: this.#parts > 0 ? this.#partsOn16 / this.#parts : null,
      lastBitSeconds: seconds,
      repeatShare,
      undithered: repeatShare === null || bits === null || bits > 16 ? null : repeatShare > ditherRepeats,
    };
  }
}
