/** Furthest that one may begin before the other, steps of 100 ms: 20 s. */
const reach = 200;
/** Least that must lie over each other, steps: 5 s. */
const leastShared = 50;
/** Quieter than this against the loudest step is all the same: 40 dB. */
const depthDb = 40;

/**
 * How alike two songs rise and fall, -1..1: the best correlation of their loudness envelopes in decibels over any shift up to
 * 20 s. Cheap, and only good for choosing whom to compare in earnest (heuristic): other songs reach 0.6 and more by chance.
 * @param a,b K-weighted power of each 100 ms (LoudnessTrace.stepPowers)
 */
export function envelopeLikeness(a: readonly number[], b: readonly number[]): number {
  const [x, y] = [decibels(a), decibels(b)];
  let best = -1;
  for (let lag = -reach; lag <= reach; lag++) {
    const from = Math.max(0, -lag);
    const to = Math.min(x.length, y.length - lag);
    if (to - from >= leastShared) best = Math.max(best, correlation(x, y, lag, from, to));
  }
  return best;
}

function decibels(powers: readonly number[]): Float64Array {
  const most = powers.reduce((highest, power) => Math.max(highest, power), 0);
  if (most <= 0) return new Float64Array(powers.length);
  return Float64Array.from(powers, (power) =>
    Math.max(-depthDb, 10 * Math.log10(Math.max(power, Number.MIN_VALUE) / most)),
  );
}

function correlation(x: Float64Array, y: Float64Array, lag: number, from: number, to: number): number {
  let [sx, sy, sxx, syy, sxy] = [0, 0, 0, 0, 0];
  for (let i = from; i < to; i++) {
    const [u, v] = [x[i], y[i + lag]];
    sx += u;
    sy += v;
    sxx += u * u;
    syy += v * v;
    sxy += u * v;
  }
  const n = to - from;
  const [varX, varY] = [sxx - (sx * sx) / n, syy - (sy * sy) / n];
  return varX > 1e-9 && varY > 1e-9 ? (sxy - (sx * sy) / n) / Math.sqrt(varX * varY) : -1;
}
