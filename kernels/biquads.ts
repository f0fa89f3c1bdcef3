// Second-order filters in double precision on two channels at once, lanes (first, second).

/**
 * Added to every sample on the way in: a filter ringing into silence then never reaches the slow denormals. It lies
 * 600 dB under full scale; on the way out everything under -480 dB is silence again.
 */
const GROUND: f64 = 1e-30;
const SILENCE: f64 = 1e-24;

/** Two channels of f32 to one array of pairs of f64. */
export function joinPair(first: usize, second: usize, frames: i32, data: usize): void {
  const end = first + (<usize>frames << 2);
  const ground = f64x2.splat(GROUND);
  while (first < end) {
    const pair = f64x2.replace_lane(f64x2.splat(<f64>load<f32>(first)), 1, <f64>load<f32>(second));
    v128.store(data, f64x2.add(pair, ground));
    first += 4;
    second += 4;
    data += 16;
  }
}

/** And back, rounded to the nearest f32. */
export function splitPair(data: usize, frames: i32, first: usize, second: usize): void {
  const end = first + (<usize>frames << 2);
  const silence = f64x2.splat(SILENCE);
  while (first < end) {
    const y = v128.load(data);
    const heard = v128.and(y, f64x2.gt(f64x2.abs(y), silence));
    store<f32>(first, <f32>f64x2.extract_lane(heard, 0));
    store<f32>(second, <f32>f64x2.extract_lane(heard, 1));
    first += 4;
    second += 4;
    data += 16;
  }
}

/** Each pair (a, b) becomes ((a + b) * scale, (a - b) * scale): to mid and side with 0.5, back with 1. */
export function crossPair(data: usize, frames: i32, scale: f64): void {
  const end = data + (<usize>frames << 4);
  const scales = f64x2.splat(scale);
  for (; data < end; data += 16) {
    const y = v128.load(data);
    const swapped = i64x2.shuffle(y, y, 1, 0);
    const sum = f64x2.add(y, swapped);
    const difference = f64x2.sub(y, swapped);
    v128.store(data, f64x2.mul(scales, i64x2.shuffle(sum, difference, 0, 2)));
  }
}

/**
 * A row of biquads (transposed direct form II), in place. Two biquads a pass: their recursions do not wait for each other.
 *
 * @param data pairs of f64
 * @param couples number of biquads / 2
 * @param filters b0 b1 b2 a1 a2 of each, each as a pair of f64 (80 bytes a biquad)
 * @param state a pair of f64 twice for each biquad (32 bytes); zero at first
 */
export function filterPair(data: usize, frames: i32, couples: i32, filters: usize, state: usize): void {
  const end = data + (<usize>frames << 4);
  for (let n = 0; n < couples; n++) {
    const b00 = v128.load(filters);
    const b01 = v128.load(filters, 16);
    const b02 = v128.load(filters, 32);
    const a01 = v128.load(filters, 48);
    const a02 = v128.load(filters, 64);
    const b10 = v128.load(filters, 80);
    const b11 = v128.load(filters, 96);
    const b12 = v128.load(filters, 112);
    const a11 = v128.load(filters, 128);
    const a12 = v128.load(filters, 144);
    let s0 = v128.load(state);
    let t0 = v128.load(state, 16);
    let s1 = v128.load(state, 32);
    let t1 = v128.load(state, 48);
    for (let at = data; at < end; at += 16) {
      const x = v128.load(at);
      const y = f64x2.add(f64x2.mul(b00, x), s0);
      s0 = f64x2.sub(f64x2.add(f64x2.mul(b01, x), t0), f64x2.mul(a01, y));
      t0 = f64x2.sub(f64x2.mul(b02, x), f64x2.mul(a02, y));
      const z = f64x2.add(f64x2.mul(b10, y), s1);
      s1 = f64x2.sub(f64x2.add(f64x2.mul(b11, y), t1), f64x2.mul(a11, z));
      t1 = f64x2.sub(f64x2.mul(b12, y), f64x2.mul(a12, z));
      v128.store(at, z);
    }
    v128.store(state, s0);
    v128.store(state, t0, 16);
    v128.store(state, s1, 32);
    v128.store(state, t1, 48);
    filters += 160;
    state += 64;
  }
}
