import { describe, expect, it } from 'vitest';
import {
  prepareLikelihood,
  prepareTrendLikelihood,
  profiledSill,
  restrictedLogLikelihood,
  trendColumns,
  trendLogLikelihood,
} from '../../src/variogram/index.ts';
import {
  fitDataOf,
  glsFits,
  glsParameters,
  nameOf,
  writtenParameters,
  writtenValues,
} from '../reference/likelihoods.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

describe('likelihood with a trend against nlme', () => {
  it('covers four trends, three models, both methods', () => {
    expect(glsFits.length).toBeGreaterThanOrEqual(46);
    expect(new Set(glsFits.map((g) => g.trend)).size).toBe(4);
    expect(new Set(glsFits.map((g) => g.model)).size).toBe(3);
  });

  // nlme 3.1.162 `gls()` (tests/reference/likelihoods.R), coordinates in metres as they stand.
  it.each(glsFits.map((g) => [`${nameOf(g)} ${g.model}`, g] as const))(
    '%s: value, sill, coefficients and their covariance',
    (_, g) => {
      const { xy, z, trend } = fitDataOf(g);
      const parts = prepareTrendLikelihood(xy, z, trend)(glsParameters(g))!;
      const restricted = g.method === 'REML';
      // nlme's coordinates are six digits long and uncentred, which costs it digits where R is nearly singular.
      const loose = glsParameters(g).effectiveRangeM > 1e6 ? 2e-2 : 1e-6;
      expectWithin(trendLogLikelihood(parts, g.sill, restricted), g.logLik, loose, 'log likelihood');
      expectRelative(profiledSill(parts, restricted), g.sill, Math.max(loose, 1e-5), 'sill');
      expect(g.beta).toHaveLength(parts.p);
      // nlme's vcov is σ̂²(XᵀR⁻¹X)⁻¹ with σ̂² as estimated under REML, over n − p under ML.
      const scale = restricted ? g.sill : (g.sill * parts.n) / (parts.n - parts.p);
      const variances = g.beta_variance.flat();
      g.beta.forEach((b, i) => {
        const se = Math.sqrt(variances[i * parts.p + i]);
        expectWithin(parts.beta[i] / se, b / se, loose * 100, `coefficient ${i}`);
        expectRelative(
          parts.betaShape[i * parts.p + i] * scale,
          variances[i * parts.p + i],
          loose * 10,
          'variance',
        );
      });
    },
  );

  // The likelihood written out in R, with fields' Matern (tests/reference/likelihoods.R).
  it.each(writtenValues.map((w, i) => [`${i} ${nameOf(w)} ${w.kind}`, w] as const))(
    '%s as written out',
    (_, w) => {
      const { xy, z, trend } = fitDataOf(w);
      const restricted = w.method === 'REML';
      const parts = prepareTrendLikelihood(xy, z, trend)(writtenParameters(w))!;
      const sill = profiledSill(parts, restricted);
      expectWithin(trendLogLikelihood(parts, sill, restricted), w.value, 1e-6, 'log likelihood');
      expectRelative(sill, w.sill!, 1e-7, 'sill');
      w.beta!.forEach((b, i) => expectRelative(parts.beta[i], b, 1e-5, 'coefficient'));
    },
  );
});

