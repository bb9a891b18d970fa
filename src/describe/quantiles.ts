import { probit } from 'simple-statistics';

/** Standard normal quantile; simple-statistics' `probit` with the far tails kept finite. */
export function normalQuantile(p: number): number {
  return probit(Math.min(1 - 1e-12, Math.max(1e-12, p)));
}

/** χ² quantile by Wilson & Hilferty 1931: relative error under 1 % for 3 and more degrees of freedom. */
export function chiSquareQuantile(p: number, df: number): number {
  const t = 2 / (9 * df);
  return df * Math.pow(Math.max(1e-6, 1 - t + normalQuantile(p) * Math.sqrt(t)), 3);
}

/**
 * Student's t quantile by Hill's expansion to the fourth order (Abramowitz & Stegun 1964, 26.7.5):
 * within 1 % for 4 and more degrees of freedom at the usual levels.
 */
export function studentQuantile(p: number, df: number): number {
  const z = normalQuantile(p);
  const z3 = z ** 3;
  const z5 = z ** 5;
  const z7 = z ** 7;
  return (
    z +
    (z3 + z) / (4 * df) +
    (5 * z5 + 16 * z3 + 3 * z) / (96 * df ** 2) +
    (3 * z7 + 19 * z5 + 17 * z3 - 15 * z) / (384 * df ** 3)
  );
}

/** Quantile of weighted values: the least value whose cumulative weight reaches p. */
export function weightedQuantile(values: ArrayLike<number>, weights: ArrayLike<number>, p: number): number {
  const order = Array.from({ length: values.length }, (_, i) => i).sort((a, b) => values[a] - values[b]);
  let total = 0;
  for (let i = 0; i < weights.length; i++) total += weights[i];
  let sum = 0;
  for (const i of order) {
    sum += weights[i];
    if (sum >= p * total) return values[i];
  }
  return values[order[order.length - 1]];
}
