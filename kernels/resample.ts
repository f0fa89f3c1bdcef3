// Sums of samples times filters in double precision, each output frame from its own place and with its own filter.

/**
 * Two channels converted: frame n is the sum over k of row[r][k] * samples[p + k], with p and r from `places`.
 *
 * @param first, second f64
 * @param rows filters of `taps` f64 each, one after the other
 * @param taps a multiple of 4
 * @param places two i32 a frame: first sample, row
 * @param outFirst, outSecond f32, `count` of them each, written
 */
export function convolveRows(
  first: usize,
  second: usize,
  rows: usize,
  taps: i32,
  places: usize,
  count: i32,
  outFirst: usize,
  outSecond: usize,
): void {
  const rowBytes = <usize>taps << 3;
  for (let n = 0; n < count; n++) {
    const at = <usize>load<i32>(places) << 3;
    let a = first + at;
    let b = second + at;
    let row = rows + <usize>load<i32>(places, 4) * rowBytes;
    const end = row + rowBytes;
    let a0 = f64x2.splat(0);
    let a1 = f64x2.splat(0);
    let b0 = f64x2.splat(0);
    let b1 = f64x2.splat(0);
    while (row < end) {
      const h0 = v128.load(row);
      const h1 = v128.load(row, 16);
      a0 = f64x2.add(a0, f64x2.mul(h0, v128.load(a)));
      b0 = f64x2.add(b0, f64x2.mul(h0, v128.load(b)));
      a1 = f64x2.add(a1, f64x2.mul(h1, v128.load(a, 16)));
      b1 = f64x2.add(b1, f64x2.mul(h1, v128.load(b, 16)));
      row += 32;
      a += 32;
      b += 32;
    }
    a0 = f64x2.add(a0, a1);
    b0 = f64x2.add(b0, b1);
    store<f32>(outFirst, <f32>(f64x2.extract_lane(a0, 0) + f64x2.extract_lane(a0, 1)));
    store<f32>(outSecond, <f32>(f64x2.extract_lane(b0, 0) + f64x2.extract_lane(b0, 1)));
    places += 8;
    outFirst += 4;
    outSecond += 4;
  }
}

/**
 * The same with a filter between the rows: four neighbouring rows, from the one named on, added with the frame's four
 * weights.
 *
 * @param weights four f64 a frame
 */
export function convolveBetweenRows(
  first: usize,
  second: usize,
  rows: usize,
  taps: i32,
  places: usize,
  weights: usize,
  count: i32,
  outFirst: usize,
  outSecond: usize,
): void {
  const rowBytes = <usize>taps << 3;
  for (let n = 0; n < count; n++) {
    const at = <usize>load<i32>(places) << 3;
    let a = first + at;
    let b = second + at;
    let row = rows + <usize>load<i32>(places, 4) * rowBytes;
    const end = row + rowBytes;
    const w0 = v128.load64_splat(weights);
    const w1 = v128.load64_splat(weights, 8);
    const w2 = v128.load64_splat(weights, 16);
    const w3 = v128.load64_splat(weights, 24);
    let sumA = f64x2.splat(0);
    let sumB = f64x2.splat(0);
    while (row < end) {
      const row1 = row + rowBytes;
      const row2 = row1 + rowBytes;
      const row3 = row2 + rowBytes;
      const h = f64x2.add(
        f64x2.add(f64x2.mul(w0, v128.load(row)), f64x2.mul(w1, v128.load(row1))),
        f64x2.add(f64x2.mul(w2, v128.load(row2)), f64x2.mul(w3, v128.load(row3))),
      );
      sumA = f64x2.add(sumA, f64x2.mul(h, v128.load(a)));
      sumB = f64x2.add(sumB, f64x2.mul(h, v128.load(b)));
      row += 16;
      a += 16;
      b += 16;
    }
    store<f32>(outFirst, <f32>(f64x2.extract_lane(sumA, 0) + f64x2.extract_lane(sumA, 1)));
    store<f32>(outSecond, <f32>(f64x2.extract_lane(sumB, 0) + f64x2.extract_lane(sumB, 1)));
    places += 8;
    weights += 32;
    outFirst += 4;
    outSecond += 4;
  }
}
