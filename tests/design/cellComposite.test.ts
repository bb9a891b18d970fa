import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  cellCores,
  cellMeanCovariances,
  gridCellCores,
  gridStops,
  nearestStops,
} from '../../src/design/index.ts';
import { seededRandom } from '../../src/describe/index.ts';
import { rasterNodes, regionContains, spreadNodes, squareOfArea } from '../../src/field/index.ts';
import { choleskyInPlace, correlation, stretched } from '../../src/variogram/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { horseshoe, lShape, quarterSection, turned, withHole } from './shapes.ts';

const places = (xy: Float64Array) =>
  Array.from({ length: xy.length / 2 }, (_, i) => [xy[2 * i], xy[2 * i + 1]] as const);

/** Estimation variance of a region's mean by the mean of points: C̄(p,p) − 2C̄(p,V) + C̄(V,V). */
function varianceAboutMean(nodes: Float64Array, ground: (h: number) => number) {
  const within = cellMeanCovariances([nodes], new Float64Array(), ground).between[0];
  return (points: Float64Array) => {
    const { between, toNodes } = cellMeanCovariances([points], nodes, ground);
    return between[0] - (2 * toNodes.reduce((s, c) => s + c, 0)) / toNodes.length + within;
  };
}

// Webster & Burgess 1984, Journal of Soil Science 35: 127-140.
describe('cores of a cell’s composite', () => {
  const square = squareOfArea(1);

  it.each([4, 9, 16, 25])('%d in a square: the centred grid of interval side/√cores', (cores) => {
    const { nodes } = rasterNodes(square, 3600);
    const [own] = cellCores(square, nodes, new Int32Array(nodes.length / 2), 1, cores);
    const side = Math.sqrt(cores);
    const wanted = Array.from({ length: cores }, (_, i) => [
      (100 * ((i % side) + 0.5)) / side - 50,
      (100 * (Math.floor(i / side) + 0.5)) / side - 50,
    ]);
    for (const [x, y] of wanted)
      expect(Math.min(...places(own).map((p) => Math.hypot(p[0] - x, p[1] - y)))).toBeLessThan(1);
  });

  it.each([4, 5, 8, 10, 20])('%d err less about the cell’s mean than as many at random', (cores) => {
    const ground = (h: number) => correlation('spherical', 150, h);
    const { nodes } = rasterNodes(square, 900);
    const [own] = cellCores(square, nodes, new Int32Array(nodes.length / 2), 1, cores);
    const random = seededRandom(cores);
    const about = varianceAboutMean(nodes, ground);
    const ours = about(own);
    let sum = 0;
    for (let k = 0; k < 20; k++) {
      const strewn = Float64Array.from({ length: 2 * cores }, () => 100 * random() - 50);
      sum += about(strewn) / 20;
    }
    expect(ours).toBeGreaterThan(0);
    expect(ours).toBeLessThan(0.5 * sum);
  });

  it.each([
    ['a square', quarterSection, 16, 9],
    ['an L askew', turned(lShape, 0.6), 13, 8],
    ['a field with a hole', withHole, 20, 10],
    ['a horseshoe', horseshoe, 7, 12],
  ] as const)('%s: so many in each cell, inside it and spread over it', (_, region, stops, cores) => {
    const { xy, spacingM } = gridStops(region, stops);
    const all = gridCellCores(region, xy, cores);
    expect(all).toHaveLength(stops);
    all.forEach((own, cell) => {
      expect(own).toHaveLength(2 * cores);
      // A middle within half a raster step of the cell's border may lie across it.
      const labels = nearestStops(own, xy);
      for (const [i, p] of places(own).entries()) {
        expect(regionContains(region, p)).toBe(true);
        const [toOwn, toNearest] = [cell, labels[i]].map((s) =>
          Math.hypot(p[0] - xy[2 * s], p[1] - xy[2 * s + 1]),
        );
        expect(toOwn - toNearest).toBeLessThan(0.1 * spacingM);
      }
      for (const [i, p] of places(own).entries())
        for (const q of places(own).slice(0, i))
          expect(Math.hypot(p[0] - q[0], p[1] - q[1])).toBeGreaterThan((0.3 * spacingM) / Math.sqrt(cores));
    });
    expect(gridCellCores(region, xy, cores)).toEqual(all);
  });

  it('whole cells of a square grid lying askew have the centred grid too', () => {
    const region = turned(quarterSection, 0.4);
    const { xy, spacingM, shape } = gridStops(region, 16);
    expect(shape).toBe('square');
    const [c, s] = [Math.cos(0.4), Math.sin(0.4)];
    gridCellCores(region, xy, 9).forEach((own, cell) => {
      for (const [i, j] of [-1, 0, 1].flatMap((a) => [-1, 0, 1].map((b) => [a, b]))) {
        const x = xy[2 * cell] + ((c * i - s * j) * spacingM) / 3;
        const y = xy[2 * cell + 1] + ((s * i + c * j) * spacingM) / 3;
        const miss = Math.min(...places(own).map((p) => Math.hypot(p[0] - x, p[1] - y)));
        expect(miss).toBeLessThan(0.06 * spacingM);
      }
    });
  });

  it('a cell of few nodes takes them in turn; one of none has no cores', () => {
    const nodes = Float64Array.of(0, 0, 10, 0);
    const [one, empty] = cellCores(square, nodes, [0, 0], 2, 3);
    expect([...one]).toEqual([0, 0, 10, 0, 0, 0]);
    expect(empty).toHaveLength(0);
    expect(() => cellMeanCovariances([one, empty], nodes, () => 1)).toThrow('Cell 1 has no cores');
  });
});

