// What two channels have to do with each other: in time, and bin by bin of their common transform.

/** Frames summed in single precision before the sum goes on in double: keeps the error near 1e-7 of the sum. */
const CELL: i32 = 64;

@inline
function lanes(x: v128): f64 {
  return (
    <f64>f32x4.extract_lane(x, 0) +
    <f64>f32x4.extract_lane(x, 1) +
    <f64>f32x4.extract_lane(x, 2) +
    <f64>f32x4.extract_lane(x, 3)
  );
}

/**
 * Adds to four f64 at `sums`: the sums of first^2, second^2, (first + second)^2 and (first - second)^2.
 * The last is exactly 0 for equal channels, the third for opposite ones.
 *
 * @param first, second f32, `frames` of each; the same pointer twice when there is no second
 */
export function addPairLevels(first: usize, second: usize, frames: i32, sums: usize): void {
  let a: f64 = 0;
  let b: f64 = 0;
  let mid: f64 = 0;
  let side: f64 = 0;
  for (let start = 0; start < frames; start += CELL) {
    const end = min(start + CELL, frames);
    let aCell = f32x4.splat(0);
    let bCell = aCell;
    let midCell = aCell;
    let sideCell = aCell;
    let i = start;
    for (; i + 4 <= end; i += 4) {
      const x = v128.load(first + (<usize>i << 2));
      const y = v128.load(second + (<usize>i << 2));
      const m = f32x4.add(x, y);
      const s = f32x4.sub(x, y);
      aCell = f32x4.add(aCell, f32x4.mul(x, x));
      bCell = f32x4.add(bCell, f32x4.mul(y, y));
      midCell = f32x4.add(midCell, f32x4.mul(m, m));
      sideCell = f32x4.add(sideCell, f32x4.mul(s, s));
    }
    a += lanes(aCell);
    b += lanes(bCell);
    mid += lanes(midCell);
    side += lanes(sideCell);
    for (; i < end; i++) {
      const x = <f64>load<f32>(first + (<usize>i << 2));
      const y = <f64>load<f32>(second + (<usize>i << 2));
      a += x * x;
      b += y * y;
      mid += (x + y) * (x + y);
      side += (x - y) * (x - y);
    }
  }
  store<f64>(sums, load<f64>(sums) + a);
  store<f64>(sums, load<f64>(sums, 8) + b, 8);
  store<f64>(sums, load<f64>(sums, 16) + mid, 16);
  store<f64>(sums, load<f64>(sums, 24) + side, 24);
}

/**
 * Auto and cross power of two real signals that were transformed together as z = first + i*second, in groups of four
 * bins (group g: bins 4g+1 .. 4g+4), times 4: |First|^2, |Second|^2, and First * conj(Second) as real and imaginary.
 *
 * @param re, im f32, the transform, `size` of each
 * @param size of the transform, at least 16
 * @param groups four f32 a group, added to
 * @param edges i32: groups at which each band begins, then the one at which the last ends; at most size/8
 * @param bands number of bands
 * @param sums four f64 a band, written
 */
export function addCrossPower(
  re: usize,
  im: usize,
  size: i32,
  groups: usize,
  edges: usize,
  bands: i32,
  sums: usize,
): void {
  for (let band = 0; band < bands; band++) {
    const from = load<i32>(edges + (<usize>band << 2));
    const to = load<i32>(edges + (<usize>band << 2), 4);
    let firstSum = f32x4.splat(0);
    let secondSum = firstSum;
    let realSum = firstSum;
    let imaginarySum = firstSum;
    for (let g = from; g < to; g++) {
      const ahead = <usize>(4 * g + 1) << 2;
      const behind = <usize>(size - 4 * g - 4) << 2;
      const aRe = v128.load(re + ahead);
      const aIm = v128.load(im + ahead);
      const backRe = v128.load(re + behind);
      const backIm = v128.load(im + behind);
      const bRe = i32x4.shuffle(backRe, backRe, 3, 2, 1, 0);
      const bIm = i32x4.shuffle(backIm, backIm, 3, 2, 1, 0);
      // 2*First = a + conj(b); 2*Second = (a - conj(b)) / i.
      const xRe = f32x4.add(aRe, bRe);
      const xIm = f32x4.sub(aIm, bIm);
      const yRe = f32x4.add(aIm, bIm);
      const yIm = f32x4.sub(bRe, aRe);
      const xx = f32x4.add(f32x4.mul(xRe, xRe), f32x4.mul(xIm, xIm));
      const yy = f32x4.add(f32x4.mul(yRe, yRe), f32x4.mul(yIm, yIm));
      const real = f32x4.add(f32x4.mul(xRe, yRe), f32x4.mul(xIm, yIm));
      const imaginary = f32x4.sub(f32x4.mul(xIm, yRe), f32x4.mul(xRe, yIm));
      firstSum = f32x4.add(firstSum, xx);
      secondSum = f32x4.add(secondSum, yy);
      realSum = f32x4.add(realSum, real);
      imaginarySum = f32x4.add(imaginarySum, imaginary);
      // Columns added: one vector of the four sums of this group.
      const xyLow = f32x4.add(i32x4.shuffle(xx, yy, 0, 4, 1, 5), i32x4.shuffle(xx, yy, 2, 6, 3, 7));
      const crossLow = f32x4.add(
        i32x4.shuffle(real, imaginary, 0, 4, 1, 5),
        i32x4.shuffle(real, imaginary, 2, 6, 3, 7),
      );
      const four = f32x4.add(i64x2.shuffle(xyLow, crossLow, 0, 2), i64x2.shuffle(xyLow, crossLow, 1, 3));
      const slot = groups + (<usize>g << 4);
      v128.store(slot, f32x4.add(v128.load(slot), four));
    }
    const out = sums + (<usize>band << 5);
    store<f64>(out, lanes(firstSum));
    store<f64>(out, lanes(secondSum), 8);
    store<f64>(out, lanes(realSum), 16);
    store<f64>(out, lanes(imaginarySum), 24);
  }
}

