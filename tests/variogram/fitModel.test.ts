import { describe, expect, it } from 'vitest';
import {
  fitModel,
  fitPrepared,
  fromWorking,
  modelName,
  prepareFit,
  searchedRanges,
  semivariance,
  toWorking,
  totalSill,
  variogramOf,
  type ModelSpec,
} from '../../src/variogram/index.ts';
import { fitDataOf, glsFits, glsParameters, nameOf, writtenMaxima } from '../reference/likelihoods.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

const rangesM = [50, 20_000] as const;

describe('fitted models against R', () => {
  // nlme 3.1.162 `gls()`; where it ran to a range of a thousand kilometres, beyond the limits, it is left out.
  const some = glsFits.filter(
    (g) => (g.trend === 'constant') === (g.method === 'ML') && glsParameters(g).effectiveRangeM < rangesM[1],
  );
  it.each(some.map((g) => [`${nameOf(g)} ${g.model}`, g] as const))('%s: no lower than nlme', (_, g) => {
    const { kind } = glsParameters(g);
    const fit = fitModel(fitDataOf(g), { kind }, { restricted: g.method === 'REML', rangesM })!;
    expect(fit.logLikelihood).toBeGreaterThanOrEqual(g.logLik - 1e-3);
    if (fit.logLikelihood > g.logLik + 1e-3) return;
    expectRelative(fit.parameters.effectiveRangeM, glsParameters(g).effectiveRangeM, 5e-3, 'range');
    expectWithin(fit.parameters.nuggetShare, g.nugget_share, 2e-3, 'nugget share');
    expectRelative(fit.sill, g.sill, 5e-3, 'sill');
    g.beta.forEach((b, i) => {
      const se = Math.sqrt(fit.betaCovariance[i * g.beta.length + i]);
      expectWithin((fit.beta[i] - b) / se, 0, 1e-2, 'coefficient in standard errors');
    });
  });

  it('saw most of them', () => expect(some.length).toBeGreaterThan(20));

  // optim of the likelihood written out in R (tests/reference/likelihoods.R), from several starts.
  it.each(writtenMaxima.map((w, i) => [`${i} ${nameOf(w)} ${w.kind}`, w] as const))(
    '%s: no lower than optim',
    (_, w) => {
      const kind = w.kind as 'matern';
      const spec: ModelSpec = { kind, smoothness: w.smoothness, anisotropic: w.ratio !== undefined };
      const fit = fitModel(fitDataOf(w), spec, { rangesM })!;
      expect(fit.logLikelihood).toBeGreaterThanOrEqual(w.value - 1e-3);
      expectRelative(fit.parameters.effectiveRangeM, w.range, 2e-2, 'range');
      if (w.ratio === undefined) return;
      expectWithin(fit.parameters.anisotropy!.ratio, w.ratio, 5e-3, 'ratio');
      // A direction and its opposite are one.
      const turn = fit.parameters.anisotropy!.directionDeg - w.direction!;
      expectWithin(turn - 180 * Math.round(turn / 180), 0, 0.5, 'direction');
    },
  );
});

