/** State below this is set to zero between calls: filters ringing into silence must not reach the slow denormals. */
const QUIET: f64 = 1e-30;

@inline
function hush(state: v128): v128 {
  return v128.and(state, f64x2.ge(f64x2.abs(state), f64x2.splat(QUIET)));
}

/**
 * K-weighting (ITU-R BS.1770-5 Annex 1) of two channels at once, one in each half of the vectors: two biquads
 * in transposed direct form II in double precision, then the sum of squares. Output is put into the states' equations, so
 * that the way from one state to the next, which nothing can shorten, is one product and one difference.
 *
 * @param first f32 samples of one channel
 * @param second f32 samples of the other; the same pointer again when there is no other
 * @param frames any number
 * @param filters ten f64: shelf b0 c1 c2 a1 a2, high-pass b0 c1 c2 a1 a2; see `stateForm` in src/signal/k-weighting.ts
 * @param state four vectors of two f64, kept between calls; zero at first
 * @param sums two f64: the sums of squares of the weighted channels are added to them
 */
export function weighK(
  first: usize,
  second: usize,
  frames: i32,
  filters: usize,
  state: usize,
  sums: usize,
): void {
  const shelfB0 = v128.load64_splat(filters);
  const shelfC1 = v128.load64_splat(filters, 8);
  const shelfC2 = v128.load64_splat(filters, 16);
  const shelfA1 = v128.load64_splat(filters, 24);
  const shelfA2 = v128.load64_splat(filters, 32);
  const passB0 = v128.load64_splat(filters, 40);
  const passC1 = v128.load64_splat(filters, 48);
  const passC2 = v128.load64_splat(filters, 56);
  const passA1 = v128.load64_splat(filters, 64);
  const passA2 = v128.load64_splat(filters, 72);
  let s1 = v128.load(state);
  let s2 = v128.load(state, 16);
  let t1 = v128.load(state, 32);
  let t2 = v128.load(state, 48);
  let sum = v128.load(sums);
  const end = first + (<usize>frames << 2);
  while (first < end) {
    const x = f64x2.promote_low_f32x4(
      i32x4.shuffle(v128.load32_zero(first), v128.load32_zero(second), 0, 4, 1, 5),
    );
    const y = f64x2.add(f64x2.mul(shelfB0, x), s1);
    const s = s1;
    s1 = f64x2.sub(f64x2.add(f64x2.mul(shelfC1, x), s2), f64x2.mul(shelfA1, s));
    s2 = f64x2.sub(f64x2.mul(shelfC2, x), f64x2.mul(shelfA2, s));
    const z = f64x2.add(f64x2.mul(passB0, y), t1);
    const t = t1;
    t1 = f64x2.sub(f64x2.add(f64x2.mul(passC1, y), t2), f64x2.mul(passA1, t));
    t2 = f64x2.sub(f64x2.mul(passC2, y), f64x2.mul(passA2, t));
    sum = f64x2.add(sum, f64x2.mul(z, z));
    first += 4;
    second += 4;
  }
  v128.store(state, hush(s1));
  v128.store(state, hush(s2), 16);
  v128.store(state, hush(t1), 32);
  v128.store(state, hush(t2), 48);
  v128.store(sums, sum);
}
