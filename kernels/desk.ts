// The listening desk's inner loops. Frames are interleaved pairs of f32 (left, right).

/**
 * Adds frames to others at a gain that moves by `step` a frame.
 *
 * @param source, out frames; `count` of them
 */
export function addGained(source: usize, count: i32, gain: f32, step: f32, out: usize): void {
  for (let n = 0; n < count; n++) {
    const g = f32x4.splat(gain + step * <f32>n);
    const sum = f32x4.add(v128.load64_zero(out), f32x4.mul(g, v128.load64_zero(source)));
    v128.store64_lane(out, sum, 0);
    source += 8;
    out += 8;
  }
}

/** Adds frames to others, each with a weight of its own (f32 a frame). */
export function addFaded(source: usize, weights: usize, count: i32, out: usize): void {
  for (let n = 0; n < count; n++) {
    const sum = f32x4.add(
      v128.load64_zero(out),
      f32x4.mul(v128.load32_splat(weights), v128.load64_zero(source)),
    );
    v128.store64_lane(out, sum, 0);
    source += 8;
    weights += 4;
    out += 8;
  }
}

/**
 * A filter that is its own mirror image, so without any delay: frame n is made from frames n .. n + 2 half of `source`.
 *
 * @param source count + 2 half frames, and room for 4 more
 * @param taps f32, half + 1 of them, from the middle outwards
 * @param out frames, written; room for a count rounded up to a multiple of 4
 */
export function filterMirrored(source: usize, taps: usize, half: i32, count: i32, out: usize): void {
  const middle = source + (<usize>half << 3);
  for (let n = 0; n < count; n += 4) {
    const at = middle + (<usize>n << 3);
    let h = v128.load32_splat(taps);
    let a = f32x4.mul(h, v128.load(at));
    let b = f32x4.mul(h, v128.load(at, 16));
    let before = at - 8;
    let after = at + 8;
    const end = taps + (<usize>half << 2);
    for (let tap = taps + 4; tap <= end; tap += 4) {
      h = v128.load32_splat(tap);
      a = f32x4.add(a, f32x4.mul(h, f32x4.add(v128.load(before), v128.load(after))));
      b = f32x4.add(b, f32x4.mul(h, f32x4.add(v128.load(before, 16), v128.load(after, 16))));
      before -= 8;
      after += 8;
    }
    v128.store(out, a);
    v128.store(out, b, 16);
    out += 32;
  }
}

/**
 * Left and right made of both by a matrix that moves by a step a frame: left = m0 l + m1 r, right = m2 l + m3 r.
 *
 * @param frames in
 * @param matrix four f32, then their steps
 * @param left, right f32, written
 */
export function turnFrames(frames: usize, count: i32, matrix: usize, left: usize, right: usize): void {
  const start = v128.load(matrix);
  const step = v128.load(matrix, 16);
  for (let n = 0; n < count; n++) {
    const m = f32x4.add(start, f32x4.mul(step, f32x4.splat(<f32>n)));
    const x = v128.load64_splat(frames);
    const products = f32x4.mul(m, x);
    store<f32>(left, f32x4.extract_lane(products, 0) + f32x4.extract_lane(products, 1));
    store<f32>(right, f32x4.extract_lane(products, 2) + f32x4.extract_lane(products, 3));
    frames += 8;
    left += 4;
    right += 4;
  }
}

/** State below this is set to zero: filters ringing into silence must not reach the slow denormals. */
const QUIET: f64 = 1e-30;

/**
 * Two channels through three biquads in a row (transposed direct form II, double precision, a channel a lane).
 *
 * @param left, right f32
 * @param filters for each biquad b0 b1 b2 a1 a2, f64
 * @param state two vectors of two f64 a biquad (96 bytes), kept between calls; zero at first
 * @returns the sum of squares of both channels
 */
export function weighLevel(left: usize, right: usize, count: i32, filters: usize, state: usize): f64 {
  let sum = f64x2.splat(0);
  for (let n = 0; n < count; n++) {
    let x = f64x2.replace_lane(f64x2.splat(<f64>load<f32>(left)), 1, <f64>load<f32>(right));
    for (let k: usize = 0; k < 3; k++) {
      const f = filters + k * 40;
      const s = state + k * 32;
      const y = f64x2.add(f64x2.mul(v128.load64_splat(f), x), v128.load(s));
      v128.store(
        s,
        f64x2.sub(
          f64x2.add(f64x2.mul(v128.load64_splat(f, 8), x), v128.load(s, 16)),
          f64x2.mul(v128.load64_splat(f, 24), y),
        ),
      );
      v128.store(
        s,
        f64x2.sub(f64x2.mul(v128.load64_splat(f, 16), x), f64x2.mul(v128.load64_splat(f, 32), y)),
        16,
      );
      x = y;
    }
    sum = f64x2.add(sum, f64x2.mul(x, x));
    left += 4;
    right += 4;
  }
  for (let o: usize = 0; o < 96; o += 16) {
    const s = v128.load(state + o);
    v128.store(state + o, v128.and(s, f64x2.ge(f64x2.abs(s), f64x2.splat(QUIET))));
  }
  return f64x2.extract_lane(sum, 0) + f64x2.extract_lane(sum, 1);
}
