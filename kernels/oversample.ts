// Half-band filters between a rate and twice that rate, single precision, and the curve that works between them.

/**
 * out[i] = sum of taps[k] * (samples[i + k] + samples[i + 2 * half - 1 - k]), k = 0..half-1: a symmetric filter of an even
 * number of taps.
 *
 * @param samples f32, count + 2 * half - 1 of them
 * @param taps f32, `half` of them
 * @param count a multiple of 4
 * @param out f32, written; may not overlap the samples
 */
export function convolveSymmetric(samples: usize, taps: usize, half: i32, count: i32, out: usize): void {
  const last = (<usize>(2 * half - 1)) << 2;
  const end = out + (<usize>count << 2);
  const tapsEnd = taps + (<usize>half << 2);
  while (out + 32 <= end) {
    let a = f32x4.splat(0);
    let b = f32x4.splat(0);
    let left = samples;
    let right = samples + last;
    for (let tap = taps; tap < tapsEnd; tap += 4) {
      const h = v128.load32_splat(tap);
      a = f32x4.add(a, f32x4.mul(h, f32x4.add(v128.load(left), v128.load(right))));
      b = f32x4.add(b, f32x4.mul(h, f32x4.add(v128.load(left, 16), v128.load(right, 16))));
      left += 4;
      right -= 4;
    }
    v128.store(out, a);
    v128.store(out, b, 16);
    samples += 32;
    out += 32;
  }
  for (; out < end; out += 16) {
    let a = f32x4.splat(0);
    let left = samples;
    let right = samples + last;
    for (let tap = taps; tap < tapsEnd; tap += 4) {
      a = f32x4.add(
        a,
        f32x4.mul(v128.load32_splat(tap), f32x4.add(v128.load(left), v128.load(right))),
      );
      left += 4;
      right -= 4;
    }
    v128.store(out, a);
    samples += 16;
  }
}

/** Two arrays of f32 to one, taking turns. `count` a multiple of 4. */
export function weave(even: usize, odd: usize, count: i32, out: usize): void {
  const end = even + (<usize>count << 2);
  while (even < end) {
    const a = v128.load(even);
    const b = v128.load(odd);
    v128.store(out, i32x4.shuffle(a, b, 0, 4, 1, 5));
    v128.store(out, i32x4.shuffle(a, b, 2, 6, 3, 7), 16);
    even += 16;
    odd += 16;
    out += 32;
  }
}

/** And back. `count` of each, a multiple of 4. */
export function unweave(samples: usize, count: i32, even: usize, odd: usize): void {
  const end = even + (<usize>count << 2);
  while (even < end) {
    const a = v128.load(samples);
    const b = v128.load(samples, 16);
    v128.store(even, i32x4.shuffle(a, b, 0, 2, 4, 6));
    v128.store(odd, i32x4.shuffle(a, b, 1, 3, 5, 7));
    samples += 32;
    even += 16;
    odd += 16;
  }
}

/**
 * What a curve adds to samples, in place: x becomes f(x) - x with
 * f(x) = (p(drive * x + bias) - p(bias)) * scale, p(u) = u - u^3 + 3/5 u^5 - 1/7 u^7 within -1..1 and constant beyond.
 */
export function bend(samples: usize, count: i32, drive: f32, bias: f32, scale: f32): void {
  const drives = f32x4.splat(drive);
  const biases = f32x4.splat(bias);
  const scales = f32x4.splat(scale);
  const one = f32x4.splat(1);
  const least = f32x4.splat(-1);
  const c3 = f32x4.splat(-1);
  const c5 = f32x4.splat(0.6);
  const c7 = f32x4.splat(-1.0 / 7.0);
  const v = bias * bias;
  const rest = f32x4.splat(bias * (1 + v * (-1 + v * (0.6 - v / 7))));
  const end = samples + (<usize>count << 2);
  for (; samples < end; samples += 16) {
    const x = v128.load(samples);
    const u = f32x4.min(one, f32x4.max(least, f32x4.add(f32x4.mul(drives, x), biases)));
    const s = f32x4.mul(u, u);
    const inner = f32x4.add(c3, f32x4.mul(s, f32x4.add(c5, f32x4.mul(s, c7))));
    const p = f32x4.add(u, f32x4.mul(u, f32x4.mul(s, inner)));
    v128.store(samples, f32x4.sub(f32x4.mul(scales, f32x4.sub(p, rest)), x));
  }
}
