import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { centresInside, spatialCoverage } from '../../src/design/index.ts';
import { areaHa, rasterNodes, regionContains } from '../../src/field/index.ts';
import { moments, seededRandom } from '../../src/describe/index.ts';
import { horseshoe, lShape, quarterSection } from './shapes.ts';

const shares = (labels: Int32Array, k: number) =>
  Array.from({ length: k }, (_, z) => labels.filter((l) => l === z).length / labels.length);

// Walvoort, Brus & de Gruijter 2010, Computers & Geosciences 36: 1261-1267.
describe('spatial coverage', () => {
  const { nodes } = rasterNodes(quarterSection, 2500);

  it.each([
    ['a square', quarterSection],
    ['an L', lShape],
  ])(
    '%s: the mean squared distance falls with the number of strata, never under the hexagons’',
    (_, region) => {
      const raster = rasterNodes(region, 2500).nodes;
      const areaM2 = areaHa(region) * 10_000;
      let before = Infinity;
      for (const k of [1, 2, 3, 4, 6, 9, 12, 16, 25, 40, 64]) {
        const { meanSquaredDistance } = spatialCoverage(raster, k);
        expect(meanSquaredDistance).toBeLessThan(before);
        // Fejes Tóth 1953: no k cells of an area do better than k hexagons, 5/(18√3) of a cell's area each (from memory).
        expect((meanSquaredDistance * k) / areaM2).toBeGreaterThan((5 / (18 * Math.sqrt(3))) * 0.97);
        if (k >= 9) expect((meanSquaredDistance * k) / areaM2).toBeLessThan(0.19);
        before = meanSquaredDistance;
      }
    },
  );

  it.each([4, 9, 16, 25, 40])('%d strata of a square are about equal in area', (k) => {
    const { mean, sd, min, max } = moments(shares(spatialCoverage(nodes, k).labels, k));
    expect(sd / mean).toBeLessThan(0.25);
    expect(min).toBeGreaterThan(0.5 / k);
    expect(max).toBeLessThan(1.7 / k);
  });

  it('every node belongs to its nearest centre, and every centre is the middle of its own', () => {
    const { labels, centres } = spatialCoverage(nodes, 7);
    const sums = Array.from({ length: 7 }, () => ({ x: 0, y: 0, n: 0 }));
    labels.forEach((own, i) => {
      const [x, y] = [nodes[2 * i], nodes[2 * i + 1]];
      const d = Array.from({ length: 7 }, (_, c) => Math.hypot(x - centres[2 * c], y - centres[2 * c + 1]));
      // The last round moves the centres once more, by less than a raster cell.
      expect(d[own]).toBeLessThan(Math.min(...d) + 16);
      sums[own].x += x;
      sums[own].y += y;
      sums[own].n++;
    });
    sums.forEach(({ x, y, n }, c) => {
      expect(Math.hypot(x / n - centres[2 * c], y / n - centres[2 * c + 1])).toBeLessThan(1e-6);
    });
  });

  it('no chance is involved', () => {
    expect(spatialCoverage(nodes, 11)).toEqual(spatialCoverage(nodes, 11));
  });

  it('centres of bent strata are brought inside', () => {
    const raster = rasterNodes(horseshoe, 1500).nodes;
    const one = spatialCoverage(raster, 1);
    expect(regionContains(horseshoe, [one.centres[0], one.centres[1]])).toBe(false);
    for (const k of [1, 2, 3, 8]) {
      const inside = centresInside(raster, spatialCoverage(raster, k));
      expect(inside).toHaveLength(2 * k);
      for (let c = 0; c < k; c++)
        expect(regionContains(horseshoe, [inside[2 * c], inside[2 * c + 1]])).toBe(true);
    }
  });

  it('more centres than nodes are refused', () => {
    expect(() => spatialCoverage(nodes.slice(0, 6), 4)).toThrow(RangeError);
    expect(spatialCoverage(nodes.slice(0, 6), 3).meanSquaredDistance).toBe(0);
  });

  it('labels and centres are those of Lloyd’s iterations done in full', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 40 }),
        fc.integer({ min: 1, max: 1e6 }),
        fc.constantFrom(lShape, horseshoe, quarterSection),
        (k, seed, region) => {
          const raster = rasterNodes(region, 700).nodes;
          const n = raster.length / 2;
          const random = seededRandom(seed);
          // Nodes of the raster, so that no centre is without any at the start.
          const first = new Set<number>();
          while (first.size < k) first.add(Math.floor(random() * n));
          const start = Float64Array.from([...first].flatMap((i) => [raster[2 * i], raster[2 * i + 1]]));
          const { labels, centres } = spatialCoverage(raster, k, start);
          const plain = start.slice();
          const own = new Int32Array(n);
          for (let round = 0; round < 60; round++) {
            const sums = new Float64Array(3 * k);
            let moved = 0;
            for (let i = 0; i < n; i++) {
              let [best, least] = [0, Infinity];
              for (let c = 0; c < k; c++) {
                const d = (raster[2 * i] - plain[2 * c]) ** 2 + (raster[2 * i + 1] - plain[2 * c + 1]) ** 2;
                if (d < least) [best, least] = [c, d];
              }
              if (round === 0 || own[i] !== best) moved++;
              own[i] = best;
              sums[3 * best] += raster[2 * i];
              sums[3 * best + 1] += raster[2 * i + 1];
              sums[3 * best + 2]++;
            }
            for (let c = 0; c < k; c++)
              plain.set([sums[3 * c] / sums[3 * c + 2], sums[3 * c + 1] / sums[3 * c + 2]], 2 * c);
            if (moved === 0) break;
          }
          expect(labels).toEqual(own);
          expect(centres).toEqual(plain);
        },
      ),
      { numRuns: 25 },
    );
  });

  it('a centre that starts far from all ground still gets its share', () => {
    const start = Float64Array.of(100, 100, 700, 700, 1e5, 1e5, -1e5, 0);
    const { labels } = spatialCoverage(nodes, 4, start);
    for (const share of shares(labels, 4)) expect(share).toBeGreaterThan(0.1);
  });
});
