import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { meanSquaredDistanceTo, nearestIndex, nearestStops } from '../../src/design/index.ts';
import { seededRandom } from '../../src/describe/index.ts';
import { expectRelative } from '../reference/near.ts';

/** Places in clumps, in a line or on a lattice (where many are equally near), in and out of the box. */
const anyPlaces = (most: number) =>
  fc
    .record({
      n: fc.integer({ min: 1, max: most }),
      seed: fc.integer({ min: 1, max: 1e6 }),
      how: fc.constantFrom('even', 'clumped', 'line', 'lattice'),
    })
    .map(({ n, seed, how }) => {
      const random = seededRandom(seed);
      return Float64Array.from({ length: 2 * n }, (_, i) => {
        if (how === 'line' && i % 2 === 1) return 40;
        if (how === 'lattice') return 10 * Math.floor(12 * random());
        const u = random();
        return how === 'clumped' ? 900 * u ** 6 : -100 + 900 * u;
      });
    });

const plainNearest = (xy: Float64Array, x: number, y: number, skip = -1) => {
  let [best, least] = [-1, Infinity];
  for (let p = 0; 2 * p < xy.length; p++) {
    const d = (x - xy[2 * p]) ** 2 + (y - xy[2 * p + 1]) ** 2;
    if (d < least && p !== skip) [best, least] = [p, d];
  }
  return best;
};

describe('the place nearest a position', () => {
  it('is the one found by asking all, the first of equals', () => {
    fc.assert(
      fc.property(anyPlaces(60), anyPlaces(80), (xy, nodes) => {
        const { nearest } = nearestIndex(xy, nodes);
        for (let i = 0; i < nodes.length; i += 2)
          expect(nearest(nodes[i], nodes[i + 1])).toBe(plainNearest(xy, nodes[i], nodes[i + 1]));
        for (let p = 0; 2 * p < xy.length; p++)
          expect(nearest(xy[2 * p], xy[2 * p + 1], p)).toBe(plainNearest(xy, xy[2 * p], xy[2 * p + 1], p));
      }),
      { numRuns: 150 },
    );
  });

  it('follows places that move, once filled again', () => {
    const xy = Float64Array.of(0, 0, 100, 100);
    const { nearest, fill } = nearestIndex(xy, Float64Array.of(0, 0, 100, 100));
    expect(nearest(80, 80)).toBe(1);
    xy.set([90, 85]);
    xy.set([0, 0], 2);
    fill();
    expect(nearest(80, 80)).toBe(0);
  });

  it('labels and mean squared distances of nodes', () => {
    const stops = Float64Array.of(0, 0, 10, 0);
    const nodes = Float64Array.of(1, 0, 9, 0, 4, 3, 10, 2);
    expect([...nearestStops(nodes, stops)]).toEqual([0, 1, 0, 1]);
    expectRelative(meanSquaredDistanceTo(nodes, stops), (1 + 1 + 25 + 4) / 4, 1e-12);
  });
});
