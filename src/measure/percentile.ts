/**
 * The value below which `share` (0..1) of the values lie, the nearest of them, as in EBU Tech 3342.
 * `values` must not be empty; they may have any order.
 */
export function percentile(values: readonly number[], share: number): number {
  const sorted = Float64Array.from(values).sort();
  return sorted[Math.round((sorted.length - 1) * share)];
}
