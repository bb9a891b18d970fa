import { describe, it } from 'vitest';
import { rasterNodes, spreadNodes, squareOfArea } from '../../src/field/index.ts';
import { meanCovariance } from '../../src/krige/index.ts';
import { correlation } from '../../src/variogram/index.ts';
import { seededRandom } from '../../src/describe/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

describe('mean covariance over a region', () => {
  const side = 300;
  const nodes = spreadNodes(squareOfArea(9), 1500);

  // Mean distance of two random points of a square: (2 + √2 + 5·ln(1 + √2)) / 15 sides (Ghosh 1951).
  it('integrates the mean distance in a square', () => {
    const published = (2 + Math.SQRT2 + 5 * Math.log(1 + Math.SQRT2)) / 15;
    expectRelative(
      meanCovariance(nodes, (h) => h / side),
      published,
      2e-3,
    );
    expectRelative(
      meanCovariance(rasterNodes(squareOfArea(9), 1600).nodes, (h) => h / side),
      published,
      5e-3,
    );
  });

  it.each(['spherical', 'exponential'] as const)('%s: as Monte Carlo has it', (kind) => {
    const random = seededRandom(4);
    const draws = 100_000;
    for (const range of [80, 200, 600]) {
      let [sum, squares] = [0, 0];
      for (let i = 0; i < draws; i++) {
        const c = correlation(
          kind,
          range,
          Math.hypot(side * (random() - random()), side * (random() - random())),
        );
        sum += c;
        squares += c * c;
      }
      const mean = sum / draws;
      const error = Math.sqrt((squares / draws - mean ** 2) / draws);
      // Distinct nodes leave out the closest pairs, about one in 1500.
      expectWithin(
        meanCovariance(nodes, (h) => correlation(kind, range, h)),
        mean,
        4 * error + 1e-3,
      );
    }
  });

  it('one node is a point', () => {
    expectRelative(
      meanCovariance(Float64Array.of(4, 5), (h) => 2 - h),
      2,
      1e-14,
    );
  });
});
