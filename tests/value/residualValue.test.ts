import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { HORIZON_YEARS, residualShare, startOfRate } from '../../src/value/residualValue.ts';
import type { RateCase } from '../../src/value/rateCase.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { limeCase, madeCases, phosphorusCase, potassiumCase } from './madeCases.ts';

/** The same share by following each kilogram: bought in equal parts in years 1 … years, used when crops come to it. */
function byKilograms(c: RateCase, years: number, truth: number, surplus: number): number {
  const start = startOfRate(c);
  const end = truth + ((c.annualRate(truth) - c.keepingKgHa) * years) / c.kgHaPerUnit;
  const all = surplus * years;
  const parts = 4000;
  let worth = 0;
  for (let i = 0; i < parts; i++) {
    const before = ((i + 0.5) / parts) * all;
    const test = end + before / c.kgHaPerUnit;
    const capped = before > ((c.cap ?? Infinity) - Math.max(truth, end)) * c.kgHaPerUnit;
    const drawn = (Math.max(0, test - start) * c.kgHaPerUnit) / c.keepingKgHa;
    const wait = (years + 1) / 2 + drawn;
    if (!capped && wait <= HORIZON_YEARS) worth += c.availableShare * (1 + c.discountRate) ** -wait;
  }
  return worth / parts;
}

describe('where the rate starts', () => {
  it('is the limit of maintenance, or where a falling rate ends', () => {
    expect(startOfRate(phosphorusCase)).toBe(40);
    expect(startOfRate(potassiumCase)).toBe(200);
    expect(startOfRate(limeCase)).toBe(6.5);
  });

  it('is endless for a rate that never ends, and nowhere for none', () => {
    expect(startOfRate({ annualRate: () => 30, bends: [10, 20] })).toBe(Infinity);
    expect(startOfRate({ annualRate: () => 0, bends: [10, 20] })).toBe(-Infinity);
    expect(startOfRate({ annualRate: (t) => (t < 10 ? 30 : 0), bends: [25, 10] })).toBe(10);
  });
});

describe('what comes back of a surplus', () => {
  it('is what following each kilogram gives', () => {
    for (const c of madeCases)
      for (const level of [0.5, 0.8, 1, 1.2, 1.45])
        for (const surplus of [1, 40, 150])
          for (const years of [1, 4, 6]) {
            const truth = level * startOfRate(c);
            const scaled = surplus * (c.analyte === 'pH' ? 8 : 1);
            expectWithin(
              residualShare(c, years)(truth, scaled),
              byKilograms(c, years, truth, scaled),
              5e-4,
              `${c.analyte} ${level} ${scaled} ${years}`,
            );
          }
  });

  it('by hand: a field that calls for more gets it back at the next sampling', () => {
    // At 10 the right rate brings P to 20 in four years; 40 kg/ha a year lift it by 7.3 more: below 40, so no drawing down.
    expectRelative(residualShare(phosphorusCase, 4)(10, 40), 0.8 * 1.06 ** -2.5, 1e-12);
  });

  it('by hand: a kilogram above the start waits for crops', () => {
    // At 55 four years without any take P to 55 − 4·60/22 = 44.09; 4.09·22/60 = 1.5 years more to 40.
    const share = residualShare({ ...phosphorusCase, cap: undefined }, 4)(55, 1e-6);
    expectRelative(share, 0.8 * 1.06 ** -(2.5 + 1.5), 1e-6);
  });

  it('is none at or above the cap, and little just below', () => {
    const share = residualShare(phosphorusCase, 4);
    expect(share(60, 20)).toBe(0);
    expect(share(75, 20)).toBe(0);
    expect(share(59.99, 20)).toBeLessThan(0.01);
    expect(share(59.99, 20)).toBeGreaterThan(0);
  });

  it('is none where nothing ever draws the test down to where it is called for', () => {
    const idle = { ...phosphorusCase, keepingKgHa: 0, cap: undefined };
    expect(residualShare(idle, 4)(50, 30)).toBe(0);
    expect(residualShare({ ...idle, annualRate: () => 0 }, 4)(10, 30)).toBe(0);
  });

  it('without interest within the horizon: the share a crop can use', () => {
    expectRelative(
      residualShare({ ...phosphorusCase, discountRate: 0, cap: undefined }, 4)(45, 60),
      0.8,
      1e-12,
    );
  });

  it('lies between 0 and the share a crop can use, and falls with the test, the surplus and interest', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...madeCases),
        fc.double({ min: 0.1, max: 3, noNaN: true }),
        fc.double({ min: 0.01, max: 3, noNaN: true }),
        fc.double({ min: 1, max: 10, noNaN: true }),
        (c, level, times, years) => {
          const share = residualShare(c, years);
          const truth = level * startOfRate(c);
          const surplus = times * c.keepingKgHa;
          const got = share(truth, surplus);
          expect(got).toBeGreaterThanOrEqual(0);
          expect(got).toBeLessThanOrEqual(c.availableShare);
          expect(share(truth, 1.3 * surplus)).toBeLessThanOrEqual(got + 1e-12);
          expect(
            residualShare({ ...c, discountRate: 2 * c.discountRate }, years)(truth, surplus),
          ).toBeLessThanOrEqual(got + 1e-12);
          if (level > 1) expect(share(1.1 * truth, surplus)).toBeLessThanOrEqual(got + 1e-12);
        },
      ),
    );
  });
});
