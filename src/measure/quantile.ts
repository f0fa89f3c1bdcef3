/**
 * The value below which `share` (0..1) of the values lie, by linear interpolation between ordered ones: type 7 of Hyndman & Fan
 * (1996), the usual one (from memory). `sorted` must not be empty. EBU Tech 3342 asks for another: percentile.ts.
 */
export function quantile(sorted: readonly number[], share: number): number {
  const at = (sorted.length - 1) * share;
  const below = Math.floor(at);
  const above = Math.min(sorted.length - 1, below + 1);
  return sorted[below] + (at - below) * (sorted[above] - sorted[below]);
}
