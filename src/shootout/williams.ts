/**
 * Williams design for n conditions, as rows of 0..n-1: every condition stands in every position equally often, and every
 * ordered pair of neighbours occurs equally often, so that neither place nor what came just before favours anyone.
 * n rows for even n, 2n for odd n. E. J. Williams, 'Experimental designs balanced for the estimation of residual effects
 * of treatments', Australian Journal of Scientific Research A 2 (1949) 149-168; construction as commonly given: first
 * row 0, 1, n-1, 2, n-2, ..., the others that row plus k modulo n, for odd n also all of them read backwards.
 */
export function williamsDesign(n: number): number[][] {
  if (!Number.isInteger(n) || n < 1) throw new RangeError('a design needs at least one condition');
  const first = Array.from({ length: n }, (_, i) => (i === 0 ? 0 : i % 2 === 1 ? (i + 1) / 2 : n - i / 2));
  const square = Array.from({ length: n }, (_, k) => first.map((condition) => (condition + k) % n));
  return n % 2 === 0 || n === 1 ? square : [...square, ...square.map((row) => [...row].reverse())];
}