describe('covariances of cell composites', () => {
  const anyCores = fc
    .record({ cells: fc.integer({ min: 1, max: 5 }), seed: fc.integer({ min: 1, max: 1e6 }) })
    .map(({ cells, seed }) => {
      const random = seededRandom(seed);
      return Array.from({ length: cells }, () =>
        Float64Array.from({ length: 2 * (1 + Math.floor(6 * random())) }, () => 300 * random()),
      );
    });
  const anyGround = fc
    .tuple(
      fc.constantFrom('spherical' as const, 'exponential' as const),
      fc.double({ min: 30, max: 900, noNaN: true }),
    )
    .map(
      ([kind, range]) =>
        (h: number) =>
          0.7 * correlation(kind, range, h),
    );

  it('are the means over all pairs of cores, in a stretched plane too', () => {
    fc.assert(
      fc.property(
        anyCores,
        anyGround,
        fc.constantFrom(undefined, { ratio: 0.4, directionDeg: 70 }),
        (cores, ground, anisotropy) => {
          const nodes = Float64Array.from(spreadNodes(squareOfArea(4), 12), (c) => c + 150);
          const { between, toNodes } = cellMeanCovariances(cores, nodes, ground, { anisotropy });
          const h = (a: readonly [number, number], b: readonly [number, number]) => {
            const [dx, dy] = stretched(Float64Array.of(a[0] - b[0], a[1] - b[1]), anisotropy);
            return Math.hypot(dx, dy);
          };
          cores.forEach((a, i) => {
            cores.forEach((b, j) => {
              const pairs = places(a).flatMap((p) => places(b).map((q) => ground(h(p, q))));
              const mean = pairs.reduce((s, c) => s + c, 0) / pairs.length;
              expectWithin(between[i * cores.length + j], mean, 1e-10);
            });
            places(nodes).forEach((x, k) => {
              const to = places(a).map((p) => ground(h(p, x)));
              const mean = to.reduce((s, c) => s + c, 0) / to.length;
              expectWithin(toNodes[i * 12 + k], mean, 1e-10);
            });
          });
        },
      ),
      { numRuns: 40 },
    );
  });

  it('with blocks: the mean over a fine raster of each', () => {
    fc.assert(
      fc.property(anyCores, anyGround, (cores, ground) => {
        const nodes = Float64Array.of(40, 60, 150, 150, 290, 20);
        const { toNodes } = cellMeanCovariances(cores, nodes, ground, { blockM: 18 });
        cores.forEach((own, i) => {
          for (let k = 0; k < 3; k++) {
            let sum = 0;
            for (const [x, y] of places(own))
              for (let a = 0; a < 24; a++)
                for (let b = 0; b < 24; b++)
                  sum += ground(
                    Math.hypot(
                      nodes[2 * k] + ((a + 0.5) / 24 - 0.5) * 18 - x,
                      nodes[2 * k + 1] + ((b + 0.5) / 24 - 0.5) * 18 - y,
                    ),
                  );
            expectWithin(toNodes[3 * i + k], sum / 576 / (own.length / 2), 2e-3);
          }
        });
      }),
      { numRuns: 20 },
    );
  });

  it('are those of possible values: positive definite with any noise, and never above a core’s own', () => {
    const { xy } = gridStops(lShape, 20);
    const cores = gridCellCores(lShape, xy, 6);
    const ground = (h: number) => correlation('exponential', 300, h);
    const { between, toNodes } = cellMeanCovariances(cores, spreadNodes(lShape, 50), ground, { blockM: 18 });
    for (let i = 0; i < 20; i++) {
      expect(between[i * 20 + i]).toBeLessThan(1);
      expect(between[i * 20 + i]).toBeGreaterThan(1 / 6);
      for (let j = 0; j < 20; j++) expectRelative(between[i * 20 + j], between[j * 20 + i], 1e-15);
    }
    expect(toNodes.every((c) => c > 0 && c < 1)).toBe(true);
    const noisy = between.slice();
    for (let i = 0; i < 20; i++) noisy[i * 20 + i] += 1e-6;
    expect(choleskyInPlace(noisy, 20)).toBe(true);
  });
});
