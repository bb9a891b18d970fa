import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  angleOfBearing,
  elongated,
  elongationFor,
  countOnLattice,
  pointsOfLattice,
  rectangularBasis,
  squareBasis,
  triangularBasis,
  type LatticeBasis,
} from '../../src/design/index.ts';
import { regionContains, squareOfArea, type Region } from '../../src/field/index.ts';
import { insideTest } from '../../src/field/inside.ts';
import { stretched } from '../../src/variogram/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { horseshoe, lShape, turned, withHole } from './shapes.ts';

const cellArea = ({ u, v }: LatticeBasis) => Math.abs(u[0] * v[1] - u[1] * v[0]);
const lengths = ({ u, v }: LatticeBasis, around = 2) => {
  const out: number[] = [];
  for (let i = -around; i <= around; i++)
    for (let j = -around; j <= around; j++)
      if (i !== 0 || j !== 0) out.push(Math.hypot(i * u[0] + j * v[0], i * u[1] + j * v[1]));
  return out.sort((a, b) => a - b);
};

const anyAngle = fc.double({ min: -4, max: 4, noNaN: true });
const anyArea = fc.double({ min: 100, max: 1e5, noNaN: true });
const anyElongation = fc.double({ min: 1, max: 5, noNaN: true });
const anyBasis = fc.oneof(
  fc.tuple(anyArea, anyAngle).map(([a, t]) => squareBasis(Math.sqrt(a), t)),
  fc.tuple(anyArea, anyAngle).map(([a, t]) => triangularBasis(a, t)),
  fc.tuple(anyArea, anyElongation, anyAngle).map(([a, e, t]) => rectangularBasis(a, e, t)),
);