/**
 * What became of a pair of real signals on the way: both were transformed together as z = first + i*second, before and
 * after. Adds, bin by bin, the power of the difference of the two pairs, |dFirst|^2 + |dSecond|^2, and the power of
 * the side, |First - Second|^2 / 2, before and after. The bins 0 and size/2, where nothing is heard, are left out.
 *
 * @param re, im, laterRe, laterIm f32, the transforms, `size` of each, a multiple of 8
 * @param change, side, laterSide f64, size/2+1 of each, added to
 */
export function addPairChange(
  re: usize,
  im: usize,
  laterRe: usize,
  laterIm: usize,
  size: i32,
  change: usize,
  side: usize,
  laterSide: usize,
): void {
  const half = size >> 1;
  const oneHalf = f32x4.splat(0.5);
  const oneEighth = f32x4.splat(0.125);
  // The last group begins at half - 3 and has bin half in it, which gets what belongs to it all the same.
  for (let k = 1; k < half; k += 4) {
    const ahead = <usize>k << 2;
    const behind = <usize>(size - k - 3) << 2;
    const aRe = v128.load(re + ahead);
    const aIm = v128.load(im + ahead);
    const bRe = reversed(v128.load(re + behind));
    const bIm = reversed(v128.load(im + behind));
    const cRe = v128.load(laterRe + ahead);
    const cIm = v128.load(laterIm + ahead);
    const dRe = reversed(v128.load(laterRe + behind));
    const dIm = reversed(v128.load(laterIm + behind));
    const one = power(f32x4.sub(cRe, aRe), f32x4.sub(cIm, aIm));
    const other = power(f32x4.sub(dRe, bRe), f32x4.sub(dIm, bIm));
    const to = <usize>k << 3;
    addFour(change + to, f32x4.mul(oneHalf, f32x4.add(one, other)));
    addFour(side + to, f32x4.mul(oneEighth, sidePower(aRe, aIm, bRe, bIm)));
    addFour(laterSide + to, f32x4.mul(oneEighth, sidePower(cRe, cIm, dRe, dIm)));
  }
}

@inline
function reversed(x: v128): v128 {
  return i32x4.shuffle(x, x, 3, 2, 1, 0);
}

@inline
function power(re: v128, im: v128): v128 {
  return f32x4.add(f32x4.mul(re, re), f32x4.mul(im, im));
}

/** 4*|First - Second|^2 from a = Z[k] and b = Z[size-k]: 2*First = a + conj(b), 2*Second = (a - conj(b)) / i. */
@inline
function sidePower(aRe: v128, aIm: v128, bRe: v128, bIm: v128): v128 {
  return power(
    f32x4.sub(f32x4.add(aRe, bRe), f32x4.add(aIm, bIm)),
    f32x4.add(f32x4.sub(aIm, bIm), f32x4.sub(aRe, bRe)),
  );
}

@inline
function addFour(to: usize, x: v128): void {
  v128.store(to, f64x2.add(v128.load(to), f64x2.promote_low_f32x4(x)));
  v128.store(to, f64x2.add(v128.load(to, 16), f64x2.promote_low_f32x4(i32x4.shuffle(x, x, 2, 3, 2, 3))), 16);
}
