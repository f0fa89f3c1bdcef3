/**
 * Fourier transform of real signals in double precision, plain TypeScript: exact enough (about 1e-15 of the
 * largest value times log2 of the size) for alignment, design work and as the reference for the SIMD transform.
 *
 * A real signal of N samples is packed into N/2 complex numbers, transformed by an iterative radix-2
 * decimation-in-time FFT, and unpacked (textbook 'real FFT by a half-size complex one').
 */
export class RealFft {
  /** Number of real samples N. */
  readonly size: number;
  readonly #half: number;
  /** cos and sin of 2*pi*k/N for k < N/2; the half-size transform takes every second one. */
  readonly #cos: Float64Array;
  readonly #sin: Float64Array;
  readonly #reversed: Uint32Array;
  readonly #workRe: Float64Array;
  readonly #workIm: Float64Array;

  /** @param size power of two, at least 2. Throws RangeError otherwise. */
  constructor(size: number) {
    if (!Number.isInteger(size) || size < 2 || size > 2 ** 30 || (size & (size - 1)) !== 0)
      throw new RangeError(`RealFft needs a power of two of at least 2, not ${size}`);
    this.size = size;
    const half = size / 2;
    this.#half = half;
    this.#cos = new Float64Array(half);
    this.#sin = new Float64Array(half);
    for (let k = 0; k < half; k++) {
      this.#cos[k] = Math.cos((2 * Math.PI * k) / size);
      this.#sin[k] = Math.sin((2 * Math.PI * k) / size);
    }
    this.#reversed = new Uint32Array(half);
    for (let i = 1; i < half; i++)
      this.#reversed[i] = (this.#reversed[i >> 1] >> 1) | (i & 1 ? half >> 1 : 0);
    this.#workRe = new Float64Array(half);
    this.#workIm = new Float64Array(half);
  }

  /**
   * X[k] = sum of x[n] * exp(-2*pi*i*k*n/N), unscaled.
   * @param input N samples; not changed
   * @param re N/2+1 values, written: real parts of bins 0..N/2
   * @param im N/2+1 values, written: imaginary parts; bins 0 and N/2 are 0
   */
  forward(input: Float64Array, re: Float64Array, im: Float64Array): void {
    const half = this.#half;
    const zr = this.#workRe;
    const zi = this.#workIm;
    for (let i = 0; i < half; i++) {
      const j = this.#reversed[i];
      zr[i] = input[2 * j];
      zi[i] = input[2 * j + 1];
    }
    this.#butterflies();
    for (let k = 1; k < half; k++) {
      // Even and odd samples' spectra come apart by symmetry, then join as E + W*O.
      const evenRe = 0.5 * (zr[k] + zr[half - k]);
      const evenIm = 0.5 * (zi[k] - zi[half - k]);
      const oddRe = 0.5 * (zi[k] + zi[half - k]);
      const oddIm = 0.5 * (zr[half - k] - zr[k]);
      re[k] = evenRe + oddRe * this.#cos[k] + oddIm * this.#sin[k];
      im[k] = evenIm + oddIm * this.#cos[k] - oddRe * this.#sin[k];
    }
    re[0] = zr[0] + zi[0];
    re[half] = zr[0] - zi[0];
    im[0] = 0;
    im[half] = 0;
  }

  /**
   * The signal whose forward transform is (re, im): exact inverse, the factor 1/N included.
   * @param re N/2+1 values; not changed
   * @param im N/2+1 values; not changed; those of bins 0 and N/2 are taken as 0
   * @param output N samples, written
   */
  inverse(re: Float64Array, im: Float64Array, output: Float64Array): void {
    const half = this.#half;
    const zr = this.#workRe;
    const zi = this.#workIm;
    for (let i = 0; i < half; i++) {
      const k = this.#reversed[i];
      const mirrorIm = k === 0 ? 0 : im[half - k];
      const ownIm = k === 0 ? 0 : im[k];
      const evenRe = 0.5 * (re[k] + re[half - k]);
      const evenIm = 0.5 * (ownIm - mirrorIm);
      const diffRe = 0.5 * (re[k] - re[half - k]);
      const diffIm = 0.5 * (ownIm + mirrorIm);
      const oddRe = diffRe * this.#cos[k] - diffIm * this.#sin[k];
      const oddIm = diffIm * this.#cos[k] + diffRe * this.#sin[k];
      // Conjugated, so that the forward butterflies run the transform backwards.
      zr[i] = evenRe - oddIm;
      zi[i] = -(evenIm + oddRe);
    }
    this.#butterflies();
    const scale = 1 / half;
    for (let i = 0; i < half; i++) {
      output[2 * i] = zr[i] * scale;
      output[2 * i + 1] = -zi[i] * scale;
    }
  }