describe('trend columns', () => {
  const xy = Float64Array.of(0, 0, 40, 10, 10, 50, 70, 20, 30, 90, 60, 60);
  const z = Float64Array.of(3, 5, 4, 8, 6, 7);

  it('a constant, a plane and covariates, the constant first', () => {
    expect(trendColumns('constant', xy)).toMatchObject({ names: ['1'], n: 6, p: 1, leftOut: [] });
    const plane = trendColumns('linear', xy);
    expect(plane.names).toEqual(['1', 'x', 'y']);
    expect(Array.from(plane.x.slice(3, 6))).toEqual([1, 40, 10]);
  });

  it('leaves out what earlier columns say already', () => {
    const values = Float64Array.of(2, 7, 1, 8, 2, 8);
    const both = {
      covariates: [
        { name: 'a', values },
        { name: 'twice a and five', values: values.map((v) => 2 * v + 5) },
        { name: 'four', values: new Float64Array(6).fill(4) },
        { name: 'b', values: values.map((v) => v * v) },
      ],
    };
    expect(trendColumns(both, xy)).toMatchObject({
      names: ['1', 'a', 'b'],
      leftOut: ['twice a and five', 'four'],
    });
    const line = xy.map((v, i) => (i % 2 === 0 ? v : 2 * xy[i - 1] + 3));
    expect(trendColumns('linear', line)).toMatchObject({ names: ['1', 'x'], leftOut: ['y'] });
  });

  it('refuses values that are missing', () => {
    const short = { covariates: [{ name: 'slope', values: Float64Array.of(1, 2) }] };
    expect(() => trendColumns(short, xy)).toThrow('slope');
    const holes = { covariates: [{ name: 'slope', values: Float64Array.of(1, 2, NaN, 4, 5, 6) }] };
    expect(() => trendColumns(holes, xy)).toThrow('slope');
    expect(() => prepareTrendLikelihood(xy.slice(0, 6), z.slice(0, 3), 'linear')).toThrow(RangeError);
  });

  const parameters = { kind: 'exponential', effectiveRangeM: 80, nuggetShare: 0.3 } as const;

  it('a constant mean is the likelihood without a trend', () => {
    const a = prepareTrendLikelihood(xy, z)(parameters)!;
    const b = prepareLikelihood(xy, z)(parameters)!;
    expectRelative(a.beta[0], b.mean, 1e-12);
    expectRelative(1 / a.betaShape[0], b.oneRone, 1e-12);
    expectRelative(a.logDetInformation, Math.log(b.oneRone), 1e-12);
    expectRelative(trendLogLikelihood(a, 3, true), restrictedLogLikelihood(b, 3), 1e-12);
  });

  it('a pure nugget is least squares: coefficients, their covariance and the residuals', () => {
    const parts = prepareTrendLikelihood(xy, z, 'linear')({ ...parameters, nuggetShare: 1 })!;
    const { x } = trendColumns('linear', xy);
    // Residuals are orthogonal to every column, and XᵀX times its inverse is one.
    const residual = z.map((v, i) => v - [0, 1, 2].reduce((s, c) => s + x[3 * i + c] * parts.beta[c], 0));
    for (const c of [0, 1, 2]) {
      expectWithin(
        residual.reduce((s, r, i) => s + r * x[3 * i + c], 0),
        0,
        1e-9,
      );
      for (const d of [0, 1, 2]) {
        let sum = 0;
        for (let i = 0; i < 6; i++)
          for (const e of [0, 1, 2]) sum += x[3 * i + c] * x[3 * i + e] * parts.betaShape[3 * e + d];
        expectWithin(sum, c === d ? 1 : 0, 1e-9);
      }
    }
    expectRelative(
      parts.residualSS,
      residual.reduce((s, r) => s + r * r, 0),
      1e-12,
    );
  });

  it('a covariate in another unit: its coefficient follows, the restricted value by ln of the factor', () => {
    const values = Float64Array.of(2, 7, 1, 8, 2, 8);
    const at = (factor: number, offset: number) =>
      prepareTrendLikelihood(xy, z, {
        covariates: [{ name: 'a', values: values.map((v) => factor * v + offset) }],
      })(parameters)!;
    const [metres, feet] = [at(1, 0), at(3.28, 4e5)];
    expectRelative(feet.beta[1] * 3.28, metres.beta[1], 1e-9);
    expectRelative(feet.residualSS, metres.residualSS, 1e-9);
    expectWithin(trendLogLikelihood(feet, 2, false), trendLogLikelihood(metres, 2, false), 1e-8);
    expectWithin(
      trendLogLikelihood(feet, 2, true) + Math.log(3.28),
      trendLogLikelihood(metres, 2, true),
      1e-8,
    );
  });

  it('Vecchia with every earlier point is exact, anisotropy, nesting and smoothness too', () => {
    const p = {
      kind: 'matern',
      smoothness: 1.2,
      effectiveRangeM: 60,
      nuggetShare: 0.2,
      long: { effectiveRangeM: 200, share: 0.4 },
      anisotropy: { ratio: 0.5, directionDeg: 30 },
    } as const;
    const exact = prepareTrendLikelihood(xy, z, 'linear')(p)!;
    const vecchia = prepareTrendLikelihood(xy, z, 'linear', { exactPoints: 0, neighbours: 5 })(p)!;
    for (const restricted of [true, false])
      expectWithin(
        trendLogLikelihood(vecchia, 2, restricted),
        trendLogLikelihood(exact, 2, restricted),
        1e-6,
      );
    vecchia.beta.forEach((b, i) => expectRelative(b, exact.beta[i], 1e-6));
  });
});
