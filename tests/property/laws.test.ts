import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  areaHa,
  regionAroundPoints,
  regionContains,
  toLocal,
  toWorld,
  type Frame,
} from '../../src/field/index.ts';
import { compositeSamples, ordinaryKriging, pointSamples } from '../../src/krige/index.ts';
import {
  choleskyInPlace,
  experimentalVariogram,
  fitLeastSquares,
  prepareLikelihood,
  restrictedLogLikelihood,
  semivariance,
  solveLowerInPlace,
  solveUpperInPlace,
  type CorrelationParameters,
  type VariogramModel,
} from '../../src/variogram/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

const runs = { seed: 20_26, numRuns: 150 };

const kind = fc.constantFrom('spherical' as const, 'exponential' as const);
const between = (min: number, max: number) => fc.double({ min, max, noNaN: true });

const model: fc.Arbitrary<VariogramModel> = fc.record({
  kind,
  nugget: between(0.02, 3),
  partialSill: between(0.05, 5),
  effectiveRangeM: between(15, 900),
});

/** Distinct places on a 10 m lattice, with a value each. */
const samples = (minLength: number, maxLength = 25) =>
  fc
    .uniqueArray(
      fc.record({
        i: fc.integer({ min: 0, max: 40 }),
        j: fc.integer({ min: 0, max: 40 }),
        z: between(-50, 50),
      }),
      { minLength, maxLength, selector: ({ i, j }) => 41 * i + j },
    )
    .map((places) => ({
      xy: Float64Array.from(places.flatMap(({ i, j }) => [10 * i, 10 * j])),
      z: Float64Array.from(places, (p) => p.z),
    }));

const node = fc.tuple(between(-100, 500), between(-100, 500)).map(([x, y]) => Float64Array.of(x, y));
const blockM = fc.constantFrom(0, 18, 60);
const parameters: fc.Arbitrary<CorrelationParameters> = fc.record({
  kind,
  effectiveRangeM: between(15, 900),
  nuggetShare: between(0.02, 1),
});

/** Turned by an angle and moved. */
const moved = (xy: Float64Array, angle: number, dx: number, dy: number): Float64Array => {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  return xy.map((_, i) => {
    const [x, y] = i % 2 ? [xy[i - 1], xy[i]] : [xy[i], xy[i + 1]];
    return i % 2 ? s * x + c * y + dy : c * x - s * y + dx;
  });
};
const motion = fc.tuple(between(0, 2 * Math.PI), between(-1000, 1000), between(-1000, 1000));

