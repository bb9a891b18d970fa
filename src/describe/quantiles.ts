import chiSquare from '@stdlib/stats-base-dists-chisquare-quantile';
import fisher from '@stdlib/stats-base-dists-f-quantile';
import normal from '@stdlib/stats-base-dists-normal-quantile';
import student from '@stdlib/stats-base-dists-t-quantile';

/** Standard normal quantile, the far tails kept finite. */
export function normalQuantile(p: number): number {
  return normal(Math.min(1 - 1e-12, Math.max(1e-12, p)), 0, 1);
}

/** χ² quantile. */
export const chiSquareQuantile = (p: number, df: number): number => chiSquare(p, df);

/** Quantile of Fisher's F with `df1` degrees of freedom above and `df2` below. */
export const fQuantile = (p: number, df1: number, df2: number): number => fisher(p, df1, df2);

/** Student's t quantile. */
export const studentQuantile = (p: number, df: number): number => student(p, df);

/** Quantile of weighted values: the least value whose cumulative weight reaches p. */
export function weightedQuantile(values: ArrayLike<number>, weights: ArrayLike<number>, p: number): number {
  const n = weights.length;
  let total = 0;
  let even = true;
  for (let i = 0; i < n; i++) {
    total += weights[i];
    even &&= weights[i] === weights[0];
  }
  // Numbers sort several times as fast as places by a comparison.
  if (even) {
    const sorted = Float64Array.from(values).sort();
    let sum = 0;
    for (let k = 0; k < n; k++) if ((sum += weights[0]) >= p * total) return sorted[k];
    return sorted[n - 1];
  }
  const order = Array.from({ length: n }, (_, i) => i).sort((a, b) => values[a] - values[b]);
  let sum = 0;
  for (const i of order) {
    sum += weights[i];
    if (sum >= p * total) return values[i];
  }
  return values[order[n - 1]];
}
