// The search for the highest point of the waveform between samples. What it does and why it may skip what it
// skips is told in src/signal/true-peak-tables.ts, which also makes the tables.

import { highestLane, highestSixteenth } from './waveform-height';

/** Samples that each interpolated value is made from. The same in src/signal/true-peak-tables.ts. */
const TAPS: i32 = 48;
const HALF: i32 = TAPS / 2;
/** Intervals that are judged together. */
const BLOCK: i32 = 32;
const BLOCK_BYTES: usize = <usize>BLOCK << 2;

/** Highest value of each interval of one block on the 4x grid. */
const gridPeaks: usize = memory.data(32 * 4, 16);

/** Highest |sample| of a block. */
function samplePeak(samples: usize): f32 {
  let peak = f32x4.splat(0);
  for (let o: usize = 0; o < BLOCK_BYTES; o += 16) peak = f32x4.pmax(peak, f32x4.abs(v128.load(samples + o)));
  return highestLane(peak);
}

/**
 * |waveform| half-way between the samples of a block, and at the samples; the filter is symmetric.
 * Leaves the larger of |x[n]|, |y[n + 1/2]|, |x[n + 1]| for each interval in gridPeaks and returns the highest.
 */
function scanHalves(samples: usize, filter: usize): f32 {
  let highest = f32x4.splat(0);
  for (let o: usize = 0; o < BLOCK_BYTES; o += 64) {
    let left = samples + o;
    let right = left + 4;
    const x0 = f32x4.pmax(f32x4.abs(v128.load(left)), f32x4.abs(v128.load(right)));
    const x1 = f32x4.pmax(f32x4.abs(v128.load(left, 16)), f32x4.abs(v128.load(right, 16)));
    const x2 = f32x4.pmax(f32x4.abs(v128.load(left, 32)), f32x4.abs(v128.load(right, 32)));
    const x3 = f32x4.pmax(f32x4.abs(v128.load(left, 48)), f32x4.abs(v128.load(right, 48)));
    let y0 = f32x4.splat(0);
    let y1 = y0;
    let y2 = y0;
    let y3 = y0;
    const end = filter + (<usize>HALF << 4);
    for (let c = filter; c < end; c += 16) {
      const h = v128.load(c);
      y0 = f32x4.add(y0, f32x4.mul(h, f32x4.add(v128.load(left), v128.load(right))));
      y1 = f32x4.add(y1, f32x4.mul(h, f32x4.add(v128.load(left, 16), v128.load(right, 16))));
      y2 = f32x4.add(y2, f32x4.mul(h, f32x4.add(v128.load(left, 32), v128.load(right, 32))));
      y3 = f32x4.add(y3, f32x4.mul(h, f32x4.add(v128.load(left, 48), v128.load(right, 48))));
      left -= 4;
      right += 4;
    }
    const p0 = f32x4.pmax(x0, f32x4.abs(y0));
    const p1 = f32x4.pmax(x1, f32x4.abs(y1));
    const p2 = f32x4.pmax(x2, f32x4.abs(y2));
    const p3 = f32x4.pmax(x3, f32x4.abs(y3));
    v128.store(gridPeaks + o, p0);
    v128.store(gridPeaks + o, p1, 16);
    v128.store(gridPeaks + o, p2, 32);
    v128.store(gridPeaks + o, p3, 48);
    highest = f32x4.pmax(highest, f32x4.pmax(f32x4.pmax(p0, p1), f32x4.pmax(p2, p3)));
  }
  return highestLane(highest);
}

/**
 * The quarters. The filters of n + 1/4 and n + 3/4 mirror each other, so with sums and differences of mirrored
 * samples both come from half the products: y(1/4) = even + odd, y(3/4) = even - odd.
 * Raises gridPeaks by them and returns the highest.
 */