describe('laws of ordinary kriging', () => {
  it('the variance is not negative, and no more than that of any sample taken alone', () => {
    fc.assert(
      fc.property(samples(1), node, model, ({ xy }, at, m) => {
        const cov = pointSamples(m);
        const [variance] = ordinaryKriging(xy, undefined, at, cov).variances;
        expect(variance).toBeGreaterThanOrEqual(-1e-9);
        let alone = Infinity;
        for (let i = 0; i < xy.length; i += 2)
          alone = Math.min(
            alone,
            m.partialSill - 2 * cov.toPoint(Math.hypot(xy[i] - at[0], xy[i + 1] - at[1])) + cov.variance,
          );
        expect(variance).toBeLessThanOrEqual(alone + 1e-9);
      }),
      runs,
    );
  });

  it('a further sample never raises it', () => {
    fc.assert(
      fc.property(samples(2), node, model, blockM, ({ xy }, at, m, side) => {
        const cov = pointSamples(m);
        const [all] = ordinaryKriging(xy, undefined, at, cov, { blockM: side }).variances;
        const [fewer] = ordinaryKriging(xy.slice(2), undefined, at, cov, { blockM: side }).variances;
        expect(all).toBeLessThanOrEqual(fewer + 1e-9);
      }),
      runs,
    );
  });

  it('more of the nearest never raise it', () => {
    fc.assert(
      fc.property(samples(6), node, model, fc.integer({ min: 1, max: 5 }), ({ xy }, at, m, few) => {
        const cov = pointSamples(m);
        const [near] = ordinaryKriging(xy, undefined, at, cov, { neighbours: few }).variances;
        const [nearer] = ordinaryKriging(xy, undefined, at, cov, { neighbours: few + 1 }).variances;
        expect(nearer).toBeLessThanOrEqual(near + 1e-9);
      }),
      runs,
    );
  });

  it('turning and moving everything changes nothing (points)', () => {
    fc.assert(
      fc.property(samples(2), node, model, motion, ({ xy, z }, at, m, [angle, dx, dy]) => {
        const cov = pointSamples(m);
        const here = ordinaryKriging(xy, z, at, cov);
        const there = ordinaryKriging(moved(xy, angle, dx, dy), z, moved(at, angle, dx, dy), cov);
        expectWithin(there.variances[0], here.variances[0], 1e-8);
        expectWithin(there.predictions[0], here.predictions[0], 1e-6);
      }),
      runs,
    );
  });

  it('moving everything changes nothing, nor does a quarter turn (blocks)', () => {
    fc.assert(
      fc.property(
        samples(2),
        node,
        model,
        motion,
        fc.integer({ min: 0, max: 3 }),
        ({ xy, z }, at, m, by, quarters) => {
          const cov = pointSamples(m);
          const [angle, dx, dy] = [(quarters * Math.PI) / 2, by[1], by[2]];
          const here = ordinaryKriging(xy, z, at, cov, { blockM: 30 });
          const there = ordinaryKriging(moved(xy, angle, dx, dy), z, moved(at, angle, dx, dy), cov, {
            blockM: 30,
          });
          // A sample at just four block sides may change from 16 points to 4.
          expectWithin(there.variances[0], here.variances[0], 1e-5);
          expectWithin(there.predictions[0], here.predictions[0], 1e-3);
        },
      ),
      runs,
    );
  });

  it('predictions are linear in the values and unbiased', () => {
    fc.assert(
      fc.property(
        samples(2),
        node,
        model,
        blockM,
        between(-5, 5),
        between(-100, 100),
        ({ xy, z }, at, m, side, c, d) => {
          const cov = pointSamples(m);
          const [p] = ordinaryKriging(xy, z, at, cov, { blockM: side }).predictions;
          const [q] = ordinaryKriging(
            xy,
            z.map((v) => c * v + d),
            at,
            cov,
            { blockM: side },
          ).predictions;
          expectWithin(q, c * p + d, 1e-8);
        },
      ),
      runs,
    );
  });

  it('scaling the variogram scales the variance and leaves the prediction', () => {
    fc.assert(
      fc.property(samples(2), node, model, between(0.01, 100), ({ xy, z }, at, m, c) => {
        const scaled = { ...m, nugget: c * m.nugget, partialSill: c * m.partialSill };
        const one = ordinaryKriging(xy, z, at, pointSamples(m));
        const other = ordinaryKriging(xy, z, at, pointSamples(scaled));
        expectWithin(other.variances[0] / c, one.variances[0], 1e-9);
        expectWithin(other.predictions[0], one.predictions[0], 1e-7);
      }),
      runs,
    );
  });

  it('more cores to a composite never raise it', () => {
    fc.assert(
      fc.property(samples(2, 12), node, model, fc.integer({ min: 1, max: 20 }), ({ xy }, at, m, cores) => {
        const spaced = xy.map((v) => 5 * v);
        const place = at.map((v) => 5 * v);
        const variance = (n: number) =>
          ordinaryKriging(
            spaced,
            undefined,
            place,
            compositeSamples(m.kind, 100 + m.effectiveRangeM, m.partialSill, {
              radiusM: 5,
              cores: n,
              coreVariance: m.nugget,
              labVariance: 0.01,
            }),
          ).variances[0];
        expect(variance(cores + 1)).toBeLessThanOrEqual(variance(cores) + 1e-9);
      }),
      runs,
    );
  });
});

