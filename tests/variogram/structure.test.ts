import { describe, expect, it } from 'vitest';
import { correlation, semivariance, type VariogramModel } from '../../src/variogram/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

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
