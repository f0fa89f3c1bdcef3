/** Frames in a cell. The same as in kernels/levels.ts. */
const CELL: i32 = 64;

/**
 * Reads off one channel what the fault detectors start from. A "bend" is the size of the third difference
 * x[n] - 3x[n-1] + 3x[n-2] - x[n-3]: it grows with the cube of the frequency, so that a click stands out of music.
 *
 * @param samples f32, `frames` of them; the three before are read as well
 * @param peaks f32 a cell of 64 frames, written: highest |sample|
 * @param bends f32 a cell, written: largest bend
 * @param bendSums f32 a cell, written: sum of the bends
 * @param totals two i32 and a f64: the samples as whole numbers of 2^-23 are or-ed into the first, so that its lowest
 *   bit set tells how fine they are; the second becomes other than 0 once a sample is finer than that; the sum of squares
 *   is added to the third (single precision within a cell)
 * @returns the sum of the samples, in double precision
 */
export function scanFaults(
  samples: usize,
  frames: i32,
  peaks: usize,
  bends: usize,
  bendSums: usize,
  totals: usize,
): f64 {
  const scale = f32x4.splat(8388608);
  const three = f32x4.splat(3);
  let bits = i32x4.splat(0);
  let finer = i32x4.splat(0);
  let lastBits: i32 = 0;
  let lastFiner: i32 = 0;
  let total: f64 = 0;
  let squares: f64 = 0;
  for (let start = 0; start < frames; start += CELL) {
    const end = min(start + CELL, frames);
    let peak4 = f32x4.splat(0);
    let bend4 = f32x4.splat(0);
    let bends4 = f32x4.splat(0);
    let sum4 = f32x4.splat(0);
    let square4 = f32x4.splat(0);
    let i = start;
    for (; i + 4 <= end; i += 4) {
      const at = samples + (<usize>i << 2);
      const x = v128.load(at);
      const y = v128.load(at - 4);
      const z = v128.load(at - 8);
      const bend = f32x4.abs(f32x4.add(f32x4.sub(x, v128.load(at - 12)), f32x4.mul(three, f32x4.sub(z, y))));
      peak4 = f32x4.max(peak4, f32x4.abs(x));
      bend4 = f32x4.max(bend4, bend);
      bends4 = f32x4.add(bends4, bend);
      sum4 = f32x4.add(sum4, x);
      square4 = f32x4.add(square4, f32x4.mul(x, x));
      const steps = f32x4.mul(x, scale);
      const whole = i32x4.trunc_sat_f32x4_s(steps);
      bits = v128.or(bits, whole);
      finer = v128.or(finer, f32x4.ne(f32x4.convert_i32x4_s(whole), steps));
    }
    let peak = max(
      max(f32x4.extract_lane(peak4, 0), f32x4.extract_lane(peak4, 1)),
      max(f32x4.extract_lane(peak4, 2), f32x4.extract_lane(peak4, 3)),
    );
    let largest = max(
      max(f32x4.extract_lane(bend4, 0), f32x4.extract_lane(bend4, 1)),
      max(f32x4.extract_lane(bend4, 2), f32x4.extract_lane(bend4, 3)),
    );
    let bendSum =
      f32x4.extract_lane(bends4, 0) +
      f32x4.extract_lane(bends4, 1) +
      f32x4.extract_lane(bends4, 2) +
      f32x4.extract_lane(bends4, 3);
    total +=
      <f64>f32x4.extract_lane(sum4, 0) +
      <f64>f32x4.extract_lane(sum4, 1) +
      <f64>f32x4.extract_lane(sum4, 2) +
      <f64>f32x4.extract_lane(sum4, 3);
    squares +=
      <f64>f32x4.extract_lane(square4, 0) +
      <f64>f32x4.extract_lane(square4, 1) +
      <f64>f32x4.extract_lane(square4, 2) +
      <f64>f32x4.extract_lane(square4, 3);
    for (; i < end; i++) {
      const at = samples + (<usize>i << 2);
      const x = load<f32>(at);
      const y = load<f32>(at - 4);
      const bend = abs(x - load<f32>(at - 12) + 3 * (load<f32>(at - 8) - y));
      peak = max(peak, abs(x));
      largest = max(largest, bend);
      bendSum += bend;
      total += <f64>x;
      squares += <f64>x * <f64>x;
      const steps = x * 8388608;
      // Beyond this a conversion would trap; a vector conversion gives the largest number instead.
      const whole = abs(steps) < 2147483648 ? <i32>steps : i32.MAX_VALUE;
      lastBits |= whole;
      if (<f32>whole != steps) lastFiner = 1;
    }
    store<f32>(peaks, peak);
    store<f32>(bends, largest);
    store<f32>(bendSums, bendSum);
    peaks += 4;
    bends += 4;
    bendSums += 4;
  }
  store<i32>(
    totals,
    load<i32>(totals) |
      lastBits |
      i32x4.extract_lane(bits, 0) |
      i32x4.extract_lane(bits, 1) |
      i32x4.extract_lane(bits, 2) |
      i32x4.extract_lane(bits, 3),
  );
  if (lastFiner != 0 || v128.any_true(finer)) store<i32>(totals, 1, 4);
  store<f64>(totals, load<f64>(totals, 8) + squares, 8);
  return total;
}

/**
 * Sums of `size` samples in a row: a coarse first step down in sample rate.
 *
 * @param size 1, 2, 4, ... 64
 * @param sums f32, frames / size of them, written; a rest is left out
 */
export function sumBoxes(samples: usize, frames: i32, size: i32, sums: usize): void {
  const boxes = frames / size;
  for (let box = 0; box < boxes; box++) {
    let sum: f32 = 0;
    if (size >= 4) {
      let sum4 = v128.load(samples);
      for (let i = 4; i < size; i += 4) sum4 = f32x4.add(sum4, v128.load(samples + (<usize>i << 2)));
      sum =
        f32x4.extract_lane(sum4, 0) +
        f32x4.extract_lane(sum4, 1) +
        f32x4.extract_lane(sum4, 2) +
        f32x4.extract_lane(sum4, 3);
    } else {
      for (let i = 0; i < size; i++) sum += load<f32>(samples + (<usize>i << 2));
    }
    store<f32>(sums, sum);
    sums += 4;
    samples += <usize>size << 2;
  }
}
