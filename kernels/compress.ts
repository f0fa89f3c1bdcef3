// The gain of a compressor, sample by sample: static curve, then attack and release, in units of log2.

/** log2 of two positive numbers: exponent, and the series of artanh for the rest; exact to 1e-10. */
@inline
function log2Of(x: v128): v128 {
  // The exponent as the last bits of 2^52 and so much: a number without converting one.
  const magic = f64x2.splat(4503599627370496.0);
  let exponent = f64x2.sub(v128.or(i64x2.shr_u(x, 52), magic), f64x2.splat(4503599627370496.0 + 1023));
  let mantissa = v128.or(
    v128.and(x, i64x2.splat(0x000fffffffffffff)),
    i64x2.splat(0x3ff0000000000000),
  );
  const large = f64x2.gt(mantissa, f64x2.splat(1.4142135623730951));
  mantissa = v128.bitselect(f64x2.mul(mantissa, f64x2.splat(0.5)), mantissa, large);
  exponent = f64x2.add(exponent, v128.and(large, f64x2.splat(1)));
  const one = f64x2.splat(1);
  const t = f64x2.div(f64x2.sub(mantissa, one), f64x2.add(mantissa, one));
  const s = f64x2.mul(t, t);
  let series = f64x2.add(f64x2.splat(1.0 / 9), f64x2.mul(s, f64x2.splat(1.0 / 11)));
  series = f64x2.add(f64x2.splat(1.0 / 7), f64x2.mul(s, series));
  series = f64x2.add(f64x2.splat(1.0 / 5), f64x2.mul(s, series));
  series = f64x2.add(f64x2.splat(1.0 / 3), f64x2.mul(s, series));
  series = f64x2.add(one, f64x2.mul(s, series));
  return f64x2.add(exponent, f64x2.mul(f64x2.mul(f64x2.splat(2.8853900817779268), t), series));
}

/** 2^y of two numbers with -1000 < y < 1000: the whole part to the exponent, Taylor's series for the rest; exact to 1e-10. */
@inline
function exp2Of(y: v128): v128 {
  const whole = f64x2.nearest(y);
  const u = f64x2.mul(f64x2.sub(y, whole), f64x2.splat(0.6931471805599453));
  let series = f64x2.add(f64x2.splat(1.0 / 5040), f64x2.mul(u, f64x2.splat(1.0 / 40320)));
  series = f64x2.add(f64x2.splat(1.0 / 720), f64x2.mul(u, series));
  series = f64x2.add(f64x2.splat(1.0 / 120), f64x2.mul(u, series));
  series = f64x2.add(f64x2.splat(1.0 / 24), f64x2.mul(u, series));
  series = f64x2.add(f64x2.splat(1.0 / 6), f64x2.mul(u, series));
  series = f64x2.add(f64x2.splat(1.0 / 2), f64x2.mul(u, series));
  series = f64x2.add(f64x2.splat(1), f64x2.mul(u, series));
  series = f64x2.add(f64x2.splat(1), f64x2.mul(u, series));
  const exponent = i64x2.shl(f64x2.add(whole, f64x2.splat(4503599627370496.0 + 1023)), 52);
  return f64x2.mul(series, exponent);
}

/** Half of a decibel's factor: amplitude = 2^(dB * this). */
const LOG2_PER_DB: f64 = 0.16609640474436813;
/** Decibels of a doubled power. */
const DB_PER_LOG2: f64 = 3.010299956639812;

/**
 * What src/finish/compressor-gain.ts says.
 *
 * @param squares f64, power of the samples that the level is taken from
 * @param gains f64, written: amplitude ratios
 * @param settings f64: threshold dB, 1/ratio - 1, knee dB, power at which the knee begins, share of the RMS average (0: peak),
 *   attack, release (shares in a sample), share of the crest average (0: release by time)
 * @param state f64: power, change dB, crest's peak, crest's power
 */
export function holdLevels(squares: usize, gains: usize, frames: i32, settings: usize, state: usize): void {
  const threshold = load<f64>(settings);
  const slope = load<f64>(settings, 8);
  const knee = load<f64>(settings, 16);
  const begin = load<f64>(settings, 24);
  const average = load<f64>(settings, 32);
  const attack = load<f64>(settings, 40);
  let release = load<f64>(settings, 48);
  const crestShare = load<f64>(settings, 56);
  const slowRelease = release;
  let power = load<f64>(state);
  let change = load<f64>(state, 8);
  let crestPeak = load<f64>(state, 16);
  let crestPower = load<f64>(state, 24);
  // In four rows, because only two of them hang on the sample before: the curve and the factor are taken two at a time.
  for (let i = 0; i < frames; i++) {
    const square = load<f64>(squares + (<usize>i << 3));
    // A sine at full scale reads 0 dBFS with either detector: twice its power is the square of its peak.
    power = average > 0 ? power + (2 * square - power) * average + 1e-30 : square;
    store<f64>(gains + (<usize>i << 3), power);
  }
  const halfKnee = f64x2.splat(knee / 2);
  for (let i = 0; i < frames; i += 2) {
    const at = gains + (<usize>i << 3);
    const powers = v128.load(at);
    const above = f64x2.gt(powers, f64x2.splat(begin));
    if (!v128.any_true(above)) {
      v128.store(at, f64x2.splat(0));
      continue;
    }
    const over = f64x2.sub(f64x2.mul(f64x2.splat(DB_PER_LOG2), log2Of(powers)), f64x2.splat(threshold));
    const into = f64x2.add(over, halfKnee);
    const bent = f64x2.div(
      f64x2.mul(f64x2.mul(f64x2.splat(slope), into), into),
      f64x2.splat(2 * knee),
    );
    const straight = f64x2.mul(f64x2.splat(slope), over);
    const inKnee = f64x2.lt(f64x2.mul(f64x2.splat(2), over), f64x2.splat(knee));
    v128.store(at, v128.and(above, v128.bitselect(bent, straight, inKnee)));
  }
  for (let i = 0; i < frames; i++) {
    const at = gains + (<usize>i << 3);
    const wanted = load<f64>(at);
    if (crestShare > 0) {
      const square = load<f64>(squares + (<usize>i << 3));
      crestPower += (square - crestPower) * crestShare + 1e-30;
      crestPeak = max(square, crestPeak + (square - crestPeak) * crestShare);
      // The share of a time constant, to first order: exact enough for times from 5 ms up.
      release = min(0.5, 0.5 * slowRelease * max(1, crestPeak / crestPower));
    }
    change += (wanted - change) * (wanted < change ? attack : release);
    if (change > -1e-6 && wanted == 0) change = 0;
    store<f64>(at, change);
  }
  // 2^0 is exactly 1: what is not held stays as it is, bit by bit.
  for (let i = 0; i < frames; i += 2) {
    const at = gains + (<usize>i << 3);
    v128.store(at, exp2Of(f64x2.mul(v128.load(at), f64x2.splat(LOG2_PER_DB))));
  }
  store<f64>(state, power);
  store<f64>(state, change, 8);
  store<f64>(state, crestPeak, 16);
  store<f64>(state, crestPower, 24);
}
