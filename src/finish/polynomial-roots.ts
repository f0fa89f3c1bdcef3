export interface Complex {
  readonly re: number;
  readonly im: number;
}

/**
 * All roots of c[0] + c[1] x + ... + c[n] x^n, c[n] not 0. Second order by the stable formula, above by Durand and Kerner's
 * simultaneous iteration (textbook). Roots of real polynomials come in conjugate pairs up to rounding.
 */
export function polynomialRoots(c: readonly number[]): Complex[] {
  const order = c.length - 1;
  if (order <= 0) return [];
  if (order === 1) return [{ re: -c[0] / c[1], im: 0 }];
  if (order === 2) return quadraticRoots(c[0], c[1], c[2]);
  const monic = c.map((value) => value / c[order]);
  const radius = Math.max(1e-3, Math.abs(monic[0]) ** (1 / order));
  const re = Array.from({ length: order }, (_, k) => radius * Math.cos(0.4 + (2 * Math.PI * k) / order));
  const im = Array.from({ length: order }, (_, k) => radius * Math.sin(0.4 + (2 * Math.PI * k) / order));
  for (let round = 0; round < 300; round++) {
    let moved = 0;
    for (let k = 0; k < order; k++) {
      let [pr, pi] = [1, 0];
      for (let i = order - 1; i >= 0; i--)
        [pr, pi] = [pr * re[k] - pi * im[k] + monic[i], pr * im[k] + pi * re[k]];
      for (let j = 0; j < order; j++) {
        if (j === k) continue;
        const dr = re[k] - re[j];
        const di = im[k] - im[j];
        const d = dr * dr + di * di || 1e-300;
        [pr, pi] = [(pr * dr + pi * di) / d, (pi * dr - pr * di) / d];
      }
      re[k] -= pr;
      im[k] -= pi;
      moved = Math.max(moved, Math.hypot(pr, pi) / (Math.hypot(re[k], im[k]) || 1));
    }
    if (moved < 1e-15) break;
  }
  return re.map((value, k) => ({ re: value, im: im[k] }));
}

function quadraticRoots(c0: number, c1: number, c2: number): Complex[] {
  const d = c1 * c1 - 4 * c2 * c0;
  if (d < 0) {
    const re = -c1 / (2 * c2);
    const im = Math.sqrt(-d) / (2 * c2);
    return [
      { re, im },
      { re, im: -im },
    ];
  }
  const q = -0.5 * (c1 + (c1 < 0 ? -1 : 1) * Math.sqrt(d));
  return [
    { re: q / c2, im: 0 },
    { re: q === 0 ? 0 : c0 / q, im: 0 },
  ];
}
