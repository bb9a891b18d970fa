import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  gridCandidates,
  gridStops,
  latticePoints,
  mainDirection,
  nominalStops,
  placements,
  type GridShape,
} from '../../src/design/index.ts';
import { areaHa, distanceToEdgeM, regionContains, squareOfArea, type Region } from '../../src/field/index.ts';
import { acresToHa } from '../../src/units/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { holeOnly, lShape, QUARTER_SECTION_M, quarterSection, turned, withHole } from './shapes.ts';

const places = (xy: Float64Array) =>
  Array.from({ length: xy.length / 2 }, (_, i) => [xy[2 * i], xy[2 * i + 1]] as const);

/** Distance from each stop to its nearest other. */
const gaps = (xy: Float64Array) =>
  places(xy).map(([x, y], i) =>
    Math.min(...places(xy).map(([u, v], j) => (i === j ? Infinity : Math.hypot(u - x, v - y)))),
  );

// Common practice, no source: 32 samples for 5 acres and 64 for 2.5 acres on a quarter section of 160 acres.
describe('stops of a grid by its nominal size', () => {
  it.each([
    [5, 32],
    [2.5, 64],
    [10, 16],
    [1, 160],
  ])('%d acres on a quarter section: %d', (acres, stops) => {
    expect(nominalStops(acresToHa(160), acresToHa(acres))).toBe(stops);
    expect(nominalStops(areaHa(quarterSection), acresToHa(acres))).toBe(stops);
  });

  it('a field smaller than one cell still has a stop', () => {
    expect(nominalStops(0.3, 2)).toBe(1);
  });

  // Crops & Soils, July-August 2021: cells of 2.5 and 10 acres are usual, 2.5 the most common.
  it('the usual cells are among those compared, coarsest first, each with a number of its own', () => {
    const us = gridCandidates(acresToHa(160), 'us');
    expect(us.map((c) => c.nominal)).toEqual(expect.arrayContaining([10, 5, 2.5, 1]));
    expect(us.find((c) => c.nominal === 2.5)).toMatchObject({ id: 'grid-2.5', stops: 64 });
    for (const list of [
      us,
      gridCandidates(3, 'us'),
      gridCandidates(64, 'metric'),
      gridCandidates(900, 'metric'),
    ]) {
      expect(list.length).toBeGreaterThan(1);
      const stops = list.map((c) => c.stops);
      expect(stops).toEqual([...new Set(stops)].sort((a, b) => a - b));
      expect(stops[0]).toBeGreaterThanOrEqual(2);
      expect(stops.at(-1)).toBeLessThanOrEqual(400);
    }
    expect(gridCandidates(64, 'metric').find((c) => c.nominal === 2)).toMatchObject({
      haPerStop: 2,
      stops: 32,
    });
    expect(gridCandidates(64, 'us', 40).every((c) => c.stops <= 40)).toBe(true);
  });
});

