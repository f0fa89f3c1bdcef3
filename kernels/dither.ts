// Rounding to a word length with triangular dither, two samples at a time; the numbers are those of src/finish/dither.ts.

const GOLDEN: i32 = 0x6d2b79f5;

/**
 * What src/finish/dither.ts says, without a noise shaper.
 *
 * @param samples f32, changed in place; room for an even number
 * @param steps 2^(bits - 1)
 * @param state of the noise; @returns the state after `frames` samples
 */
export function ditherRow(samples: usize, frames: i32, steps: f64, state: i32): i32 {
  const places = i32x4(GOLDEN, GOLDEN * 2, GOLDEN * 3, GOLDEN * 4);
  const scale = f64x2.splat(steps);
  const back = f64x2.splat(1 / steps);
  const lowest = f64x2.splat(-steps);
  const highest = f64x2.splat(steps - 1);
  const one = f64x2.splat(1);
  const half = f64x2.splat(0.5);
  const unit = f64x2.splat(1.0 / 4294967296.0);
  let place = state;
  for (let i = 0; i < frames; i += 2) {
    const at = samples + (<usize>i << 2);
    // mulberry32 (public domain), four numbers along.
    const n = i32x4.add(i32x4.splat(place), places);
    let t = i32x4.mul(v128.xor(n, i32x4.shr_u(n, 15)), v128.or(n, i32x4.splat(1)));
    t = v128.xor(t, i32x4.add(t, i32x4.mul(v128.xor(t, i32x4.shr_u(t, 7)), v128.or(t, i32x4.splat(61)))));
    t = v128.xor(t, i32x4.shr_u(t, 14));
    const first = f64x2.convert_low_i32x4_u(v128.shuffle<i32>(t, t, 0, 2, 0, 2));
    const second = f64x2.convert_low_i32x4_u(v128.shuffle<i32>(t, t, 1, 3, 1, 3));
    const noise = f64x2.sub(f64x2.mul(f64x2.add(first, second), unit), one);
    const wanted = f64x2.add(f64x2.mul(f64x2.promote_low_f32x4(v128.load64_zero(at)), scale), noise);
    // Halves upwards, as Math.round has it.
    const whole = f64x2.floor(wanted);
    const up = v128.and(f64x2.ge(f64x2.sub(wanted, whole), half), one);
    const held = f64x2.max(lowest, f64x2.min(highest, f64x2.add(whole, up)));
    store<i64>(at, i64x2.extract_lane(f32x4.demote_f64x2_zero(f64x2.mul(held, back)), 0));
    place += 4 * GOLDEN;
  }
  return state + frames * 2 * GOLDEN;
}
