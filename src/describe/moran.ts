import type { Random } from './random.ts';

export interface MoranTest {
  /** Moran's I with inverse-distance weights within the neighbourhood. */
  readonly i: number;
  /** One-sided p for positive autocorrelation, by permutation. */
  readonly p: number;
}

/**
 * Moran's I (Moran 1950) with weight 1/distance between each point and its nearest `neighbours`,
 * made symmetric, tested by permuting the values (Cliff & Ord 1981).
 * @param xy 2n metres; @param z n values
 * @returns undefined with fewer than five points or no variation
 */
export function moranTest(
  xy: Float64Array,
  z: Float64Array,
  random: Random,
  { neighbours = 6, permutations = 499 } = {},
): MoranTest | undefined {
  const n = z.length;
  if (n < 5) return undefined;
  const mean = z.reduce((s, v) => s + v, 0) / n;
  const e = z.map((v) => v - mean);
  const ss = e.reduce((s, v) => s + v * v, 0);
  if (!(ss > 1e-12 * (1 + mean * mean))) return undefined;
  const from: number[] = [];
  const to: number[] = [];
  const weight: number[] = [];
  let total = 0;
  for (let i = 0; i < n; i++) {
    const near: { j: number; d: number }[] = [];
    for (let j = 0; j < n; j++)
      if (j !== i) near.push({ j, d: Math.hypot(xy[2 * i] - xy[2 * j], xy[2 * i + 1] - xy[2 * j + 1]) });
    near.sort((a, b) => a.d - b.d);
    for (const { j, d } of near.slice(0, neighbours)) {
      from.push(i);
      to.push(j);
      weight.push(1 / Math.max(d, 1e-6));
      total += weight[weight.length - 1];
    }
  }
  const statistic = (values: Float64Array) => {
    let sum = 0;
    for (let k = 0; k < weight.length; k++) sum += weight[k] * values[from[k]] * values[to[k]];
    return ((n / total) * sum) / ss;
  };
  const observed = statistic(e);
  const shuffled = e.slice();
  let atLeast = 1;
  for (let p = 0; p < permutations; p++) {
    for (let i = n - 1; i > 0; i--) {
      const j = Math.floor(random() * (i + 1));
      [shuffled[i], shuffled[j]] = [shuffled[j], shuffled[i]];
    }
    if (statistic(shuffled) >= observed) atLeast++;
  }
  return { i: observed, p: atLeast / (permutations + 1) };
}
