import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/describe/index.ts';
import { indexSamples, nearestInto } from '../../src/krige/index.ts';

const random = seededRandom(77);
const scattered = new Float64Array(2 * 700).map(() => 500 * random());
// Whole metres on a small lattice: ties everywhere, and several samples at one place.
const tied = new Float64Array(2 * 400).map(() => Math.floor(12 * random()));

function byBruteForce(xy: Float64Array, px: number, py: number, most: number, maxDistance2: number) {
  return Array.from({ length: xy.length / 2 }, (_, id) => ({
    id,
    d2: (xy[2 * id] - px) ** 2 + (xy[2 * id + 1] - py) ** 2,
  }))
    .filter((s) => s.d2 <= maxDistance2)
    .sort((a, b) => a.d2 - b.d2 || a.id - b.id)
    .slice(0, most);
}

describe('nearest samples', () => {
  it.each([
    ['scattered', scattered, 500],
    ['tied', tied, 12],
  ] as const)('%s: as by brute force, ties by index, for any leaf size', (_, xy, side) => {
    for (const leaf of [2, 8, 64]) {
      const tree = indexSamples(xy, leaf);
      for (let trial = 0; trial < 60; trial++) {
        const outside = trial % 5 === 0 ? 3 : 1;
        const px = trial % 2 ? outside * side * random() : Math.floor(outside * side * random());
        const py = trial % 2 ? side * random() : Math.floor(side * random());
        for (const most of [1, 7, 40])
          for (const maxDistance2 of [Infinity, (side / 12) ** 2]) {
            const index = new Uint32Array(most);
            const distance2 = new Float64Array(most);
            const held = nearestInto(tree, px, py, most, maxDistance2, index, distance2);
            const expected = byBruteForce(xy, px, py, most, maxDistance2);
            expect(Array.from(index.subarray(0, held))).toEqual(expected.map((s) => s.id));
            expect(Array.from(distance2.subarray(0, held))).toEqual(expected.map((s) => s.d2));
          }
      }
    }
  });

  it('fewer samples than wanted: all of them; none: none', () => {
    const index = new Uint32Array(5);
    const distance2 = new Float64Array(5);
    expect(nearestInto(indexSamples(Float64Array.of(3, 4, 0, 1)), 0, 0, 5, Infinity, index, distance2)).toBe(
      2,
    );
    expect(Array.from(index.subarray(0, 2))).toEqual([1, 0]);
    expect(nearestInto(indexSamples(new Float64Array(0)), 0, 0, 5, Infinity, index, distance2)).toBe(0);
  });
});