describe('lattices', () => {
  it('each has one point to the area it is told', () => {
    fc.assert(
      fc.property(anyArea, anyElongation, anyAngle, anyAngle, (area, elongation, a, b) => {
        expectRelative(cellArea(squareBasis(Math.sqrt(area), a)), area, 1e-9);
        expectRelative(cellArea(triangularBasis(area, a)), area, 1e-9);
        expectRelative(cellArea(rectangularBasis(area, elongation, a)), area, 1e-9);
        expectRelative(cellArea(elongated(triangularBasis(area, a), elongation, b)), area, 1e-9);
      }),
    );
  });

  it('nearest neighbours: four in the square, six in the triangular lattice, 7 % farther', () => {
    const square = lengths(squareBasis(100, 0.3));
    const triangle = lengths(triangularBasis(10_000, 0.3));
    for (const d of square.slice(0, 4)) expectRelative(d, 100, 1e-12);
    expect(square[4]).toBeGreaterThan(141);
    for (const d of triangle.slice(0, 6)) expectRelative(d, 100 * Math.sqrt(2 / Math.sqrt(3)), 1e-12);
    expect(triangle[6]).toBeGreaterThan(180);
  });

  it('a rectangle’s long side lies along its direction, a bearing clockwise from north', () => {
    const { u, v } = rectangularBasis(10_000, 4, angleOfBearing(30));
    expectRelative(Math.hypot(...u), 200, 1e-12);
    expectRelative(Math.hypot(...v), 50, 1e-12);
    expectRelative(u[0], 200 * Math.sin(Math.PI / 6), 1e-12);
    expectRelative(u[1], 200 * Math.cos(Math.PI / 6), 1e-12);
    expectWithin(u[0] * v[0] + u[1] * v[1], 0, 1e-9);
  });

  it('an elongated lattice is the plain one in the plane where variation is alike in all directions', () => {
    fc.assert(
      fc.property(
        anyArea,
        fc.double({ min: 0.2, max: 1, noNaN: true }),
        fc.double({ min: 0, max: 180, noNaN: true }),
        anyAngle,
        (area, ratio, directionDeg, turn) => {
          const anisotropy = { ratio, directionDeg };
          const angle = angleOfBearing(directionDeg);
          for (const plain of [squareBasis(Math.sqrt(area), angle), triangularBasis(area, turn)]) {
            const { u, v } = elongated(plain, elongationFor(anisotropy), angle);
            const [ux, uy, vx, vy] = stretched(Float64Array.of(...u, ...v), anisotropy);
            // The plane is 1/ratio as wide, so all lengths there are √(1/ratio) times the plain ones.
            const there = lengths({ u: [ux, uy], v: [vx, vy] });
            lengths(plain).forEach((d, i) => expectRelative(there[i], d / Math.sqrt(ratio), 1e-6));
          }
        },
      ),
    );
  });

  const regions: readonly (readonly [string, Region])[] = [
    ['an L askew', turned(lShape, 0.7)],
    ['a field with a hole', withHole],
    ['a horseshoe', horseshoe],
    [
      'two parts',
      [
        ...lShape,
        ...turned(withHole, 0.2).map((rings) =>
          rings.map((r) => r.map(([x, y]) => [x + 900, y - 300] as const)),
        ),
      ],
    ],
  ];
  it.each(regions)('%s: the points inside are those found far and wide', (_, region) => {
    fc.assert(
      fc.property(
        anyBasis,
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        ({ u, v }, offsetU, offsetV) => {
          fc.pre(cellArea({ u, v }) > 2000);
          const xy = pointsOfLattice(region, { u, v }, offsetU, offsetV, insideTest(region));
          const xs = region.flatMap(([outer]) => outer.map((p) => p[0]));
          const ys = region.flatMap(([outer]) => outer.map((p) => p[1]));
          const [cx, cy] = [xs, ys].map((c) => (Math.min(...c) + Math.max(...c)) / 2);
          const found: string[] = [];
          for (let j = -60; j <= 60; j++)
            for (let i = -60; i <= 60; i++) {
              const x = cx + offsetU * u[0] + offsetV * v[0] + i * u[0] + j * v[0];
              const y = cy + offsetU * u[1] + offsetV * v[1] + i * u[1] + j * v[1];
              if (regionContains(region, [x, y])) found.push(`${x.toFixed(4)} ${y.toFixed(4)}`);
            }
          const ours = Array.from({ length: xy.length / 2 }, (_, i) =>
            [xy[2 * i], xy[2 * i + 1]].map((c) => c.toFixed(4)).join(' '),
          );
          expect(ours).toEqual(found);
        },
      ),
      { numRuns: 12 },
    );
  });

  it.each(regions)('%s: the points are counted without looking at each', (_, region) => {
    const inside = insideTest(region);
    let told = 0;
    fc.assert(
      fc.property(
        anyBasis,
        fc.integer({ min: 1, max: 999 }),
        fc.integer({ min: 1, max: 999 }),
        ({ u, v }, thousandthsU, thousandthsV) => {
          const [offsetU, offsetV] = [thousandthsU / 1000, thousandthsV / 1000];
          fc.pre(cellArea({ u, v }) > 2000);
          const count = countOnLattice(region, { u, v }, offsetU, offsetV);
          if (count === undefined) return;
          told++;
          expect(count).toBe(pointsOfLattice(region, { u, v }, offsetU, offsetV, inside).length / 2);
        },
      ),
    );
    expect(told).toBeGreaterThan(10);
  });

  it('a point on the very edge: cannot tell', () => {
    const basis = squareBasis(50, 0);
    expect(countOnLattice(squareOfArea(1), basis, 0, 0)).toBeUndefined();
    expect(countOnLattice(squareOfArea(1), basis, 0.3, 0.4)).toBe(4);
  });
});

describe('elongation', () => {
  it('the greatest range over the least; 1 where all directions are alike', () => {
    expect(elongationFor(undefined)).toBe(1);
    expectRelative(elongationFor({ ratio: 0.4, directionDeg: 10 }), 2.5, 1e-12);
  });
});