function scanQuarters(samples: usize, filter: usize): f32 {
  let highest = f32x4.splat(0);
  for (let o: usize = 0; o < BLOCK_BYTES; o += 32) {
    let left = samples + o;
    let right = left + 4;
    let even0 = f32x4.splat(0);
    let even1 = even0;
    let odd0 = even0;
    let odd1 = even0;
    const end = filter + (<usize>HALF << 5);
    for (let c = filter; c < end; c += 32) {
      const hEven = v128.load(c);
      const hOdd = v128.load(c, 16);
      const l0 = v128.load(left);
      const r0 = v128.load(right);
      const l1 = v128.load(left, 16);
      const r1 = v128.load(right, 16);
      even0 = f32x4.add(even0, f32x4.mul(hEven, f32x4.add(l0, r0)));
      odd0 = f32x4.add(odd0, f32x4.mul(hOdd, f32x4.sub(l0, r0)));
      even1 = f32x4.add(even1, f32x4.mul(hEven, f32x4.add(l1, r1)));
      odd1 = f32x4.add(odd1, f32x4.mul(hOdd, f32x4.sub(l1, r1)));
      left -= 4;
      right += 4;
    }
    // max(|a + b|, |a - b|) = |a| + |b|
    const p0 = f32x4.pmax(v128.load(gridPeaks + o), f32x4.add(f32x4.abs(even0), f32x4.abs(odd0)));
    const p1 = f32x4.pmax(v128.load(gridPeaks + o, 16), f32x4.add(f32x4.abs(even1), f32x4.abs(odd1)));
    v128.store(gridPeaks + o, p0);
    v128.store(gridPeaks + o, p1, 16);
    highest = f32x4.pmax(highest, f32x4.pmax(p0, p1));
  }
  return highestLane(highest);
}

/**
 * Highest |waveform| over `blocks` blocks of 32 intervals, one interval being the time from a sample to the
 * next, on a grid of sixteenths. 32 samples before the first interval and 64 after the last must be readable.
 *
 * @param samples f32, the sample that opens the first interval
 * @param peak what has been found so far; nothing below it is looked at closely unless it is over `limit`
 * @param limit every interval that passes it is reported
 * @param tables from src/signal/true-peak-tables.ts: five bounds (f32, then three unused), then the filters
 * @param overs room for `blocks` x 32 pairs (i32 interval, f32 its highest value), written in order of time
 * @param overCount i32, written: number of pairs
 * @returns the highest value found, or `peak` if that is higher
 */
export function scanTruePeak(
  samples: usize,
  blocks: i32,
  peak: f32,
  limit: f32,
  tables: usize,
  overs: usize,
  overCount: usize,
): f32 {
  const sampleGain = load<f32>(tables);
  const halfGain = load<f32>(tables, 4);
  const halfRest = load<f32>(tables, 8);
  const quarterGain = load<f32>(tables, 12);
  const quarterRest = load<f32>(tables, 16);
  const halves = tables + 32;
  const quarters = halves + (<usize>HALF << 4);
  const sixteenths = quarters + (<usize>HALF << 5);

  // The samples themselves lie on the grid: knowing their peak first spares most of the blocks a closer look.
  for (let b = 0; b < blocks; b++) peak = max(peak, samplePeak(samples + <usize>b * BLOCK_BYTES));
  let threshold = min(peak, limit);

  let count = 0;
  let before = samplePeak(samples - BLOCK_BYTES);
  let here = samplePeak(samples);
  for (let b = 0; b < blocks; b++) {
    const block = samples + <usize>b * BLOCK_BYTES;
    const after = samplePeak(block + BLOCK_BYTES);
    const around = max(before, max(here, after));
    before = here;
    here = after;
    if (sampleGain * around <= threshold) continue;
    if (halfGain * scanHalves(block, halves) + halfRest * around <= threshold) continue;
    if (quarterGain * scanQuarters(block, quarters) + quarterRest * around <= threshold) continue;
    for (let i = 0; i < BLOCK; i++) {
      const onGrid = load<f32>(gridPeaks + (<usize>i << 2));
      if (quarterGain * onGrid + quarterRest * around <= threshold) continue;
      const height = max(onGrid, highestSixteenth(block + (<usize>i << 2), sixteenths, <usize>TAPS));
      if (height > limit) {
        const pair = overs + (<usize>count << 3);
        store<i32>(pair, b * BLOCK + i);
        store<f32>(pair, height, 4);
        count++;
      }
      peak = max(peak, height);
      threshold = min(peak, limit);
    }
  }
  store<i32>(overCount, count);
  return peak;
}
