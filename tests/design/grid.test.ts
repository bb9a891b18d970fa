import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  gridCandidates,
  gridStops,
  latticePoints,
  mainDirection,
  nominalStops,
} from '../../src/design/index.ts';
import { areaHa, regionContains, squareOfArea, type Region } from '../../src/field/index.ts';
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
