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

/** Longest cell: room for the lanes between the two halves of the chain. */
const LONGEST: i32 = 4096;
const between: usize = memory.data(4096 * 16, 16);

/**
 * Two bands of two channels at once, lanes (first of band A, second of A, first of B, second of B): four biquads in
 * transposed direct form II in a row, then sum of squares and highest |value| of each cell. The chain is run in two
 * halves, a cell at a time, because the coefficients of all four do not fit into the registers.
 *
 * @param first, second f32; the same pointer twice when there is no second
 * @param frames a multiple of `cell`
 * @param cell frames in a cell, at most 4096
 * @param filters for each of the four biquads b0 b1 b2 a1 a2, each as one vector of four lanes (320 bytes)
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
  const count = min(cell, LONGEST);
  const bytes = <usize>count << 2;
  const end = first + (<usize>frames << 2);
  while (first < end) {
    highPassCell(first, second, count, filters, state);
    lowPassCell(count, filters + 160, state + 64, cells);
    first += bytes;
    second += bytes;
    cells += 32;
  }
  for (let o: usize = 0; o < STAGES * 32; o += 16) hush(state + o);
}

/** The first two biquads, from two channels to the lanes between. */
function highPassCell(first: usize, second: usize, count: i32, filters: usize, state: usize): void {
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
  const end = first + (<usize>count << 2);
  let out = between;
  while (first < end) {
    const x = i32x4.shuffle(v128.load32_splat(first), v128.load32_splat(second), 0, 4, 0, 4);
    // What does not wait for the output is added up first: the way from one state to the next stays short.
    const y0 = f32x4.add(f32x4.mul(b00, x), s0);
    s0 = f32x4.sub(f32x4.add(f32x4.mul(b01, x), t0), f32x4.mul(a01, y0));
    t0 = f32x4.sub(f32x4.mul(b02, x), f32x4.mul(a02, y0));
    const y1 = f32x4.add(f32x4.mul(b10, y0), s1);
    s1 = f32x4.sub(f32x4.add(f32x4.mul(b11, y0), t1), f32x4.mul(a11, y1));
    t1 = f32x4.sub(f32x4.mul(b12, y0), f32x4.mul(a12, y1));
    v128.store(out, y1);
    first += 4;
    second += 4;
    out += 16;
  }
  v128.store(state, s0);
  v128.store(state, t0, 16);
  v128.store(state, s1, 32);
  v128.store(state, t1, 48);
}

/** The last two biquads, from the lanes between to energy and peak. */
function lowPassCell(count: i32, filters: usize, state: usize, cells: usize): void {
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
  let sum = f32x4.splat(0);
  let peak = f32x4.splat(0);
  const end = between + (<usize>count << 4);
  for (let at = between; at < end; at += 16) {
    const x = v128.load(at);
    const y0 = f32x4.add(f32x4.mul(b00, x), s0);
    s0 = f32x4.sub(f32x4.add(f32x4.mul(b01, x), t0), f32x4.mul(a01, y0));
    t0 = f32x4.sub(f32x4.mul(b02, x), f32x4.mul(a02, y0));
    const y1 = f32x4.add(f32x4.mul(b10, y0), s1);
    s1 = f32x4.sub(f32x4.add(f32x4.mul(b11, y0), t1), f32x4.mul(a11, y1));
    t1 = f32x4.sub(f32x4.mul(b12, y0), f32x4.mul(a12, y1));
    sum = f32x4.add(sum, f32x4.mul(y1, y1));
    peak = f32x4.pmax(peak, f32x4.abs(y1));
  }
  v128.store(cells, sum);
  v128.store(cells, peak, 16);
  v128.store(state, s0);
  v128.store(state, t0, 16);
  v128.store(state, s1, 32);
  v128.store(state, t1, 48);
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
