// Bands of a sound in time: energy and peak of each band in short cells.

/** State below this is set to zero between calls: filters ringing into silence must not reach the slow denormals. */
const QUIET: f32 = 1e-18;
/** Biquads in a row: two make the high-pass, two the low-pass. */
const STAGES: usize = 4;

@inline
function hush(state: usize): void {
  const s = v128.load(state);
  v128.store(state, v128.and(s, f32x4.ge(f32x4.abs(s), f32x4.splat(QUIET))));
}

/**
 * Two bands of two channels at once, lanes (first of band A, second of A, first of B, second of B): a high-pass twice and
 * a low-pass twice in transposed direct form II, then sum of squares and highest |value| of each cell. As in k-weight.ts,
 * outputs are put into the states' equations.
 *
 * @param first, second f32; the same pointer twice when there is no second
 * @param frames a multiple of `cell`
 * @param cell frames in a cell
 * @param filters for high-pass and low-pass b0 c1 c2 a1 a2 (`stateForm` in src/signal/k-weighting.ts), each as one vector
 *   of four lanes (160 bytes)
 * @param state two vectors a biquad (128 bytes), kept between calls; zero at first
 * @param cells two vectors a cell, written: sums of squares, then peaks
 */
export function splitBands(
  first: usize,
  second: usize,
  frames: i32,
  cell: i32,
  filters: usize,
  state: usize,
  cells: usize,
): void {
  const b = v128.load(filters);
  const c1 = v128.load(filters, 16);
  const c2 = v128.load(filters, 32);
  const a1 = v128.load(filters, 48);
  const a2 = v128.load(filters, 64);
  const d = v128.load(filters, 80);
  const e1 = v128.load(filters, 96);
  const e2 = v128.load(filters, 112);
  const g1 = v128.load(filters, 128);
  const g2 = v128.load(filters, 144);
  let s0 = v128.load(state);
  let t0 = v128.load(state, 16);
  let s1 = v128.load(state, 32);
  let t1 = v128.load(state, 48);
  let s2 = v128.load(state, 64);
  let t2 = v128.load(state, 80);
  let s3 = v128.load(state, 96);
  let t3 = v128.load(state, 112);
  const bytes = <usize>cell << 2;
  const end = first + (<usize>frames << 2);
  while (first < end) {
    let sum = f32x4.splat(0);
    let peak = f32x4.splat(0);
    const cellEnd = first + bytes;
    while (first < cellEnd) {
      const x = i32x4.shuffle(v128.load32_splat(first), v128.load32_splat(second), 0, 4, 0, 4);
      const y0 = f32x4.add(f32x4.mul(b, x), s0);
      const u0 = f32x4.add(f32x4.mul(c1, x), t0);
      t0 = f32x4.sub(f32x4.mul(c2, x), f32x4.mul(a2, s0));
      s0 = f32x4.sub(u0, f32x4.mul(a1, s0));
      const y1 = f32x4.add(f32x4.mul(b, y0), s1);
      const u1 = f32x4.add(f32x4.mul(c1, y0), t1);
      t1 = f32x4.sub(f32x4.mul(c2, y0), f32x4.mul(a2, s1));
      s1 = f32x4.sub(u1, f32x4.mul(a1, s1));
      const y2 = f32x4.add(f32x4.mul(d, y1), s2);
      const u2 = f32x4.add(f32x4.mul(e1, y1), t2);
      t2 = f32x4.sub(f32x4.mul(e2, y1), f32x4.mul(g2, s2));
      s2 = f32x4.sub(u2, f32x4.mul(g1, s2));
      const y3 = f32x4.add(f32x4.mul(d, y2), s3);
      const u3 = f32x4.add(f32x4.mul(e1, y2), t3);
      t3 = f32x4.sub(f32x4.mul(e2, y2), f32x4.mul(g2, s3));
      s3 = f32x4.sub(u3, f32x4.mul(g1, s3));
      sum = f32x4.add(sum, f32x4.mul(y3, y3));
      peak = f32x4.pmax(peak, f32x4.abs(y3));
      first += 4;
      second += 4;
    }
    v128.store(cells, sum);
    v128.store(cells, peak, 16);
    cells += 32;
  }
  v128.store(state, s0);
  v128.store(state, t0, 16);
  v128.store(state, s1, 32);
  v128.store(state, t1, 48);
  v128.store(state, s2, 64);
  v128.store(state, t2, 80);
  v128.store(state, s3, 96);
  v128.store(state, t3, 112);
  for (let o: usize = 0; o < STAGES * 32; o += 16) hush(state + o);
}

/**
 * Low-passes and keeps every `factor`-th sample: out[n] = sum of taps[k] * samples[n * factor + k].
 *
 * @param samples f32, (count - 1) * factor + taps of them
 * @param taps f32, `length` of them
 * @param length a multiple of 4
 * @param out f32, `count` of them, written
 */
export function decimate(samples: usize, taps: usize, length: i32, factor: i32, count: i32, out: usize): void {
  const bytes = <usize>length << 2;
  const step = <usize>factor << 2;
  for (let n = 0; n < count; n++) {
    let sum = f32x4.splat(0);
    for (let o: usize = 0; o < bytes; o += 16)
      sum = f32x4.add(sum, f32x4.mul(v128.load(samples + o), v128.load(taps + o)));
    store<f32>(
      out,
      f32x4.extract_lane(sum, 0) +
        f32x4.extract_lane(sum, 1) +
        (f32x4.extract_lane(sum, 2) + f32x4.extract_lane(sum, 3)),
    );
    samples += step;
    out += 4;
  }
}