describe('laws of the Cholesky factor', () => {
  const matrix = fc.integer({ min: 1, max: 12 }).chain((n) =>
    fc.record({
      n: fc.constant(n),
      b: fc.array(between(-3, 3), { minLength: n * n, maxLength: n * n }),
      x: fc.array(between(-10, 10), { minLength: n, maxLength: n }),
    }),
  );

  /** B Bᵀ + I, which is positive definite. */
  const positive = (n: number, b: readonly number[]) =>
    Float64Array.from({ length: n * n }, (_, k) => {
      const [i, j] = [Math.floor(k / n), k % n];
      let s = i === j ? 1 : 0;
      for (let l = 0; l < n; l++) s += b[i * n + l] * b[j * n + l];
      return s;
    });

  it('L Lᵀ is the matrix, and the two solves undo it', () => {
    fc.assert(
      fc.property(matrix, ({ n, b, x }) => {
        const a = positive(n, b);
        const l = a.slice();
        expect(choleskyInPlace(l, n)).toBe(true);
        for (let i = 0; i < n; i++)
          for (let j = 0; j < n; j++) {
            let s = 0;
            for (let k = 0; k <= Math.min(i, j); k++) s += l[i * n + k] * l[j * n + k];
            expectWithin(s, a[i * n + j], 1e-10 * (1 + Math.abs(a[i * n + j])));
            if (j > i) expect(l[i * n + j]).toBe(a[i * n + j]);
          }
        const y = Float64Array.from(x, (_, i) => x.reduce((s, v, j) => s + a[i * n + j] * v, 0));
        solveLowerInPlace(l, n, y);
        solveUpperInPlace(l, n, y);
        x.forEach((v, i) => expectWithin(y[i], v, 1e-8));
      }),
      runs,
    );
  });

  it('refuses what is not positive definite', () => {
    fc.assert(
      fc.property(matrix, fc.nat(), ({ n, b }, pick) => {
        const a = positive(n, b);
        const i = pick % n;
        a[i * n + i] = -0.5;
        expect(choleskyInPlace(a, n)).toBe(false);
      }),
      runs,
    );
    expect(choleskyInPlace(Float64Array.of(1, 1, 1, 1), 2)).toBe(false);
    expect(choleskyInPlace(Float64Array.of(NaN), 1)).toBe(false);
  });
});

describe('laws of the restricted likelihood', () => {
  it('does not see a shift of the values; the mean moves with it', () => {
    fc.assert(
      fc.property(samples(3), parameters, between(-1000, 1000), ({ xy, z }, how, shift) => {
        const p = prepareLikelihood(xy, z)(how)!;
        const q = prepareLikelihood(
          xy,
          z.map((v) => v + shift),
        )(how)!;
        expectWithin(restrictedLogLikelihood(q, 2), restrictedLogLikelihood(p, 2), 1e-6 * (1 + p.residualSS));
        expectWithin(q.mean, p.mean + shift, 1e-8);
      }),
      runs,
    );
  });

  it('values times c: residuals times c², and the density over c to the n − 1', () => {
    fc.assert(
      fc.property(samples(3), parameters, between(0.05, 20), ({ xy, z }, how, c) => {
        const p = prepareLikelihood(xy, z)(how)!;
        const q = prepareLikelihood(
          xy,
          z.map((v) => c * v),
        )(how)!;
        fc.pre(p.residualSS > 1e-6);
        expectRelative(q.residualSS, c * c * p.residualSS, 1e-9);
        expectWithin(
          restrictedLogLikelihood(q, 3 * c * c),
          restrictedLogLikelihood(p, 3) - (p.n - 1) * Math.log(c),
          1e-8 * (1 + p.residualSS),
        );
      }),
      runs,
    );
  });

  it('does not depend on order, place or heading, whole or by Vecchia with all neighbours', () => {
    fc.assert(
      fc.property(samples(3), parameters, motion, ({ xy, z }, how, [angle, dx, dy]) => {
        const n = z.length;
        const p = prepareLikelihood(xy, z)(how)!;
        const backwards = Float64Array.from(xy, (_, i) => xy[2 * (n - 1 - (i >> 1)) + (i % 2)]);
        for (const q of [
          prepareLikelihood(backwards, z.slice().reverse())(how)!,
          prepareLikelihood(moved(xy, angle, dx, dy), z)(how)!,
          prepareLikelihood(xy, z, { exactPoints: 0, neighbours: n - 1 })(how)!,
        ]) {
          expectWithin(q.logDet, p.logDet, 1e-8);
          expectWithin(q.mean, p.mean, 1e-7);
          expectWithin(q.residualSS, p.residualSS, 1e-7 * (1 + p.residualSS));
        }
      }),
      runs,
    );
  });
});

