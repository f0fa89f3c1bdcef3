import { doubles, floats, type Kernels } from './kernels.ts';

/**
 * Power spectrum of real signals, two at a time, through the SIMD transform: frames are windowed with a sine,
 * whose squares add to one at half overlap, so that over a whole sound each sample counts exactly once.
 */
export class PairSpectrum {
  readonly #kernels: Kernels;
  readonly #size: number;
  readonly #window: number;
  readonly #twiddles: number;
  readonly #re: number;
  readonly #im: number;
  readonly #workRe: number;
  readonly #workIm: number;
  readonly #power: number;
  /** Whether the transform added last stands in the work arrays. */
  #moved = false;

  /** @param size frame length, a power of two of at least 16 */
  constructor(kernels: Kernels, size: number) {
    if (!Number.isInteger(Math.log2(size)) || size < 16)
      throw new RangeError(`PairSpectrum needs a power of two of at least 16, not ${size}`);
    this.#kernels = kernels;
    this.#size = size;
    const array = () => kernels.allocate(size * 4);
    [this.#window, this.#re, this.#im, this.#workRe, this.#workIm] = [
      array(),
      array(),
      array(),
      array(),
      array(),
    ];
    this.#twiddles = kernels.allocate((size / 4) * 6 * 4);
    this.#power = kernels.allocate((size / 2 + 1) * 8);
    const window = floats(kernels, this.#window, size);
    for (let i = 0; i < size; i++) window[i] = Math.sin((Math.PI * (i + 0.5)) / size);
    const quarter = size / 4;
    const twiddles = floats(kernels, this.#twiddles, quarter * 6);
    for (let turn = 1; turn <= 3; turn++)
      for (let p = 0; p < quarter; p++) {
        const angle = (-2 * Math.PI * turn * p) / size;
        twiddles[(2 * turn - 2) * quarter + p] = Math.cos(angle);
        twiddles[(2 * turn - 1) * quarter + p] = Math.sin(angle);
      }
  }

  /** Adds the power of one frame of two signals (pointers to `size` f32 each). */
  add(first: number, second: number): void {
    const k = this.#kernels;
    k.loadWindowedPair(first, second, this.#window, this.#re, this.#im, this.#size);
    const moved = k.transform(this.#re, this.#im, this.#workRe, this.#workIm, this.#twiddles, this.#size);
    this.#moved = moved !== 0;
    k.addPairPower(moved ? this.#workRe : this.#re, moved ? this.#workIm : this.#im, this.#power, this.#size);
  }

  /** Number of samples in a frame. */
  get size(): number {
    return this.#size;
  }

  /**
   * What the two signals of the frame added last have in common; see addCrossPower in kernels/stereo.ts.
   * @param groups, edges, sums pointers
   */
  cross(groups: number, edges: number, bands: number, sums: number): void {
    const re = this.#moved ? this.#workRe : this.#re;
    const im = this.#moved ? this.#workIm : this.#im;
    this.#kernels.addCrossPower(re, im, this.#size, groups, edges, bands, sums);
  }

  /** Transform of first + i * second of the frame added last, `size` values each; good until memory is allocated. */
  last(): { readonly re: Float32Array; readonly im: Float32Array } {
    return {
      re: floats(this.#kernels, this.#moved ? this.#workRe : this.#re, this.#size),
      im: floats(this.#kernels, this.#moved ? this.#workIm : this.#im, this.#size),
    };
  }

  /** |X|^2 in bins 0..size/2, unscaled and two-sided, summed over the frames added since `clear`; good until memory is allocated. */
  raw(): Float64Array {
    return doubles(this.#kernels, this.#power, this.#size / 2 + 1);
  }

  /** Forgets the frames added so far. */
  clear(): void {
    this.raw().fill(0);
  }
}

/** From raw |X|^2 of a transform to power in one-sided bins that add up to the sum of squares of the samples. */
export function oneSided(raw: Float64Array): Float64Array {
  const last = raw.length - 1;
  return raw.map((power, k) => (power * (k === 0 || k === last ? 1 : 2)) / (2 * last));
}
