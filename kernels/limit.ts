// The true-peak limiter: how high the waveform stands between samples, and the gain that follows from it.

import { highestLane, highestSixteenth } from './waveform-height';

/** Samples that each interpolated value is made from. The same in src/finish/limiter-tables.ts. */
const TAPS: i32 = 96;
const HALF: i32 = TAPS / 2;
/** Intervals that are judged together. */
const BLOCK: i32 = 16;
/** Gains are whole numbers of this, so that running sums of them are exact and never drift. */
const GRAIN: f64 = 1073741824; // 2^30

/** Highest |sample| within reach of the filters of a block. */
function peakAround(samples: usize): f32 {
  let peak = f32x4.splat(0);
  const end = samples + (<usize>(BLOCK + HALF) << 2);
  for (let at = samples - (<usize>HALF << 2); at < end; at += 16)
    peak = f32x4.pmax(peak, f32x4.abs(v128.load(at)));
  return highestLane(peak);
}

/**
 * Four intervals on the 4x grid: the largest of |x[n]|, |y[n + 1/4]|, |y[n + 1/2]|, |y[n + 3/4]|, |x[n + 1]|. The filters
 * of the quarters mirror each other: from sums and differences of mirrored samples both come with half the products.
 */
@inline
function quarters(samples: usize, filter: usize): v128 {
  let left = samples;
  let right = samples + 4;
  let half = f32x4.splat(0);
  let even = f32x4.splat(0);
  let odd = f32x4.splat(0);
  const peak = f32x4.pmax(f32x4.abs(v128.load(left)), f32x4.abs(v128.load(right)));
  const end = filter + <usize>HALF * 12;
  for (let c = filter; c < end; c += 12) {
    const l = v128.load(left);
    const r = v128.load(right);
    const sum = f32x4.add(l, r);
    half = f32x4.add(half, f32x4.mul(v128.load32_splat(c), sum));
    even = f32x4.add(even, f32x4.mul(v128.load32_splat(c, 4), sum));
    odd = f32x4.add(odd, f32x4.mul(v128.load32_splat(c, 8), f32x4.sub(l, r)));
    left -= 4;
    right += 4;
  }
  // max(|a + b|, |a - b|) = |a| + |b|
  return f32x4.pmax(peak, f32x4.pmax(f32x4.abs(half), f32x4.add(f32x4.abs(even), f32x4.abs(odd))));
}

/**
 * Raises heights[i] to the highest |waveform| between samples i and i + 1 on a grid of sixteenths, wherever it may lie
 * above `ceiling`; elsewhere to something not above it. 48 samples before the first must be readable, and 64 after the last.
 *
 * @param samples f32, the sample that opens the first interval
 * @param tables f32: factor on the samples, factor on the 4x grid, rest, unused; then the filters
 *   (src/finish/limiter-tables.ts)
 * @param heights f32, `frames` of them and 16 more
 */
export function raiseHeights(samples: usize, frames: i32, ceiling: f32, tables: usize, heights: usize): void {
  const sampleGain = load<f32>(tables);
  const gridGain = load<f32>(tables, 4);
  const gridRest = load<f32>(tables, 8);
  const grid = tables + 16;
  const fine = grid + <usize>HALF * 12;
  for (let start = 0; start < frames; start += BLOCK) {
    const around = peakAround(samples);
    if (sampleGain * around > ceiling) {
      const rest = gridRest * around;
      for (let o: usize = 0; o < <usize>BLOCK << 2; o += 16) {
        const onGrid = quarters(samples + o, grid);
        v128.store(heights + o, f32x4.pmax(v128.load(heights + o), onGrid));
        if (gridGain * highestLane(onGrid) + rest <= ceiling) continue;
        for (let lane: usize = 0; lane < 16; lane += 4) {
          const height = load<f32>(heights + o + lane);
          // What the other channel has raised already needs no look unless this one may be higher.
          if (gridGain * height + rest > ceiling)
            store<f32>(heights + o + lane, max(height, highestSixteenth(samples + o + lane, fine, <usize>TAPS)));
        }
      }
    }
    samples += <usize>BLOCK << 2;
    heights += <usize>BLOCK << 2;
  }
}

/** A running mean of whole grains, exact; returns it rounded down to a whole grain. */
@inline
function boxMean(ring: usize, place: usize, length: i32, sumAt: usize, value: f64): f64 {
  const at = ring + (place << 3);
  const sum = load<f64>(sumAt) + value - load<f64>(at);
  store<f64>(at, value);
  store<f64>(sumAt, sum);
  return floor(sum / <f64>length);
}