describe('laws of variograms', () => {
  it('turning and moving the points changes no bin', () => {
    fc.assert(
      fc.property(samples(2), motion, ({ xy, z }, [angle, dx, dy]) => {
        // Off the lattice's own distances, so that no pair sits on a bin's edge.
        const options = { cutoffM: 401.37, widthM: 43.19 };
        const here = experimentalVariogram(xy, z, options);
        const there = experimentalVariogram(moved(xy, angle, dx, dy), z, options);
        expect(there.map((b) => b.pairs)).toEqual(here.map((b) => b.pairs));
        there.forEach((b, i) => {
          expectRelative(b.distanceM, here[i].distanceM, 1e-9);
          // Pairs are met in another order, so sums differ in their last digit.
          expectRelative(b.gamma, here[i].gamma, 1e-12);
        });
      }),
      runs,
    );
  });

  it('least squares never does worse than the model the bins came from', () => {
    fc.assert(
      fc.property(model, fc.array(between(-0.3, 0.3), { minLength: 10, maxLength: 10 }), (m, noise) => {
        const bins = noise.map((e, i) => ({
          pairs: 20 + 5 * i,
          distanceM: 30 * (i + 1),
          gamma: semivariance(m, 30 * (i + 1)) * (1 + e),
        }));
        const fit = fitLeastSquares(bins, m.kind)!;
        expect(fit.nugget).toBeGreaterThanOrEqual(0);
        expect(fit.partialSill).toBeGreaterThanOrEqual(0);
        const sse = bins.reduce(
          (s, b) => s + (b.pairs / b.distanceM ** 2) * (b.gamma - semivariance(m, b.distanceM)) ** 2,
          0,
        );
        expect(fit.weightedSse).toBeLessThanOrEqual(sse * (1 + 1e-9) + 1e-12);
      }),
      runs,
    );
  });
});

describe('laws of the field', () => {
  it('frames: there and back', () => {
    const frame: fc.Arbitrary<Frame> = fc.oneof(
      fc.record({
        kind: fc.constant('geographic' as const),
        lon0: between(-180, 180),
        lat0: between(-70, 70),
      }),
      fc.record({ kind: fc.constant('projected' as const), x0: between(-1e6, 1e6), y0: between(-1e7, 1e7) }),
    );
    fc.assert(
      fc.property(frame, node, (f, [x, y]) => {
        const [u, v] = toLocal(f, toWorld(f, [x, y]));
        expectWithin(u, x, 1e-6);
        expectWithin(v, y, 1e-6);
      }),
      runs,
    );
  });

  it('a boundary around points holds them all and more ground than their hull', () => {
    fc.assert(
      fc.property(samples(3), ({ xy }) => {
        let region;
        try {
          region = regionAroundPoints(xy);
        } catch (e) {
          expect(e).toBeInstanceOf(RangeError);
          for (let i = 4; i < xy.length; i += 2)
            expect((xy[2] - xy[0]) * (xy[i + 1] - xy[1])).toBe((xy[3] - xy[1]) * (xy[i] - xy[0]));
          return;
        }
        for (let i = 0; i < xy.length; i += 2) expect(regionContains(region, [xy[i], xy[i + 1]])).toBe(true);
        expect(areaHa(region)).toBeGreaterThan(0);
      }),
      runs,
    );
  });
});