describe('stops laid in a boundary', () => {
  const regions: readonly (readonly [string, Region])[] = [
    ['a square', quarterSection],
    ['an L', lShape],
    ['a field with a hole', withHole],
    ['an L lying askew', turned(lShape, 0.4)],
  ];

  it.each(regions)('%s: exactly as many as asked for, all inside', (_, region) => {
    for (const stops of [2, 5, 7, 13, 20, 32, 47, 64]) {
      const grid = gridStops(region, stops);
      expect(grid.xy).toHaveLength(2 * stops);
      for (const p of places(grid.xy)) expect(regionContains(region, p), `${stops}: ${p}`).toBe(true);
      expectRelative(grid.spacingM, Math.sqrt((areaHa(region) * 10_000) / stops), 1e-12);
      // A lattice stretched by 6 % at most, or stops spread as evenly as the boundary lets them.
      const least = Math.min(...gaps(grid.xy));
      expect(least, `${stops} ${grid.placed}`).toBeGreaterThan(
        (grid.placed === 'lattice' ? 0.93 : 0.5) * grid.spacingM,
      );
    }
  });

  it('any number in an L, by chance', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 90 }),
        fc.double({ min: 0, max: 3, noNaN: true }),
        (stops, angle) => {
          const region = turned(lShape, angle);
          const { xy } = gridStops(region, stops);
          expect(xy).toHaveLength(2 * stops);
          for (const p of places(xy)) expect(regionContains(region, p)).toBe(true);
        },
      ),
      { numRuns: 25, seed: 5 },
    );
  });

  it('none in the hole', () => {
    for (const stops of [9, 24, 50, 120])
      for (const p of places(gridStops(withHole, stops).xy)) expect(regionContains(holeOnly, p)).toBe(false);
  });

  it('64 in a quarter section are the 8 × 8 lattice, half a step from every side', () => {
    const grid = gridStops(quarterSection, 64);
    expect(grid.placed).toBe('lattice');
    const step = QUARTER_SECTION_M / 8;
    expectRelative(grid.spacingM, step, 1e-9);
    for (const gap of gaps(grid.xy)) expectRelative(gap, step, 1e-9);
    for (const side of [0, 1]) {
      const values = places(grid.xy).map((p) => p[side]);
      expect(new Set(values.map((v) => v.toFixed(3))).size).toBe(8);
      expectWithin(Math.min(...values), step / 2, step / 12 + 1e-6);
      expectWithin(Math.max(...values), QUARTER_SECTION_M - step / 2, step / 12 + 1e-6);
    }
  });

  it('one stop lies near the middle', () => {
    const [[x, y]] = places(gridStops(quarterSection, 1).xy);
    expect(Math.hypot(x - QUARTER_SECTION_M / 2, y - QUARTER_SECTION_M / 2)).toBeLessThan(
      0.15 * QUARTER_SECTION_M,
    );
  });

  it('the lattice follows the field’s long side', () => {
    const strip: Region = [
      [
        [
          [0, 0],
          [900, 0],
          [900, 200],
          [0, 200],
          [0, 0],
        ],
      ],
    ];
    for (const angle of [0, 0.3, 1.2])
      expectWithin(Math.sin(mainDirection(turned(strip, angle)) - angle), 0, 1e-9);
    expectWithin(Math.sin(mainDirection(turned(strip, Math.PI / 2)) - Math.PI / 2), 0, 1e-9);
  });

  it('points of a lattice: one for each cell of the area', () => {
    const xy = latticePoints(squareOfArea(100), 100, 0.5, 0.5, 0.5);
    expectRelative(xy.length / 2, 100, 0.05);
  });
});

/** A ragged field with two holes and a part of its own. */
const ragged: Region = (() => {
  const ring = (cx: number, cy: number, radiusM: number, corners: number) => {
    const out = Array.from({ length: corners }, (_, i) => {
      const turn = (2 * Math.PI * i) / corners;
      const r = radiusM * (1 + 0.25 * Math.sin(3 * turn) + 0.08 * Math.sin(17 * turn));
      return [cx + r * Math.cos(turn), cy + r * Math.sin(turn)] as const;
    });
    return [...out, out[0]];
  };
  return [[ring(0, 0, 600, 200), ring(150, 80, 90, 30), ring(-250, -60, 60, 12)], [ring(1000, 100, 160, 40)]];
})();

const shapes: readonly GridShape[] = ['square', 'triangular', 'rectangular', 'coverage'];

