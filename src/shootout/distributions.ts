/** The distributions that the tests need, to about 1e-10; textbook series and continued fractions. */

/** ln of the gamma function, x > 0 (Lanczos, g = 7, nine terms, from memory; checked against factorials). */
export function logGamma(x: number): number {
  if (x < 0.5) return Math.log(Math.PI / Math.sin(Math.PI * x)) - logGamma(1 - x);
  const t = x + 6.5;
  let sum = lanczos[0];
  for (let i = 1; i < lanczos.length; i++) sum += lanczos[i] / (x - 1 + i);
  return 0.5 * Math.log(2 * Math.PI) + (x - 0.5) * Math.log(t) - t + Math.log(sum);
}

const lanczos = [
  0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313, -176.61502916214059,
  12.507343278686905, -0.13857109526572012, 9.9843695780195716e-6, 1.5056327351493116e-7,
];

/** Chance that a gamma variable of shape a exceeds x. */
function gammaAbove(a: number, x: number): number {
  if (x <= 0) return 1;
  const scale = Math.exp(a * Math.log(x) - x - logGamma(a));
  if (x < a + 1) {
    let term = 1 / a;
    let sum = term;
    for (let n = 1; Math.abs(term) > Math.abs(sum) * 1e-16; n++) {
      term *= x / (a + n);
      sum += term;
    }
    return 1 - sum * scale;
  }
  return (
    scale *
    continued(
      (n) => (n === 0 ? x + 1 - a : x + 2 * n + 1 - a),
      (n) => n * (a - n),
    )
  );
}

/** 1 / (b0 + a1 / (b1 + a2 / (b2 + ...))) by Lentz's method. */
function continued(b: (n: number) => number, a: (n: number) => number): number {
  const tiny = 1e-300;
  let f = b(0) || tiny;
  let c = f;
  let d = 0;
  for (let n = 1; n < 10_000; n++) {
    d = b(n) + a(n) * d || tiny;
    c = b(n) + a(n) / c || tiny;
    d = 1 / d;
    const change = c * d;
    f *= change;
    if (Math.abs(change - 1) < 1e-15) break;
  }
  return 1 / f;
}

/** Chance that chi-squared with `df` degrees of freedom exceeds x. */
export function chiSquaredAbove(x: number, df: number): number {
  return gammaAbove(df / 2, x / 2);
}

/** Chance that a standard normal stays below z. */
export function normalBelow(z: number): number {
  const tail = 0.5 * gammaAbove(0.5, (z * z) / 2);
  return z > 0 ? 1 - tail : tail;
}

/** Chance that a beta(a, b) variable stays below x. */
function betaBelow(x: number, a: number, b: number): number {
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  if (x > (a + 1) / (a + b + 2)) return 1 - betaBelow(1 - x, b, a);
  const scale =
    Math.exp(logGamma(a + b) - logGamma(a) - logGamma(b) + a * Math.log(x) + b * Math.log1p(-x)) / a;
  const step = (n: number) => {
    const m = n >> 1;
    if (n % 2 === 0) return (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    return -((a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
  };
  return scale * continued(() => 1, step);
}

/** Chance that Student's t with `df` degrees of freedom stays below t. */
export function studentBelow(t: number, df: number): number {
  const tail = 0.5 * betaBelow(df / (df + t * t), df / 2, 0.5);
  return t > 0 ? 1 - tail : tail;
}

/** The x in [low, high] at which a rising function passes `value`, to 1e-12 of the span. */
function inverse(rising: (x: number) => number, value: number, low: number, high: number): number {
  for (let i = 0; i < 200 && high - low > 1e-12 * Math.max(1, Math.abs(low)); i++) {
    const middle = (low + high) / 2;
    if (rising(middle) < value) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

export function normalQuantile(p: number): number {
  return inverse(normalBelow, p, -40, 40);
}

/** Quantile of Student's t, p in (1e-4, 1 - 1e-4). */
export function studentQuantile(p: number, df: number): number {
  return inverse((t) => studentBelow(t, df), p, -1e5, 1e5);
}

/** Chance of `successes` or more in n independent trials of chance p: exact. */
export function binomialAtLeast(successes: number, n: number, p: number): number {
  if (successes <= 0) return 1;
  if (successes > n) return 0;
  return betaBelow(p, successes, n - successes + 1);
}

/** Interval for a share from `successes` of n, exact after Clopper and Pearson 1934 (from memory). */
export function shareInterval(successes: number, n: number, level = 0.95): { low: number; high: number } {
  const tail = (1 - level) / 2;
  const bound = (a: number, b: number, p: number) => inverse((x) => betaBelow(x, a, b), p, 0, 1);
  return {
    low: successes === 0 ? 0 : bound(successes, n - successes + 1, tail),
    high: successes === n ? 1 : bound(successes + 1, n - successes, 1 - tail),
  };
}
