import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/describe/index.ts';
import { distanceToEdgeM, regionContains, type Region } from '../../src/field/index.ts';
import { insetTest, insideTest } from '../../src/field/inside.ts';

/** A ragged ring about (cx, cy), wound either way, left open or closed. */
const ring = (cx: number, cy: number, radiusM: number, corners: number, seed: number, closed = true) => {
  const random = seededRandom(seed);
  const out = Array.from({ length: corners }, (_, i) => {
    const turn = ((seed % 2 ? 1 : -1) * 2 * Math.PI * i) / corners;
    const r = radiusM * (0.4 + 0.6 * random());
    return [cx + r * Math.cos(turn), cy + r * Math.sin(turn)] as const;
  });
  return closed ? [...out, out[0]] : out;
};

const anyRegion: fc.Arbitrary<Region> = fc
  .record({
    corners: fc.integer({ min: 3, max: 90 }),
    seed: fc.integer({ min: 1, max: 1e6 }),
    holes: fc.integer({ min: 0, max: 3 }),
    parts: fc.integer({ min: 1, max: 3 }),
    closed: fc.boolean(),
  })
  .map(({ corners, seed, holes, parts, closed }) =>
    Array.from({ length: parts }, (_, p) => [
      ring(900 * p, 150 * p, 500, corners, seed + p, closed),
      // Holes may overlap one another and stick out: the answer is still that of the plain test.
      ...Array.from({ length: holes }, (_, h) => ring(900 * p + 80 * h, 100 * h, 120, 5 + h, seed + 7 * h)),
    ]),
  );

describe('positions tested against one region', () => {
  it('inside as the plain test has it, at corners and level with them too', () => {
    fc.assert(
      fc.property(anyRegion, fc.integer({ min: 1, max: 1e6 }), (region, seed) => {
        const inside = insideTest(region);
        const random = seededRandom(seed);
        const corners = region.flat(2);
        for (let i = 0; i < 300; i++) {
          const [a, b] = [corners[Math.floor(random() * corners.length)], corners[i % corners.length]];
          const x = i % 3 === 0 ? a[0] : -700 + 3200 * random();
          const y = i % 2 === 0 ? b[1] : -700 + 1800 * random();
          expect(inside(x, y), `${x}, ${y}`).toBe(regionContains(region, [x, y]));
        }
      }),
      { numRuns: 60 },
    );
  });

  it('clear of every edge by the inset, as measured edge by edge', () => {
    fc.assert(
      fc.property(
        anyRegion,
        fc.double({ min: 0.1, max: 150, noNaN: true }),
        fc.integer({ min: 1, max: 1e6 }),
        (drawn, insetM, seed) => {
          // distanceToEdgeM measures rings as given: closed ones.
          const region = drawn.map((rings) => rings.map((r) => [...r, r[0]]));
          const clear = insetTest(region, insetM);
          const random = seededRandom(seed);
          for (let i = 0; i < 200; i++) {
            const p = [-700 + 3200 * random(), -700 + 1800 * random()] as const;
            const expected = regionContains(region, p) && distanceToEdgeM(region, p) >= insetM;
            expect(clear(p[0], p[1]), `${p}`).toBe(expected);
          }
        },
      ),
      { numRuns: 40 },
    );
  });

  it('nothing lies in a region without parts, or outside its height', () => {
    expect(insideTest([])(0, 0)).toBe(false);
    const square = insideTest([[ring(0, 0, 100, 4, 2)]]);
    expect(square(0, 1e6)).toBe(false);
    expect(square(0, NaN)).toBe(false);
    expect(square(0, 0)).toBe(true);
  });
});
