import { describe, expect, it } from 'vitest';
import {
  besselK,
  correlation,
  correlationOf,
  logBesselK,
  logGamma,
  maternCorrelation,
  maternEffectiveDistance,
  maternOf,
} from '../../src/variogram/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { besselValues, fieldsMatern, logGammaValues } from '../reference/variograms.ts';

// Base R 4.2.2 `besselK` and `lgamma` (tests/reference/variograms.R).
describe('Bessel and gamma functions against R', () => {
  it('K of order 0 to 40 at 1e-8 to 400', () => {
    expect(besselValues.length).toBeGreaterThan(80);
    for (const { nu, x, k } of besselValues) {
      // Values of great orders run to 1e290 and more, so their logarithms' last digits count for more.
      const tolerance = nu <= 5 ? 2e-13 : 1e-12;
      expectRelative(besselK(nu, x), k, tolerance, `K_${nu}(${x})`);
      expectRelative(besselK(-nu, x), k, tolerance, `K_-${nu}(${x})`);
    }
  });

  it('log gamma', () => {
    for (const { nu, lgamma } of logGammaValues) expectWithin(logGamma(nu), lgamma, 1e-13 * (1 + lgamma));
  });

  // Abramowitz & Stegun 1964, 10.2.17: K_½(x) = √(π/2x)·e^−x.
  it('orders of a half have closed forms, where K itself would underflow too', () => {
    for (const x of [1e-12, 0.1, 3, 50, 2000])
      expectWithin(logBesselK(0.5, x), 0.5 * Math.log(Math.PI / (2 * x)) - x, 2e-13 * (1 + x));
    expect(besselK(0.5, 2000)).toBe(0);
    expect(besselK(1, 0)).toBe(Infinity);
    expect(besselK(40, 1e-12)).toBe(Infinity);
    expect(Number.isFinite(logBesselK(40, 1e-12))).toBe(true);
  });
});

describe('Matérn correlation', () => {
  // fields 14.1 `Matern(d, range, smoothness)`.
  it.each(fieldsMatern)('smoothness $nu is fields’', ({ nu, range, h, rho }) => {
    h.forEach((d, i) => expectWithin(maternCorrelation(nu, d / range), rho[i], 1e-12, `at ${d} m`));
  });

  it('the general formula meets the closed forms', () => {
    for (const nu of [0.5, 1.5, 2.5])
      for (const x of [1e-6, 0.01, 0.3, 2, 9, 40]) {
        const closed = maternCorrelation(nu, x);
        expectRelative(maternCorrelation(nu + 1e-9, x), closed, 1e-7 * (1 + x), `${nu} at ${x}`);
      }
  });

  it.each([0.02, 0.3, 0.5, 0.8, 1, 1.5, 2.5, 4, 30])('smoothness %s is e⁻³ at the effective range', (nu) => {
    expectWithin(maternCorrelation(nu, maternEffectiveDistance(nu)), Math.exp(-3), 1e-14);
    expectWithin(correlation('matern', 130, 130, nu), Math.exp(-3), 1e-14);
  });

  it('smoothness ½ is the exponential, and a great one is nearly the Gaussian', () => {
    for (const h of [1, 20, 90, 200]) {
      expectRelative(correlation('matern', 90, h, 0.5), correlation('exponential', 90, h), 1e-13);
      expectWithin(correlation('matern', 90, h, 100), correlation('gaussian', 90, h), 4e-3);
    }
  });

  it.each([0.05, 0.1, 0.3, 0.77, 1, 2, 3.3, 5, 12])('the fast form of smoothness %s is within 1e-8', (nu) => {
    const fast = maternOf(nu);
    expect(fast(0)).toBe(1);
    for (let u = -34.7; u < 5; u += 0.0371) {
      const x = Math.exp(u);
      expectWithin(fast(x), maternCorrelation(nu, x), 1e-8, `at ${x}`);
    }
    const ofModel = correlationOf({ kind: 'matern', effectiveRangeM: 70, smoothness: nu });
    for (const h of [0, 0.1, 5, 70, 300])
      expectWithin(ofModel(h), correlation('matern', 70, h, nu), 1e-8, `${h} m`);
  });

  it('falls from 1 towards 0, whatever the smoothness', () => {
    for (const nu of [0.1, 0.5, 1.1, 6]) {
      let before = 1;
      for (let x = 0; x < 60; x += 0.25) {
        const rho = maternCorrelation(nu, x);
        expect(rho).toBeLessThanOrEqual(before);
        expect(rho).toBeGreaterThanOrEqual(0);
        before = rho;
      }
    }
  });

  it('refuses a smoothness it cannot compute', () => {
    for (const nu of [0, -1, NaN, 1000]) {
      expect(() => maternOf(nu)).toThrow(RangeError);
      expect(() => correlation('matern', 10, 5, nu)).toThrow(/smoothness/);
    }
  });
});
