// Complex Fourier transform in single precision: Stockham's self-sorting algorithm with radix 4 (and one radix-2
// pass when the size is no power of 4); real and imaginary parts in separate arrays, four numbers a vector.

@inline
function productRe(aRe: v128, aIm: v128, bRe: v128, bIm: v128): v128 {
  return f32x4.sub(f32x4.mul(aRe, bRe), f32x4.mul(aIm, bIm));
}

@inline
function productIm(aRe: v128, aIm: v128, bRe: v128, bIm: v128): v128 {
  return f32x4.add(f32x4.mul(aRe, bIm), f32x4.mul(aIm, bRe));
}

/** Writes four vectors as the columns of a 4 x 4 matrix, row after row: interleaves them. */
@inline
function storeInterleaved(to: usize, a: v128, b: v128, c: v128, d: v128): void {
  const abLow = i32x4.shuffle(a, b, 0, 4, 1, 5);
  const cdLow = i32x4.shuffle(c, d, 0, 4, 1, 5);
  const abHigh = i32x4.shuffle(a, b, 2, 6, 3, 7);
  const cdHigh = i32x4.shuffle(c, d, 2, 6, 3, 7);
  v128.store(to, i64x2.shuffle(abLow, cdLow, 0, 2));
  v128.store(to, i64x2.shuffle(abLow, cdLow, 1, 3), 16);
  v128.store(to, i64x2.shuffle(abHigh, cdHigh, 0, 2), 32);
  v128.store(to, i64x2.shuffle(abHigh, cdHigh, 1, 3), 48);
}

/** Windows two real signals and packs them as real and imaginary part: one transform then serves both. */
export function loadWindowedPair(
  first: usize,
  second: usize,
  window: usize,
  re: usize,
  im: usize,
  size: i32,
): void {
  const bytes = <usize>size << 2;
  for (let o: usize = 0; o < bytes; o += 16) {
    const w = v128.load(window + o);
    v128.store(re + o, f32x4.mul(w, v128.load(first + o)));
    v128.store(im + o, f32x4.mul(w, v128.load(second + o)));
  }
}

/**
 * Transforms `size` complex numbers, unscaled.
 *
 * @param re, im f32, the signal; destroyed
 * @param workRe, workIm f32, as large
 * @param twiddles six arrays of size/4 f32: cos, sin of -2 pi p/size, then of twice and of three times that angle
 * @param size power of two, at least 16
 * @returns 0 when the spectrum stands in re, im; 1 when it stands in workRe, workIm
 */
export function transform(re: usize, im: usize, workRe: usize, workIm: usize, twiddles: usize, size: i32): i32 {
  // One quarter of an array, in bytes: the distance between the four inputs of a butterfly in every pass, and
  // between the six twiddle arrays.
  const quarter = <usize>size;
  firstPass(re, im, workRe, workIm, twiddles, quarter);
  let fromRe = workRe;
  let fromIm = workIm;
  let toRe = re;
  let toIm = im;
  let length = size >> 2;
  let stride: usize = 16;
  for (; length >= 4; length >>= 2) {
    pass(fromRe, fromIm, toRe, toIm, twiddles, quarter, length >> 2, stride);
    stride <<= 2;
    let swap = fromRe;
    fromRe = toRe;
    toRe = swap;
    swap = fromIm;
    fromIm = toIm;
    toIm = swap;
  }
  if (length == 2) {
    const half = quarter << 1;
    for (let o: usize = 0; o < half; o += 16) {
      const aRe = v128.load(fromRe + o);
      const aIm = v128.load(fromIm + o);
      const bRe = v128.load(fromRe + half + o);
      const bIm = v128.load(fromIm + half + o);
      v128.store(toRe + o, f32x4.add(aRe, bRe));
      v128.store(toIm + o, f32x4.add(aIm, bIm));
      v128.store(toRe + half + o, f32x4.sub(aRe, bRe));
      v128.store(toIm + half + o, f32x4.sub(aIm, bIm));
    }
    fromRe = toRe;
  }
  return fromRe == re ? 0 : 1;
}

