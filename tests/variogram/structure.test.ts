import { describe, expect, it } from 'vitest';
import {
  correlation,
  correlationOf,
  semivariance,
  semivarianceOf,
  structuresOf,
  totalSill,
  type VariogramModel,
} from '../../src/variogram/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { gstatLines, nestedFromGstat, nestedLine, structureFromGstat } from '../reference/variograms.ts';

// Webster & Oliver 2007, Geostatistics for Environmental Scientists, ch. 5.
describe('variogram models', () => {
  it('spherical: 1 − 1.5 t + 0.5 t³ up to its range, nothing beyond', () => {
    expect(correlation('spherical', 80, 0)).toBe(1);
    expectRelative(correlation('spherical', 80, 40), 0.3125, 1e-14);
    expectRelative(correlation('spherical', 80, 20), 1 - 0.375 + 0.5 / 64, 1e-14);
    expectWithin(correlation('spherical', 80, 80 - 1e-9), 0, 1e-15);
    expect(correlation('spherical', 80, 80)).toBe(0);
    expect(correlation('spherical', 80, 1e9)).toBe(0);
  });

  it('exponential: within 5 % of its sill at the effective range', () => {
    expect(correlation('exponential', 90, 0)).toBe(1);
    expectRelative(correlation('exponential', 90, 30), Math.exp(-1), 1e-14);
    expectRelative(correlation('exponential', 90, 90), 0.049787068367863944, 1e-14);
  });

  it('semivariance: nothing at no distance, nugget at once, sill in the end', () => {
    for (const kind of ['spherical', 'exponential'] as const) {
      const model: VariogramModel = { kind, nugget: 0.4, partialSill: 1.6, effectiveRangeM: 100 };
      expect(semivariance(model, 0)).toBe(0);
      expectWithin(semivariance(model, 1e-9), 0.4, 1e-9);
      expectWithin(semivariance(model, 1e5), 2, 1e-12);
      let before = 0;
      for (let h = 1; h < 300; h += 3) {
        const gamma = semivariance(model, h);
        expect(gamma).toBeGreaterThanOrEqual(before);
        before = gamma;
      }
    }
  });
});

// gstat 2.1.0 `variogramLine()` (tests/reference/variograms.R).
describe('variogram models against gstat', () => {
  it.each(gstatLines)('$kind, kappa $kappa', ({ kind, kappa, range, nugget, psill, h, gamma }) => {
    const structure = structureFromGstat({ model: kind, psill, range, kappa });
    const model: VariogramModel = { ...structure, nugget };
    h.forEach((d, i) => {
      expectRelative(semivariance(model, d), gamma[i], 1e-9, `at ${d} m`);
      expectRelative(semivarianceOf(model)(d), gamma[i], 2e-8, `fast, at ${d} m`);
    });
  });

  it('two structures and a nugget', () => {
    const model = nestedFromGstat(nestedLine);
    nestedLine.h.forEach((d, i) => {
      expectRelative(semivariance(model, d), nestedLine.gamma[i], 1e-12);
      expectRelative(semivarianceOf(model)(d), nestedLine.gamma[i], 1e-12);
    });
  });
});

describe('both forms of a model', () => {
  const kinds = ['spherical', 'exponential', 'gaussian', 'matern'] as const;

  it.each(kinds)('%s: the closure is the function, and 1 at 0', (kind) => {
    const rho = correlationOf({ kind, effectiveRangeM: 75 });
    expect(rho(0)).toBe(1);
    for (let h = 0; h < 400; h += 7) expectWithin(rho(h), correlation(kind, 75, h), 1e-14);
    if (kind !== 'spherical') expectWithin(rho(75), Math.exp(-3), 1e-14);
  });

  it('a model is the nested one of its single structure', () => {
    const model: VariogramModel = { kind: 'gaussian', nugget: 0.4, partialSill: 1.1, effectiveRangeM: 60 };
    const nested = { nugget: 0.4, structures: structuresOf(model) };
    expect(structuresOf(nested)).toEqual([model]);
    for (const h of [0, 1, 30, 60, 500]) expect(semivariance(nested, h)).toBe(semivariance(model, h));
    expectWithin(totalSill(model), 1.5, 1e-15);
    expectWithin(totalSill({ nugget: 0.2, structures: [model, model] }), 2.4, 1e-15);
  });

  it('a pure nugget is flat from the first step on', () => {
    const one: VariogramModel = { kind: 'spherical', nugget: 2, partialSill: 0, effectiveRangeM: 10 };
    for (const model of [one, { nugget: 2, structures: [] }]) {
      expect([0, 1e-6, 5, 1000].map((h) => semivariance(model, h))).toEqual([0, 2, 2, 2]);
      expect([0, 1e-6, 5, 1000].map(semivarianceOf(model))).toEqual([0, 2, 2, 2]);
    }
  });
});
