import type { FlatPositions } from '../field/index.ts';

/**
 * A short walk through all stops, open at its end: nearest neighbour from the stop nearest the field's lower left,
 * then 2-opt until no exchange shortens it (Croes 1958).
 * @param xy 2n metres
 * @returns stop indices in walking order
 */
export function walkingOrder(xy: FlatPositions): Uint32Array {
  const n = xy.length / 2;
  if (n === 0) return new Uint32Array(0);
  const gap = (i: number, j: number) => Math.hypot(xy[2 * i] - xy[2 * j], xy[2 * i + 1] - xy[2 * j + 1]);
  let at = 0;
  for (let i = 1; i < n; i++) if (xy[2 * i] + xy[2 * i + 1] < xy[2 * at] + xy[2 * at + 1]) at = i;
  const left = new Set(Array.from({ length: n }, (_, i) => i));
  const tour = new Uint32Array(n);
  for (let k = 0; k < n; k++) {
    tour[k] = at;
    left.delete(at);
    let best = -1;
    let bestD = Infinity;
    for (const j of left) {
      const d = gap(at, j);
      if (d < bestD) {
        bestD = d;
        best = j;
      }
    }
    at = best;
  }
  let improved = true;
  for (let pass = 0; improved && pass < 60; pass++) {
    improved = false;
    for (let i = 0; i < n - 2; i++)
      for (let j = i + 2; j < n; j++) {
        const next = j + 1 < n ? gap(tour[i + 1], tour[j + 1]) - gap(tour[j], tour[j + 1]) : 0;
        if (gap(tour[i], tour[j]) - gap(tour[i], tour[i + 1]) + next < -1e-6) {
          tour.subarray(i + 1, j + 1).reverse();
          improved = true;
        }
      }
  }
  return tour;
}

/** Length of a walk through stops in an order, m. */
export function walkLengthM(xy: FlatPositions, order: ArrayLike<number>): number {
  let sum = 0;
  for (let k = 1; k < order.length; k++)
    sum += Math.hypot(
      xy[2 * order[k]] - xy[2 * order[k - 1]],
      xy[2 * order[k] + 1] - xy[2 * order[k - 1] + 1],
    );
  return sum;
}
