/** Frames in a cell, the grain in which lowest and highest samples are kept. The same in src/signal/kernels.ts. */
const CELL: i32 = 64;

/**
 * Lowest and highest sample of each cell of 64 frames (the last one may be shorter).
 *
 * @param samples f32, `frames` of them
 * @param lows f32 a cell, written
 * @param highs f32 a cell, written
 * @returns the sum of squares in double precision; not finite exactly when some sample is not
 */
export function scanLevels(samples: usize, frames: i32, lows: usize, highs: usize): f64 {
  let sums = f64x2.splat(0);
  let tail: f64 = 0;
  for (let start = 0; start < frames; start += CELL) {
    const end = min(start + CELL, frames);
    let low = f32x4.splat(f32.MAX_VALUE);
    let high = f32x4.splat(-f32.MAX_VALUE);
    let i = start;
    for (; i + 4 <= end; i += 4) {
      const x = v128.load(samples + (<usize>i << 2));
      low = f32x4.min(low, x);
      high = f32x4.max(high, x);
      const first = f64x2.promote_low_f32x4(x);
      const second = f64x2.promote_low_f32x4(i32x4.shuffle(x, x, 2, 3, 2, 3));
      sums = f64x2.add(sums, f64x2.add(f64x2.mul(first, first), f64x2.mul(second, second)));
    }
    let lowest = min(
      min(f32x4.extract_lane(low, 0), f32x4.extract_lane(low, 1)),
      min(f32x4.extract_lane(low, 2), f32x4.extract_lane(low, 3)),
    );
    let highest = max(
      max(f32x4.extract_lane(high, 0), f32x4.extract_lane(high, 1)),
      max(f32x4.extract_lane(high, 2), f32x4.extract_lane(high, 3)),
    );
    for (; i < end; i++) {
      const x = load<f32>(samples + (<usize>i << 2));
      lowest = min(lowest, x);
      highest = max(highest, x);
      tail += <f64>x * <f64>x;
    }
    store<f32>(lows, lowest);
    store<f32>(highs, highest);
    lows += 4;
    highs += 4;
  }
  return tail + f64x2.extract_lane(sums, 0) + f64x2.extract_lane(sums, 1);
}
