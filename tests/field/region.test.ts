import { describe, expect, it } from 'vitest';
import { polygonArea } from 'd3';
import {
  areaHa,
  distanceToEdgeM,
  regionAroundPoints,
  regionBounds,
  regionContains,
  squareOfArea,
  type Region,
  type Ring,
} from '../../src/field/index.ts';
import { seededRandom } from '../../src/describe/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { meuseLogZinc, oxfordXy } from '../reference/reference.ts';

const rectangle = (x: number, y: number, width: number, height: number): Ring => [
  [x, y],
  [x + width, y],
  [x + width, y + height],
  [x, y + height],
  [x, y],
];

/** A rectangle of 12 ha with a hole of 1 ha, and a piece of 2 ha apart from it. */
const region: Region = [
  [rectangle(0, 0, 400, 300), rectangle(100, 100, 100, 100)],
  [rectangle(500, 0, 200, 100)],
];

describe('regions', () => {
  it('area: pieces added, holes taken off, whichever way the rings run', () => {
    expectRelative(areaHa(region), 12 - 1 + 2, 1e-12);
    const turned: Region = region.map((polygon) => polygon.map((ring) => [...ring].reverse()));
    expectRelative(areaHa(turned), 13, 1e-12);
    expectRelative(areaHa([[region[0][0], [...region[0][1]].reverse()]]), 11, 1e-12);
    expect(areaHa([])).toBe(0);
  });

  it('contains: inside, in the hole, in the other piece, outside', () => {
    expect(regionContains(region, [50, 50])).toBe(true);
    expect(regionContains(region, [150, 150])).toBe(false);
    expect(regionContains(region, [210, 150])).toBe(true);
    expect(regionContains(region, [600, 50])).toBe(true);
    expect(regionContains(region, [450, 50])).toBe(false);
    expect(regionContains(region, [600, 150])).toBe(false);
  });

  it('the share of random positions inside is the share of the area', () => {
    const random = seededRandom(2);
    const draws = 20_000;
    let inside = 0;
    for (let i = 0; i < draws; i++) if (regionContains(region, [700 * random(), 300 * random()])) inside++;
    const share = 13 / 21;
    expectWithin(inside / draws, share, 4 * Math.sqrt((share * (1 - share)) / draws));
  });

  it('bounds', () => {
    expect(regionBounds(region)).toEqual({ minX: 0, minY: 0, maxX: 700, maxY: 300 });
  });

  it('distance to the edge: inside, outside, to a hole, past a corner', () => {
    expectRelative(distanceToEdgeM(region, [30, 150]), 30, 1e-12);
    expectRelative(distanceToEdgeM(region, [150, 140]), 40, 1e-12);
    expectRelative(distanceToEdgeM(region, [450, 50]), 50, 1e-12);
    expectRelative(distanceToEdgeM(region, [-30, -40]), 50, 1e-12);
    expectWithin(distanceToEdgeM(region, [400, 300]), 0, 1e-12);
  });

  it('a square of an area', () => {
    for (const hectares of [0.5, 10, 64.75]) {
      const square = squareOfArea(hectares);
      expectRelative(areaHa(square), hectares, 1e-12);
      const b = regionBounds(square);
      expectRelative(b.maxX - b.minX, b.maxY - b.minY, 1e-12);
      expectWithin(b.minX + b.maxX, 0, 1e-9);
      expect(regionContains(square, [0, 0])).toBe(true);
    }
  });
});

describe('a boundary around points', () => {
  const contained = (xy: Float64Array, around: Region) => {
    for (let i = 0; i < xy.length; i += 2) expect(regionContains(around, [xy[i], xy[i + 1]])).toBe(true);
  };

  it.each([
    ['oxford', oxfordXy],
    ['meuse', meuseLogZinc.xy],
  ])('%s: holds every point, with ground around the outer ones', (_, xy) => {
    const around = regionAroundPoints(xy);
    contained(xy, around);
    let nearest = Infinity;
    for (let i = 0; i < xy.length; i += 2)
      nearest = Math.min(nearest, distanceToEdgeM(around, [xy[i], xy[i + 1]]));
    expect(nearest).toBeGreaterThan(0.5 * Math.sqrt((areaHa(around) * 10_000) / (xy.length / 2)) * 0.5);
    const ring = around[0][0];
    expect(ring[0]).toEqual(ring[ring.length - 1]);
  });

  it('a lattice: the margin is half the side of the square a point stands for within the hull', () => {
    const xy: number[] = [];
    for (let j = 0; j < 5; j++) for (let i = 0; i < 5; i++) xy.push(60 * i, 60 * j);
    const around = regionAroundPoints(Float64Array.from(xy));
    const margin = Math.sqrt(240 ** 2 / 25) / 2;
    const b = regionBounds(around);
    for (const [actual, expected] of [
      [b.minX, -margin],
      [b.minY, -margin],
      [b.maxX, 240 + margin],
      [b.maxY, 240 + margin],
    ])
      expectRelative(actual, expected, 1e-12);
    // The four corners are cut: half a square of the margin each.
    expectRelative(areaHa(around), ((240 + 2 * margin) ** 2 - 2 * margin ** 2) / 10_000, 1e-12);
  });

  it('any points, some at one place: a finite convex ring that holds them', () => {
    const random = seededRandom(9);
    for (let t = 0; t < 200; t++) {
      const n = 4 + Math.floor(20 * random());
      const xy = new Float64Array(2 * n).map(() => 30 * Math.floor(9 * random()));
      xy.set([0, 0, 270, 0, 0, 300]);
      const around = regionAroundPoints(xy);
      contained(xy, around);
      const ring = around[0][0] as [number, number][];
      expect(ring.flat().every(Number.isFinite)).toBe(true);
      const turn = Math.sign(polygonArea(ring));
      for (let i = 2; i < ring.length; i++) {
        const [a, b, c] = ring.slice(i - 2, i + 1);
        const cross = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
        expect(-turn * cross).toBeGreaterThanOrEqual(-1e-6);
      }
    }
  });

  it.each([
    ['none', []],
    ['one', [3, 4]],
    ['two', [0, 0, 50, 50]],
    ['a row', [0, 0, 50, 0, 100, 0, 150, 0]],
    ['a slanting row', [0, 0, 30, 10, 60, 20, 90, 30, 300, 100]],
    ['one place', [7, 7, 7, 7, 7, 7]],
    ['a row far from the origin', [181_000, 333_000, 181_050, 333_010, 181_100, 333_020]],
  ])('refuses %s', (_, xy) => {
    expect(() => regionAroundPoints(Float64Array.from(xy))).toThrow(RangeError);
  });
});