/**
 * From heights to gains. The needed gain, ceiling / height, is held over the window (a sliding minimum), let go slowly,
 * and smoothed by three running means in a row whose combined length is the window's: so the gain has come down to what
 * is needed by the time the sample it is for leaves the delay, and moves without corners.
 *
 * Letting go follows the programme: a fast release brings the gain back after a single peak, but never above a slow
 * average of what has been needed, so that it does not pump where there is much to hold down.
 *
 * @param heights f32, `frames` of them
 * @param settings f64: ceiling, window, three lengths of means (window + 2 = their sum), fast release, slow fall, slow
 *   rise (each the share of the way left that is gone in a sample)
 * @param state f64: height before, fast, slow, three sums, three places; time, head and tail of the queue
 * @param rings f64: five of `size`: values and times of the queue, then one for each mean
 * @param size power of two above the window
 * @param gains f32, written
 */
export function followHeights(
  heights: usize,
  frames: i32,
  settings: usize,
  state: usize,
  rings: usize,
  size: i32,
  gains: usize,
): void {
  const ceiling = load<f64>(settings);
  const window = load<f64>(settings, 8);
  const length1 = <i32>load<f64>(settings, 16);
  const length2 = <i32>load<f64>(settings, 24);
  const length3 = <i32>load<f64>(settings, 32);
  const release = load<f64>(settings, 40);
  const fall = load<f64>(settings, 48);
  const rise = load<f64>(settings, 56);
  const mask = <usize>(size - 1);
  const ringBytes = <usize>size << 3;
  const times = rings + ringBytes;
  const box1 = times + ringBytes;
  const box2 = box1 + ringBytes;
  const box3 = box2 + ringBytes;
  let before = load<f64>(state);
  let fast = load<f64>(state, 8);
  let slow = load<f64>(state, 16);
  let place1 = <usize>load<f64>(state, 48);
  let place2 = <usize>load<f64>(state, 56);
  let place3 = <usize>load<f64>(state, 64);
  let time = load<f64>(state, 72);
  let head = <usize>load<f64>(state, 80);
  let tail = <usize>load<f64>(state, 88);
  for (let i = 0; i < frames; i++) {
    const height = <f64>load<f32>(heights + (<usize>i << 2));
    // A peak between two samples belongs to both.
    const top = max(before, height);
    before = height;
    const need = top > ceiling ? ceiling / top : 1;
    while (tail != head && load<f64>(rings + (((tail - 1) & mask) << 3)) >= need) tail = (tail - 1) & mask;
    store<f64>(rings + (tail << 3), need);
    store<f64>(times + (tail << 3), time);
    tail = (tail + 1) & mask;
    if (load<f64>(times + (head << 3)) <= time - window) head = (head + 1) & mask;
    time += 1;
    const held = load<f64>(rings + (head << 3));
    slow += (held - slow) * (held < slow ? fall : rise);
    // The last thousandth of a dB at once: otherwise the gain would never be 1 again.
    if (slow > 0.9999 && held == 1) slow = 1;
    fast = held < fast ? held : fast + (held - fast) * release;
    if (fast > 0.9999 && held == 1) fast = 1;
    let gain = floor(min(fast, slow) * GRAIN);
    gain = boxMean(box1, place1, length1, state + 24, gain);
    gain = boxMean(box2, place2, length2, state + 32, gain);
    gain = boxMean(box3, place3, length3, state + 40, gain);
    if (++place1 == <usize>length1) place1 = 0;
    if (++place2 == <usize>length2) place2 = 0;
    if (++place3 == <usize>length3) place3 = 0;
    store<f32>(gains + (<usize>i << 2), <f32>(gain / GRAIN));
  }
  store<f64>(state, before);
  store<f64>(state, fast, 8);
  store<f64>(state, slow, 16);
  store<f64>(state, <f64>place1, 48);
  store<f64>(state, <f64>place2, 56);
  store<f64>(state, <f64>place3, 64);
  store<f64>(state, time, 72);
  store<f64>(state, <f64>head, 80);
  store<f64>(state, <f64>tail, 88);
}

/** out = samples * gains, f32. */
export function applyGains(samples: usize, gains: usize, frames: i32, out: usize): void {
  let i = 0;
  for (; i + 4 <= frames; i += 4) {
    const o = <usize>i << 2;
    v128.store(out + o, f32x4.mul(v128.load(samples + o), v128.load(gains + o)));
  }
  for (; i < frames; i++) {
    const o = <usize>i << 2;
    store<f32>(out + o, load<f32>(samples + o) * load<f32>(gains + o));
  }
}