describe('richer models', () => {
  const data = fitDataOf({ data: 'oxford OM1', trend: 'constant', method: 'ML' });
  const prepared = prepareFit(data, { restricted: false });
  const value = (spec: ModelSpec) => fitPrepared(prepared, spec)!.logLikelihood;

  it('are never below those they contain', () => {
    const base = value({ kind: 'spherical' });
    expect(value({ kind: 'spherical', nuggetShare: 0.3 })).toBeLessThan(base);
    expect(base).toBeGreaterThan(value({ kind: 'nugget' }));
    const nested = value({ kind: 'spherical', nested: true });
    expect(nested).toBeGreaterThan(base);
    expect(value({ kind: 'spherical', anisotropic: true })).toBeGreaterThan(base);
    expect(value({ kind: 'spherical', nested: true, anisotropic: true })).toBeGreaterThanOrEqual(
      nested - 1e-4,
    );
    const free = value({ kind: 'matern', smoothness: 'free' });
    for (const spec of [
      { kind: 'exponential' },
      { kind: 'matern', smoothness: 1.5 },
      { kind: 'matern', smoothness: 2.5 },
    ] as const)
      expect(free).toBeGreaterThanOrEqual(value(spec) - 1e-4);
  });

  it('a nugget share that is given stays, and counts as no parameter', () => {
    const fit = fitPrepared(prepared, { kind: 'exponential', nuggetShare: 0.25 })!;
    expect(fit.parameters.nuggetShare).toBe(0.25);
    expect(fit.covarianceParameters).toBe(2);
    expect(fitPrepared(prepared, { kind: 'nugget' })!.covarianceParameters).toBe(1);
    expect(fitPrepared(prepared, { kind: 'exponential' })!.covarianceParameters).toBe(3);
  });

  it('the pure nugget is the likelihood of independent normal numbers', () => {
    const fit = fitPrepared(prepared, { kind: 'nugget' })!;
    const { z } = data;
    const mean = z.reduce((s, v) => s + v, 0) / z.length;
    const variance = z.reduce((s, v) => s + (v - mean) ** 2, 0) / z.length;
    expectRelative(fit.sill, variance, 1e-9);
    expectRelative(fit.logLikelihood, (-z.length / 2) * (Math.log(2 * Math.PI * variance) + 1), 1e-12);
  });

  it('a fit as a variogram has its sill and its two ranges', () => {
    const fit = fitPrepared(prepared, { kind: 'spherical', nested: true })!;
    const model = variogramOf(fit);
    expectRelative(totalSill(model), fit.sill, 1e-12);
    expectRelative(semivariance(model, fit.parameters.long!.effectiveRangeM), fit.sill, 1e-9);
    expect(semivariance(model, fit.parameters.effectiveRangeM)).toBeLessThan(fit.sill);
    expect(variogramOf(fitPrepared(prepared, { kind: 'gaussian' })!)).toMatchObject({ kind: 'gaussian' });
  });

  it('a likelihood that rises to the edge says so', () => {
    // One slope across the field and nothing else: no range is long enough.
    const xy = Float64Array.from({ length: 72 }, (_, i) => (i % 2 ? Math.floor(i / 12) : (i >> 1) % 6) * 50);
    const z = Float64Array.from({ length: 36 }, (_, i) => xy[2 * i] / 50 + 0.01 * ((i * 7) % 5));
    expect(fitModel({ xy, z }, { kind: 'exponential' })!.atBound).toContain('ln range');
  });
});

describe('working parameters', () => {
  const limits = { rangesM };
  const full = {
    kind: 'matern',
    smoothness: 0.8,
    effectiveRangeM: 400,
    nuggetShare: 0.2,
    long: { effectiveRangeM: 1500, share: 0.35 },
    anisotropy: { ratio: 0.6, directionDeg: 130 },
  } as const;
  const spec: ModelSpec = { kind: 'matern', smoothness: 'free', nested: true, anisotropic: true };

  it('go there and back', () => {
    const back = fromWorking(spec, toWorking(spec, full), limits)!;
    expectRelative(back.effectiveRangeM, 400, 1e-12);
    expectRelative(back.nuggetShare, 0.2, 1e-12);
    expectRelative(back.smoothness!, 0.8, 1e-12);
    expectRelative(back.long!.effectiveRangeM, 1500, 1e-12);
    expectRelative(back.long!.share, 0.35, 1e-12);
    expectRelative(back.anisotropy!.ratio, 0.6, 1e-12);
    expectRelative(back.anisotropy!.directionDeg, 130, 1e-12);
    expect(toWorking(spec, full)).toHaveLength(7);
  });

  it('outside the limits there is no model', () => {
    const plain: ModelSpec = { kind: 'spherical' };
    expect(fromWorking(plain, [Math.log(49), 0], limits)).toBeUndefined();
    expect(fromWorking(plain, [Math.log(20_100), 0], limits)).toBeUndefined();
    expect(fromWorking(plain, [Math.log(400), 13], limits)).toBeUndefined();
    // The long range is the longer.
    expect(fromWorking({ ...plain, nested: true }, [6, 0, 5.9, 0], limits)).toBeUndefined();
    expect(fromWorking({ ...plain, anisotropic: true }, [6, 0, 2, 2], limits)).toBeUndefined();
  });

  it('have names that a person knows', () => {
    expect(modelName({ kind: 'nugget' })).toBe('pure nugget');
    expect(modelName({ kind: 'matern' })).toBe('Matérn 1.5');
    expect(modelName(spec)).toBe('anisotropic nested Matérn of free smoothness');
  });

  it('ranges searched: half the grid spacing to three diagonals', () => {
    const xy = Float64Array.from(
      { length: 200 },
      (_, i) => (i % 2 ? Math.floor(i / 20) : (i >> 1) % 10) * 60,
    );
    const [low, high] = searchedRanges(xy);
    expectRelative(low, 30, 1e-12);
    expectRelative(high, 3 * 540 * Math.SQRT2, 1e-12);
  });
});
