// What the true-peak search and the limiter share: how high the waveform stands between samples.

@inline
export function highestLane(x: v128): f32 {
  return max(
    max(f32x4.extract_lane(x, 0), f32x4.extract_lane(x, 1)),
    max(f32x4.extract_lane(x, 2), f32x4.extract_lane(x, 3)),
  );
}

/**
 * Highest |waveform| at the twelve sixteenths of one interval that are not on the 4x grid.
 *
 * @param sample f32, the sample that opens the interval
 * @param filter f32, the twelve filters, tap by tap
 * @param taps of each, even
 */
@inline
export function highestSixteenth(sample: usize, filter: usize, taps: usize): f32 {
  let y0 = f32x4.splat(0);
  let y1 = y0;
  let y2 = y0;
  let z0 = y0;
  let z1 = y0;
  let z2 = y0;
  let x = sample - (((taps >> 1) - 1) << 2);
  const end = filter + taps * 48;
  for (let c = filter; c < end; c += 96) {
    const a = v128.load32_splat(x);
    const b = v128.load32_splat(x, 4);
    y0 = f32x4.add(y0, f32x4.mul(a, v128.load(c)));
    y1 = f32x4.add(y1, f32x4.mul(a, v128.load(c, 16)));
    y2 = f32x4.add(y2, f32x4.mul(a, v128.load(c, 32)));
    z0 = f32x4.add(z0, f32x4.mul(b, v128.load(c, 48)));
    z1 = f32x4.add(z1, f32x4.mul(b, v128.load(c, 64)));
    z2 = f32x4.add(z2, f32x4.mul(b, v128.load(c, 80)));
    x += 8;
  }
  return highestLane(
    f32x4.pmax(
      f32x4.abs(f32x4.add(y0, z0)),
      f32x4.pmax(f32x4.abs(f32x4.add(y1, z1)), f32x4.abs(f32x4.add(y2, z2))),
    ),
  );
}
