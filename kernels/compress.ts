// The gain of a compressor, sample by sample: static curve, then attack and release, in units of log2.

/** log2 of a positive number: exponent, and the series of artanh for the rest; exact to 1e-10. */
@inline
function log2Of(x: f64): f64 {
  const bits = reinterpret<i64>(x);
  let exponent = <f64>((bits >> 52) - 1023);
  let mantissa = reinterpret<f64>((bits & 0x000fffffffffffff) | 0x3ff0000000000000);
  if (mantissa > 1.4142135623730951) {
    mantissa *= 0.5;
    exponent += 1;
  }
  const t = (mantissa - 1) / (mantissa + 1);
  const s = t * t;
  const series = 1 + s * (1.0 / 3 + s * (1.0 / 5 + s * (1.0 / 7 + s * (1.0 / 9 + s * (1.0 / 11)))));
  return exponent + 2.8853900817779268 * t * series;
}

/** 2^y for -1000 < y < 1000: the whole part to the exponent, Taylor's series for the rest; exact to 1e-10. */
@inline
function exp2Of(y: f64): f64 {
  const whole = nearest(y);
  const u = (y - whole) * 0.6931471805599453;
  const series =
    1 + u * (1 + u * (1.0 / 2 + u * (1.0 / 6 + u * (1.0 / 24 + u * (1.0 / 120 + u * (1.0 / 720 + u * (1.0 / 5040 + u * (1.0 / 40320))))))));
  return series * reinterpret<f64>((<i64>whole + 1023) << 52);
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
  for (let i = 0; i < frames; i++) {
    const square = load<f64>(squares + (<usize>i << 3));
    // A sine at full scale reads 0 dBFS with either detector: twice its power is the square of its peak.
    power = average > 0 ? power + (2 * square - power) * average + 1e-30 : square;
    let wanted: f64 = 0;
    if (power > begin) {
      const over = DB_PER_LOG2 * log2Of(power) - threshold;
      wanted = 2 * over < knee ? (slope * (over + knee / 2) * (over + knee / 2)) / (2 * knee) : slope * over;
    }
    if (crestShare > 0) {
      crestPower += (square - crestPower) * crestShare + 1e-30;
      crestPeak = max(square, crestPeak + (square - crestPeak) * crestShare);
      // The share of a time constant, to first order: exact enough for times from 5 ms up.
      release = min(0.5, 0.5 * slowRelease * max(1, crestPeak / crestPower));
    }
    change += (wanted - change) * (wanted < change ? attack : release);
    if (change > -1e-6 && wanted == 0) change = 0;
    store<f64>(gains + (<usize>i << 3), change == 0 ? 1 : exp2Of(change * LOG2_PER_DB));
  }
  store<f64>(state, power);
  store<f64>(state, change, 8);
  store<f64>(state, crestPeak, 16);
  store<f64>(state, crestPower, 24);
}