/** The first radix-4 pass: neighbouring butterflies share a vector, their outputs are interleaved. */
function firstPass(re: usize, im: usize, toRe: usize, toIm: usize, twiddles: usize, quarter: usize): void {
  for (let o: usize = 0; o < quarter; o += 16) {
    const aRe = v128.load(re + o);
    const aIm = v128.load(im + o);
    const bRe = v128.load(re + quarter + o);
    const bIm = v128.load(im + quarter + o);
    const cRe = v128.load(re + 2 * quarter + o);
    const cIm = v128.load(im + 2 * quarter + o);
    const dRe = v128.load(re + 3 * quarter + o);
    const dIm = v128.load(im + 3 * quarter + o);
    const acSumRe = f32x4.add(aRe, cRe);
    const acSumIm = f32x4.add(aIm, cIm);
    const acDiffRe = f32x4.sub(aRe, cRe);
    const acDiffIm = f32x4.sub(aIm, cIm);
    const bdSumRe = f32x4.add(bRe, dRe);
    const bdSumIm = f32x4.add(bIm, dIm);
    // i * (b - d)
    const bdTurnRe = f32x4.sub(dIm, bIm);
    const bdTurnIm = f32x4.sub(bRe, dRe);
    const t = twiddles + o;
    const w1Re = v128.load(t);
    const w1Im = v128.load(t + quarter);
    const w2Re = v128.load(t + 2 * quarter);
    const w2Im = v128.load(t + 3 * quarter);
    const w3Re = v128.load(t + 4 * quarter);
    const w3Im = v128.load(t + 5 * quarter);
    const u1Re = f32x4.sub(acDiffRe, bdTurnRe);
    const u1Im = f32x4.sub(acDiffIm, bdTurnIm);
    const u2Re = f32x4.sub(acSumRe, bdSumRe);
    const u2Im = f32x4.sub(acSumIm, bdSumIm);
    const u3Re = f32x4.add(acDiffRe, bdTurnRe);
    const u3Im = f32x4.add(acDiffIm, bdTurnIm);
    storeInterleaved(
      toRe + (o << 2),
      f32x4.add(acSumRe, bdSumRe),
      productRe(u1Re, u1Im, w1Re, w1Im),
      productRe(u2Re, u2Im, w2Re, w2Im),
      productRe(u3Re, u3Im, w3Re, w3Im),
    );
    storeInterleaved(
      toIm + (o << 2),
      f32x4.add(acSumIm, bdSumIm),
      productIm(u1Re, u1Im, w1Re, w1Im),
      productIm(u2Re, u2Im, w2Re, w2Im),
      productIm(u3Re, u3Im, w3Re, w3Im),
    );
  }
}

/** A later radix-4 pass: `groups` groups of butterflies with one twiddle each, `stride` bytes of them in a row. */
function pass(
  fromRe: usize,
  fromIm: usize,
  toRe: usize,
  toIm: usize,
  twiddles: usize,
  quarter: usize,
  groups: i32,
  stride: usize,
): void {
  for (let group = 0; group < groups; group++) {
    const t = twiddles + <usize>group * stride;
    const w1Re = v128.load32_splat(t);
    const w1Im = v128.load32_splat(t + quarter);
    const w2Re = v128.load32_splat(t + 2 * quarter);
    const w2Im = v128.load32_splat(t + 3 * quarter);
    const w3Re = v128.load32_splat(t + 4 * quarter);
    const w3Im = v128.load32_splat(t + 5 * quarter);
    let re = fromRe + <usize>group * stride;
    let im = fromIm + <usize>group * stride;
    let outRe = toRe + <usize>(4 * group) * stride;
    let outIm = toIm + <usize>(4 * group) * stride;
    const end = re + stride;
    while (re < end) {
      const aRe = v128.load(re);
      const aIm = v128.load(im);
      const bRe = v128.load(re + quarter);
      const bIm = v128.load(im + quarter);
      const cRe = v128.load(re + 2 * quarter);
      const cIm = v128.load(im + 2 * quarter);
      const dRe = v128.load(re + 3 * quarter);
      const dIm = v128.load(im + 3 * quarter);
      const acSumRe = f32x4.add(aRe, cRe);
      const acSumIm = f32x4.add(aIm, cIm);
      const acDiffRe = f32x4.sub(aRe, cRe);
      const acDiffIm = f32x4.sub(aIm, cIm);
      const bdSumRe = f32x4.add(bRe, dRe);
      const bdSumIm = f32x4.add(bIm, dIm);
      const bdTurnRe = f32x4.sub(dIm, bIm);
      const bdTurnIm = f32x4.sub(bRe, dRe);
      const u1Re = f32x4.sub(acDiffRe, bdTurnRe);
      const u1Im = f32x4.sub(acDiffIm, bdTurnIm);
      const u2Re = f32x4.sub(acSumRe, bdSumRe);
      const u2Im = f32x4.sub(acSumIm, bdSumIm);
      const u3Re = f32x4.add(acDiffRe, bdTurnRe);
      const u3Im = f32x4.add(acDiffIm, bdTurnIm);
      v128.store(outRe, f32x4.add(acSumRe, bdSumRe));
      v128.store(outIm, f32x4.add(acSumIm, bdSumIm));
      v128.store(outRe + stride, productRe(u1Re, u1Im, w1Re, w1Im));
      v128.store(outIm + stride, productIm(u1Re, u1Im, w1Re, w1Im));
      v128.store(outRe + 2 * stride, productRe(u2Re, u2Im, w2Re, w2Im));
      v128.store(outIm + 2 * stride, productIm(u2Re, u2Im, w2Re, w2Im));
      v128.store(outRe + 3 * stride, productRe(u3Re, u3Im, w3Re, w3Im));
      v128.store(outIm + 3 * stride, productIm(u3Re, u3Im, w3Re, w3Im));
      re += 16;
      im += 16;
      outRe += 16;
      outIm += 16;
    }
  }
}

