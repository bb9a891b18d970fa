import { nearestPoints } from '../clean/nearest.ts';
import type { Random } from './random.ts';

export interface MoranTest {
  /** Moran's I with inverse-distance weights within the neighbourhood. */
  readonly i: number;
  /** One-sided p for positive autocorrelation, by permutation. */
  readonly p: number;
}

/**
 * Moran's I (Moran 1950) with weight 1/distance between each point and its nearest `neighbours`,
 * tested by permuting the values (Cliff & Ord 1981).
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
  const { k, index, distanceM } = nearestPoints(xy, neighbours);
  const weight = distanceM.map((d) => 1 / Math.max(d, 1e-6));
  const total = weight.reduce((s, w) => s + w, 0);
  const products = (values: Float64Array): number => {
    let sum = 0;
    for (let i = 0, at = 0; i < n; i++) {
      let near = 0;
      for (const end = at + k; at < end; at++) near += weight[at] * values[index[at]];
      sum += values[i] * near;
    }
    return sum;
  };
  const observed = products(e);
  const shuffled = e.slice();
  let atLeast = 1;
  for (let p = 0; p < permutations; p++) {
    for (let i = n - 1; i > 0; i--) {
      const j = Math.floor(random() * (i + 1));
      const held = shuffled[i];
      shuffled[i] = shuffled[j];
      shuffled[j] = held;
    }
    if (products(shuffled) >= observed) atLeast++;
  }
  return { i: (n * observed) / (total * ss), p: atLeast / (permutations + 1) };
}
