import { RealFft } from '../signal/fft.ts';

/** Samples worked on at once, and so the delay of the filter. */
export const partitionFrames = 256;
const size = 2 * partitionFrames;
const bins = partitionFrames + 1;

interface Parts {
  readonly re: readonly Float64Array[];
  readonly im: readonly Float64Array[];
}

/**
 * A long filter from some inputs to some outputs, by uniformly partitioned overlap-save convolution in double precision
 * (Gardner 1995 and others; textbook). Works on partitions of its own, so what comes out does not depend on how it is fed.
 */
export class PartitionedFilter {
  readonly #fft = new RealFft(size);
  readonly #parts: readonly (readonly (Parts | null)[])[];
  readonly #count: number;
  /** By input: spectra of the last partitions, a ring. */
  readonly #past: readonly Parts[];
  readonly #windows: readonly Float64Array[];
  readonly #sumRe = new Float64Array(bins);
  readonly #sumIm = new Float64Array(bins);
  readonly #time = new Float64Array(size);
  #newest = 0;

  /** @param taps by output, then input; null where an input does not reach an output */
  constructor(taps: readonly (readonly (Float64Array | null)[])[]) {
    const inputs = taps[0].length;
    const longest = Math.max(...taps.flat().map((one) => one?.length ?? 0));
    this.#count = Math.ceil(longest / partitionFrames);
    const spectra = new Map<Float64Array, Parts>();
    this.#parts = taps.map((row) =>
      row.map((one) => {
        if (one && !spectra.has(one)) spectra.set(one, this.#split(one));
        return one ? spectra.get(one)! : null;
      }),
    );
    const ring = () => Array.from({ length: this.#count }, () => new Float64Array(bins));
    this.#past = Array.from({ length: inputs }, () => ({ re: ring(), im: ring() }));
    this.#windows = Array.from({ length: inputs }, () => new Float64Array(size));
  }

  /** Filters one partition: `partitionFrames` samples of each input into as many of each output. */
  process(inputs: readonly Float64Array[], outputs: readonly Float64Array[]): void {
    this.#newest = (this.#newest + this.#count - 1) % this.#count;
    inputs.forEach((input, i) => {
      const window = this.#windows[i];
      window.copyWithin(0, partitionFrames);
      window.set(input, partitionFrames);
      this.#fft.forward(window, this.#past[i].re[this.#newest], this.#past[i].im[this.#newest]);
    });
    outputs.forEach((output, o) => {
      this.#sumRe.fill(0);
      this.#sumIm.fill(0);
      this.#parts[o].forEach((parts, i) => {
        if (parts) this.#add(parts, this.#past[i]);
      });
      this.#fft.inverse(this.#sumRe, this.#sumIm, this.#time);
      for (let n = 0; n < partitionFrames; n++) output[n] = this.#time[partitionFrames + n];
    });
  }

  /** As if nothing had been filtered yet. */
  reset(): void {
    for (const { re, im } of this.#past) for (const row of [...re, ...im]) row.fill(0);
    for (const window of this.#windows) window.fill(0);
  }

  #add(parts: Parts, past: Parts): void {
    const [sumRe, sumIm] = [this.#sumRe, this.#sumIm];
    for (let p = 0; p < parts.re.length; p++) {
      const slot = (this.#newest + p) % this.#count;
      const [hr, hi, xr, xi] = [parts.re[p], parts.im[p], past.re[slot], past.im[slot]];
      for (let k = 0; k < bins; k++) {
        sumRe[k] += hr[k] * xr[k] - hi[k] * xi[k];
        sumIm[k] += hr[k] * xi[k] + hi[k] * xr[k];
      }
    }
  }

  #split(taps: Float64Array): Parts {
    const re: Float64Array[] = [];
    const im: Float64Array[] = [];
    for (let at = 0; at < taps.length; at += partitionFrames) {
      const block = new Float64Array(size);
      block.set(taps.subarray(at, at + partitionFrames));
      re.push(new Float64Array(bins));
      im.push(new Float64Array(bins));
      this.#fft.forward(block, re[re.length - 1], im[im.length - 1]);
    }
    return { re, im };
  }
}