  /**
   * In-place complex FFT of the work arrays, which are in bit-reversed order. Two stages at a time: the sums are those of one
   * after the other, to the last bit, but the arrays go through memory half as often.
   */
  #butterflies(): void {
    const half = this.#half;
    const zr = this.#workRe;
    const zi = this.#workIm;
    const cos = this.#cos;
    const sin = this.#sin;
    let span = 1;
    for (; 4 * span <= half; span *= 4) {
      const outer = half / (2 * span);
      // Long runs walk the arrays in order, short ones keep their turn: either way the nearest memory is used.
      if (span >= 64) {
        for (let block = 0; block < half; block += 4 * span)
          for (let j = 0; j < span; j++) {
            const k = j * outer;
            const m = k + span * outer;
            fourfold(zr, zi, block + j, span, cos[2 * k], sin[2 * k], cos[k], sin[k], cos[m], sin[m]);
          }
      } else {
        for (let j = 0; j < span; j++) {
          const k = j * outer;
          const m = k + span * outer;
          const c1 = cos[2 * k];
          const s1 = sin[2 * k];
          const c2 = cos[k];
          const s2 = sin[k];
          const c3 = cos[m];
          const s3 = sin[m];
          for (let a = j; a < half; a += 4 * span) fourfold(zr, zi, a, span, c1, s1, c2, s2, c3, s3);
        }
      }
    }
    // What is left where the stages are odd in number.
    if (span < half)
      for (let j = 0; j < span; j++)
        butterfly(zr, zi, j, span, cos[j * (half / span)], sin[j * (half / span)]);
  }
}

/** One butterfly of elements `a` and `a + span`, turned back by the angle whose cosine and sine are c and s. */
function butterfly(zr: Float64Array, zi: Float64Array, a: number, span: number, c: number, s: number): void {
  const b = a + span;
  const tr = zr[b] * c + zi[b] * s;
  const ti = zi[b] * c - zr[b] * s;
  zr[b] = zr[a] - tr;
  zi[b] = zi[a] - ti;
  zr[a] += tr;
  zi[a] += ti;
}

/**
 * The four butterflies of two stages among `a` and the three elements each `span` further: the first two turned back by the
 * first angle, then one by the second and one by the third.
 */
function fourfold(
  zr: Float64Array,
  zi: Float64Array,
  a: number,
  span: number,
  c1: number,
  s1: number,
  c2: number,
  s2: number,
  c3: number,
  s3: number,
): void {
  const b = a + span;
  const c = b + span;
  const d = c + span;
  const br = zr[b] * c1 + zi[b] * s1;
  const bi = zi[b] * c1 - zr[b] * s1;
  const dr = zr[d] * c1 + zi[d] * s1;
  const di = zi[d] * c1 - zr[d] * s1;
  const ar = zr[a] + br;
  const ai = zi[a] + bi;
  const er = zr[a] - br;
  const ei = zi[a] - bi;
  const cr = zr[c] + dr;
  const ci = zi[c] + di;
  const fr = zr[c] - dr;
  const fi = zi[c] - di;
  const ur = cr * c2 + ci * s2;
  const ui = ci * c2 - cr * s2;
  const vr = fr * c3 + fi * s3;
  const vi = fi * c3 - fr * s3;
  zr[c] = ar - ur;
  zi[c] = ai - ui;
  zr[a] = ar + ur;
  zi[a] = ai + ui;
  zr[d] = er - vr;
  zi[d] = ei - vi;
  zr[b] = er + vr;
  zi[b] = ei + vi;
}
