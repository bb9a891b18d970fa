import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/describe/index.ts';
import { compositeSamples, ordinaryKriging, pointSamples } from '../../src/krige/index.ts';
import { correlation } from '../../src/variogram/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

const kinds = ['spherical', 'exponential'] as const;
const quiet = { coreVariance: 0, labVariance: 0 };

// Journel & Huijbregts 1978, Mining Geostatistics: regularisation.
describe('composites of cores within a circle', () => {
  it.each(kinds)('%s: circle averages as Monte Carlo has them', (kind) => {
    const random = seededRandom(7);
    const draws = 15_000;
    const inCircle = (r: number): [number, number] => {
      const [rho, a] = [r * Math.sqrt(random()), 2 * Math.PI * random()];
      return [rho * Math.cos(a), rho * Math.sin(a)];
    };
    for (const [radiusM, rangeM] of [
      [4.5, 60],
      [9, 300],
      [3, 27],
    ]) {
      const partialSill = 2.5;
      const cov = compositeSamples(kind, rangeM, partialSill, { radiusM, cores: 12, ...quiet });
      for (const radii of [0, 0.3, 1, 1.7, 2.3, 3.1, 3.9, 4.1, 5, 8]) {
        const h = radii * radiusM;
        let [both, one] = [0, 0];
        for (let i = 0; i < draws; i++) {
          const [x, y] = inCircle(radiusM);
          const [u, v] = inCircle(radiusM);
          both += correlation(kind, rangeM, Math.hypot(h + x - u, y - v)) / draws;
          one += correlation(kind, rangeM, Math.hypot(h + x, y)) / draws;
        }
        expectWithin(cov.between(h), partialSill * both, 1e-2 * partialSill, `circles ${h} m apart`);
        expectWithin(cov.toPoint(h), partialSill * one, 1e-2 * partialSill, `point at ${h} m`);
      }
    }
  });

  // Two random points of a disc are 128r / 45π apart in the mean, one and the centre 2r/3 (Santaló 1976).
  it.each([
    ['spherical', 1.5],
    ['exponential', 3],
  ] as const)('%s of a long range: mean distances in a disc', (kind, slope) => {
    const [r, range] = [10, 20_000];
    const cov = compositeSamples(kind, range, 1, { radiusM: r, cores: 9, ...quiet });
    expectRelative(((1 - cov.between(0)) * range) / slope / r, 128 / (45 * Math.PI), 0.02);
    expectRelative(((1 - cov.toPoint(0)) * range) / slope / r, 2 / 3, 0.02);
  });

  it.each(kinds)('%s: no circle, one core: a point sample', (kind) => {
    const point = pointSamples({ kind, nugget: 0.7, partialSill: 2, effectiveRangeM: 80 });
    const composite = compositeSamples(kind, 80, 2, {
      radiusM: 0,
      cores: 1,
      coreVariance: 0.5,
      labVariance: 0.2,
    });
    expectRelative(composite.variance, point.variance, 1e-14);
    for (const h of [0, 1, 10, 40, 79, 200]) {
      expect(composite.between(h)).toBe(point.between(h));
      expect(composite.toPoint(h)).toBe(point.toPoint(h));
      expect(composite.ground(h)).toBe(point.ground(h));
    }
  });

  it.each(kinds)('%s: a small circle comes to the point', (kind) => {
    const small = compositeSamples(kind, 80, 2, { radiusM: 0.01, cores: 4, ...quiet });
    for (const h of [0, 0.02, 1, 40, 79]) {
      expectWithin(small.between(h), 2 * correlation(kind, 80, h), 1e-3);
      expectWithin(small.toPoint(h), 2 * correlation(kind, 80, h), 1e-3);
    }
    expectWithin(small.variance, 2, 1e-3);
  });

  it.each(kinds)('%s: many cores without noise vary as the circle’s mean', (kind) => {
    const at = (cores: number) => compositeSamples(kind, 80, 2, { radiusM: 9, cores, ...quiet });
    const limit = at(1).between(0);
    expect(limit).toBeLessThan(2);
    expectRelative(at(1).variance, 2, 1e-14);
    expectRelative(at(1e12).variance, limit, 1e-10);
    // What cores at random places add over the circle's mean falls as one over their number.
    for (const cores of [2, 5, 20]) expectRelative(at(cores).variance - limit, (2 - limit) / cores, 1e-10);
  });

  it('cores divide core-to-core variance and not laboratory error', () => {
    const at = (cores: number, coreVariance: number, labVariance: number) =>
      compositeSamples('exponential', 120, 1, { radiusM: 5, cores, coreVariance, labVariance }).variance;
    for (const cores of [1, 4, 16, 1000]) {
      expectRelative(at(cores, 0, 0.3) - at(cores, 0, 0), 0.3, 1e-12);
      expectRelative(at(cores, 0.8, 0) - at(cores, 0, 0), 0.8 / cores, 1e-9);
    }
    expect(at(1e9, 0.8, 0.3) - at(1e9, 0, 0)).toBeGreaterThan(0.3 - 1e-12);
  });

  it.each(kinds)('%s: no step at four radii where averages over points give way to the expansion', (kind) => {
    for (const radii of [2, 3, 4, 4.2, 4.5, 5, 6, 8, 10, 20, 50, 300]) {
      const r = 10;
      const cov = compositeSamples(kind, radii * r, 1, { radiusM: r, cores: 10, ...quiet });
      // The expansion does not know of the corner at the spherical's range, which costs 2 % when it falls here.
      const tolerance = kind === 'spherical' && radii > 3.5 && radii < 4.5 ? 0.025 : 0.01;
      for (const f of [cov.between, cov.toPoint])
        expectWithin(f(4 * r - 1e-7), f(4 * r + 1e-7), tolerance, `range of ${radii} radii`);
    }
  });

  // Just inside the range the expansion adds (3/4)(r/a)² of the sill, just outside nothing; the truth is between.
  it.each([8, 10, 20])(
    'spherical: the step at a range of %d radii is no more than the expansion’s own',
    (radii) => {
      const r = 10;
      const a = radii * r;
      const cov = compositeSamples('spherical', a, 1, { radiusM: r, cores: 10, ...quiet });
      expect(Math.abs(cov.between(a - 1e-7) - cov.between(a))).toBeLessThan((0.75 / radii ** 2) * 1.001);
      expect(Math.abs(cov.toPoint(a - 1e-7) - cov.toPoint(a))).toBeLessThan((0.375 / radii ** 2) * 1.001);
    },
  );

  it.each(kinds)('%s: covariances fall with distance', (kind) => {
    const cov = compositeSamples(kind, 200, 1, { radiusM: 8, cores: 10, ...quiet });
    for (const f of [cov.between, cov.toPoint])
      for (let h = 0; h < 190; h += 0.5) expect(f(h + 0.5)).toBeLessThanOrEqual(f(h) + 1e-3);
  });

  it.each(kinds)(
    '%s: kriging from composites is better than from single cores, worse than from noiseless circles',
    (kind) => {
      const stops: number[] = [];
      for (let j = -4; j < 4; j++) for (let i = -4; i < 4; i++) stops.push(70 * (i + 0.5), 70 * (j + 0.5));
      const variance = (radiusM: number, cores: number, coreVariance: number) =>
        ordinaryKriging(
          Float64Array.from(stops),
          undefined,
          Float64Array.of(0, 0),
          compositeSamples(kind, 250, 1, { radiusM, cores, coreVariance, labVariance: 0.01 }),
          { blockM: 18 },
        ).variances[0];
      const single = variance(0, 1, 0.4);
      const composite = variance(6, 10, 0.4);
      const noiseless = variance(6, 1e9, 0);
      expect(composite).toBeLessThan(single);
      expect(noiseless).toBeLessThan(composite);
      expect(noiseless).toBeGreaterThan(0);
    },
  );
});