describe('placements', () => {
  const anyPlacing = fc.record({
    region: fc.constantFrom(ragged, withHole, turned(lShape, 0.4), quarterSection),
    stops: fc.integer({ min: 1, max: 120 }),
    elongation: fc.double({ min: 1, max: 3, noNaN: true }),
    directionDeg: fc.double({ min: 0, max: 180, noNaN: true }),
    insetM: fc.constantFrom(0, 5, 12),
  });

  it('each has exactly the stops asked for, inside, clear of the edge, apart, and none by chance', () => {
    fc.assert(
      fc.property(anyPlacing, ({ region, stops, ...options }) => {
        const all = placements(region, stops, options);
        expect(all.map((p) => p.shape)).toContain('coverage');
        expect(new Set(all.map((p) => p.shape)).size).toBe(all.length);
        for (const { xy, shape, placed, spacingM } of all) {
          expect(placed).toBe(shape === 'coverage' ? 'coverage' : 'lattice');
          expect(xy).toHaveLength(2 * stops);
          for (const p of places(xy)) {
            expect(regionContains(region, p), `${shape}: ${p}`).toBe(true);
            expect(distanceToEdgeM(region, p)).toBeGreaterThanOrEqual(options.insetM * (1 - 1e-6));
          }
          // Across the direction an elongated grid is narrower by √elongation; stops at an edge are moved a little.
          const least = shape === 'coverage' ? 0.45 : 0.93;
          const narrow = shape === 'square' ? 1 : Math.sqrt(options.elongation);
          if (stops > 1)
            expect(Math.min(...gaps(xy))).toBeGreaterThan((least * spacingM) / narrow - 3 * options.insetM);
        }
        expect(placements(region, stops, options)).toEqual(all);
      }),
      { numRuns: 30 },
    );
  });

  it('each is what the grid of that shape is; where a lattice does not fit, the grid is spread by coverage', () => {
    const spread = new Set<string>();
    for (const stops of [3, 11, 31, 32, 57]) {
      const options = { elongation: 1.7, directionDeg: 20, insetM: 5 };
      const all = placements(quarterSection, stops, options);
      for (const shape of shapes) {
        const grid = gridStops(quarterSection, stops, { ...options, shape });
        const own = all.find((p) => p.shape === shape);
        expect(grid).toEqual(own ?? all.find((p) => p.shape === 'coverage'));
        if (!own) spread.add(shape);
      }
    }
    expect(spread).toContain('square');
  });

  it('a rectangle that would be a square is left out; only the shapes asked for are laid', () => {
    expect(placements(quarterSection, 64).map((p) => p.shape)).not.toContain('rectangular');
    expect(placements(quarterSection, 72, { elongation: 2 }).map((p) => p.shape)).toContain('rectangular');
    const some = placements(quarterSection, 64, { shapes: ['coverage', 'square'] });
    expect(some.map((p) => p.shape)).toEqual(['coverage', 'square']);
  });

  it('a triangular grid in a wide field: six neighbours about equally far, some 7 % farther than in the square one', () => {
    const { xy, shape, spacingM } = gridStops(quarterSection, 100, { shape: 'triangular' });
    expect(shape).toBe('triangular');
    const own = places(xy);
    // Stretched by 6 % at most along and across; the next shell is √3 times as far.
    const near = own.map(([x, y]) =>
      own.map(([u, v]) => Math.hypot(u - x, v - y) / (1.0746 * spacingM)).filter((d) => d > 0 && d < 1.3),
    );
    for (const d of near.flat()) expectWithin(d, 1, 0.062);
    expect(Math.max(...near.map((n) => n.length))).toBe(6);
    expect(near.filter((n) => n.length === 6).length).toBeGreaterThan(50);
  });

  it('a rectangular grid: the long side along the bearing asked for', () => {
    const field = turned(quarterSection, 0.3);
    const { xy, shape, spacingM } = gridStops(field, 80, {
      shape: 'rectangular',
      elongation: 2.25,
      directionDeg: 40,
    });
    expect(shape).toBe('rectangular');
    const turn = (40 * Math.PI) / 180;
    const own = places(xy);
    const least = Math.min(...gaps(xy));
    expectRelative(least, spacingM / 1.5, 0.065);
    // The nearest stop lies across; one alone in a corner has none there.
    let across = 0;
    for (const [x, y] of own) {
      const beside = own.find(([u, v]) => Math.abs(Math.hypot(u - x, v - y) - least) < 1e-6);
      if (!beside) continue;
      across++;
      expectWithin((beside[0] - x) * Math.sin(turn) + (beside[1] - y) * Math.cos(turn), 0, 1e-6);
    }
    expect(across).toBeGreaterThan(75);
  });

  it('an elongated coverage lies closer across than along', () => {
    const options = { shape: 'coverage' as const, elongation: 3, directionDeg: 0 };
    const { xy } = gridStops(quarterSection, 60, options);
    const plain = gridStops(quarterSection, 60, { shape: 'coverage' });
    const across = (grid: Float64Array) => {
      const offsets = places(grid).map(([x, y], i) => {
        const nearest = places(grid)
          .filter((_, j) => j !== i)
          .sort((p, q) => Math.hypot(p[0] - x, p[1] - y) - Math.hypot(q[0] - x, q[1] - y))[0];
        return Math.abs(nearest[0] - x) > Math.abs(nearest[1] - y) ? 1 : 0;
      });
      return offsets.reduce<number>((s, v) => s + v, 0) / offsets.length;
    };
    expect(across(xy)).toBeGreaterThan(0.9);
    expect(across(plain.xy)).toBeLessThan(0.8);
  });

  it('64 in a quarter section lie half a step from every side to the millimetre', () => {
    const step = QUARTER_SECTION_M / 8;
    const values = places(gridStops(quarterSection, 64).xy).flat();
    expectWithin(Math.min(...values), step / 2, 1e-3);
    expectWithin(Math.max(...values), QUARTER_SECTION_M - step / 2, 1e-3);
  });

  it('a strip narrower than the inset keeps its stops where they are', () => {
    const strip: Region = [
      [
        [
          [0, 0],
          [400, 0],
          [400, 6],
          [0, 6],
          [0, 0],
        ],
      ],
    ];
    const { xy } = gridStops(strip, 5, { insetM: 8 });
    for (const p of places(xy)) expect(regionContains(strip, p)).toBe(true);
  });

  it('an elongation under 1 is refused', () => {
    expect(() => gridStops(quarterSection, 9, { elongation: 0.5 })).toThrow('1 or more, not 0.5');
    expect(() => placements(quarterSection, 9, { elongation: NaN })).toThrow(RangeError);
  });
});
