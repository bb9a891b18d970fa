import { describe, expect, it } from 'vitest';
import { maximinOrder, orderedNeighbours } from '../../src/variogram/index.ts';
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

  it('the order is as the maximin is asked for: each point as far as can be from those before', () => {
    const { xy } = meuseLogZinc;
    const { order, neighbours, starts } = orderedNeighbours(xy, 3, { order: 'maximin' });
    expect(order).toEqual(maximinOrder(xy));
    expect(new Set(order).size).toBe(155);
    const gap = (p: number, before: readonly number[]) => Math.min(...before.map((q) => distance(xy, p, q)));
    for (let i = 1; i < order.length; i++) {
      const before = Array.from(order.slice(0, i));
      const farthest = Math.max(...Array.from(order.slice(i), (p) => gap(p, before)));
      expect(gap(order[i], before)).toBe(farthest);
      expect(distance(xy, order[i], neighbours[starts[i]])).toBe(farthest);
    }
  });

  it('among many points, on lines and lattices: the nearest earlier, of equals the earliest', () => {
    const many = {
      lattice: Float64Array.from({ length: 1800 }, (_, i) =>
        i % 2 ? Math.floor(i / 60) * 20 : ((i >> 1) % 30) * 20,
      ),
      line: Float64Array.from({ length: 1200 }, (_, i) => (i % 2 ? 5 : (i * 7919) % 1201)),
      clusters: Float64Array.from({ length: 1000 }, (_, i) => ((i >> 5) % 4) * 1e4 + ((i * 6151) % 977)),
    };
    for (const xy of Object.values(many)) {
      const m = 9;
      const { order, neighbours, starts } = orderedNeighbours(xy, m);
      const squared = (p: number, q: number) =>
        (xy[2 * p] - xy[2 * q]) ** 2 + (xy[2 * p + 1] - xy[2 * q + 1]) ** 2;
      for (let i = 60; i < order.length; i += 37) {
        const earlier = Array.from(order.slice(0, i), (q, place) => ({ q, place, d2: squared(q, order[i]) }));
        const nearest = earlier.sort((a, b) => a.d2 - b.d2 || a.place - b.place).slice(0, m);
        expect(Array.from(neighbours.slice(starts[i], starts[i + 1]))).toEqual(nearest.map((e) => e.q));
      }
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