/**
 * Adds the power of two real signals, transformed together as z = first + i*second, bin by bin:
 * |First[k]|^2 + |Second[k]|^2 = (|Z[k]|^2 + |Z[size-k]|^2) / 2.
 *
 * @param power f64, size/2+1 of them, added to
 */
export function addPairPower(re: usize, im: usize, power: usize, size: i32): void {
  const half = size >> 1;
  addOne(re, im, power, 0, 0);
  const oneHalf = f32x4.splat(0.5);
  let k = 1;
  for (; k + 4 <= half; k += 4) {
    const ahead = <usize>k << 2;
    const behind = <usize>(size - k - 3) << 2;
    const aRe = v128.load(re + ahead);
    const aIm = v128.load(im + ahead);
    const bRe = v128.load(re + behind);
    const bIm = v128.load(im + behind);
    const a = f32x4.add(f32x4.mul(aRe, aRe), f32x4.mul(aIm, aIm));
    const b = f32x4.add(f32x4.mul(bRe, bRe), f32x4.mul(bIm, bIm));
    const sum = f32x4.mul(oneHalf, f32x4.add(a, i32x4.shuffle(b, b, 3, 2, 1, 0)));
    const to = power + (<usize>k << 3);
    v128.store(to, f64x2.add(v128.load(to), f64x2.promote_low_f32x4(sum)));
    v128.store(
      to,
      f64x2.add(v128.load(to, 16), f64x2.promote_low_f32x4(i32x4.shuffle(sum, sum, 2, 3, 2, 3))),
      16,
    );
  }
  for (; k <= half; k++) addOne(re, im, power, k, size - k);
}

function addOne(re: usize, im: usize, power: usize, k: i32, mirror: i32): void {
  const aRe: f64 = load<f32>(re + (<usize>k << 2));
  const aIm: f64 = load<f32>(im + (<usize>k << 2));
  const bRe: f64 = load<f32>(re + (<usize>mirror << 2));
  const bIm: f64 = load<f32>(im + (<usize>mirror << 2));
  const to = power + (<usize>k << 3);
  store<f64>(to, load<f64>(to) + 0.5 * (aRe * aRe + aIm * aIm + bRe * bRe + bIm * bIm));
}

/** Adds `count` f64 at `power` to those at `total`, and sets them to zero. */
export function drainPower(power: usize, total: usize, count: i32): void {
  const none = f64x2.splat(0);
  const whole = <usize>(count & ~1) << 3;
  for (let o: usize = 0; o < whole; o += 16) {
    v128.store(total + o, f64x2.add(v128.load(total + o), v128.load(power + o)));
    v128.store(power + o, none);
  }
  if (count & 1) {
    store<f64>(total + whole, load<f64>(total + whole) + load<f64>(power + whole));
    store<f64>(power + whole, 0);
  }
}
