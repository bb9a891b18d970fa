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
        expectRelative(parts.betaShape[i * parts.p + i] * scale, variances[i * parts.p + i], loose * 10, 'variance');
      });
    },
  );

  // The likelihood written out in R, with fields' Matern (tests/reference/likelihoods.R).
  it.each(writtenValues.map((w, i) => [`${i} ${nameOf(w)} ${w.kind}`, w] as const))('%s as written out', (_, w) => {
    const { xy, z, trend } = fitDataOf(w);
    const restricted = w.method === 'REML';
    const parts = prepareTrendLikelihood(xy, z, trend)(writtenParameters(w))!;
    const sill = profiledSill(parts, restricted);
    expectWithin(trendLogLikelihood(parts, sill, restricted), w.value, 1e-6, 'log likelihood');
    expectRelative(sill, w.sill!, 1e-7, 'sill');
    w.beta!.forEach((b, i) => expectRelative(parts.beta[i], b, 1e-5, 'coefficient'));
  });
});
