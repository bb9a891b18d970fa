import { describe, expect, it } from 'vitest';
import { orderedNeighbours } from '../../src/variogram/index.ts';
import { meuseLogZinc, oxfordXy } from '../reference/reference.ts';

describe('ordered neighbours', () => {
  const distance = (xy: Float64Array, p: number, q: number) =>
    Math.hypot(xy[2 * p] - xy[2 * q], xy[2 * p + 1] - xy[2 * q + 1]);

  it.each([
    ['meuse', meuseLogZinc.xy],
    ['oxford', oxfordXy],
  ])('%s: every point once, each with its nearest earlier ones', (_, xy) => {
    const m = 12;
    const n = xy.length / 2;
    const { order, neighbours, starts } = orderedNeighbours(xy, m);
    expect(Array.from(order).sort((a, b) => a - b)).toEqual(Array.from({ length: n }, (_, i) => i));
    for (let i = 0; i < n; i++) {
      const p = order[i];
      const held = Array.from(neighbours.slice(starts[i], starts[i + 1]));
      expect(held).toHaveLength(Math.min(i, m));
      const earlier = Array.from(order.slice(0, i));
      for (const q of held) expect(earlier).toContain(q);
      const nearest = earlier.map((q) => distance(xy, p, q)).sort((a, b) => a - b);
      held.forEach((q, k) => expect(distance(xy, p, q)).toBe(nearest[k]));
    }
  });

  it('the first points of the order reach every quarter of the area', () => {
    const xy = Float64Array.from({ length: 2 * 400 }, (_, i) => (i % 2 ? Math.floor(i / 40) : (i / 2) % 20));
    const { order } = orderedNeighbours(xy, 5);
    const quarters = new Set(
      Array.from(order.slice(0, 8), (p) => 2 * Number(xy[2 * p] >= 10) + Number(xy[2 * p + 1] >= 10)),
    );
    expect(quarters.size).toBe(4);
  });

  it('takes one point, none, and points at one place', () => {
    expect(orderedNeighbours(Float64Array.of(3, 4), 5).neighbours).toHaveLength(0);
    expect(orderedNeighbours(new Float64Array(0), 5).order).toHaveLength(0);
    expect(orderedNeighbours(Float64Array.of(1, 1, 1, 1, 1, 1), 5).neighbours).toHaveLength(3);
  });
});
