import { describe, expect, it } from 'vitest';
import { analyteCatalogue } from '../../src/read/index.ts';
import { costOfSampling, usualCostRates } from '../../src/value/cost.ts';
import { costFields } from '../../src/value/costOptions.ts';
import { atPrices, cheapestPackage, labPackages } from '../../src/value/labPackages.ts';

describe('cost fields', () => {
  it('every rate is a field once, with the default reckoned with', () => {
    const keys = costFields.map((f) => f.key);
    expect(new Set(keys).size).toBe(keys.length);
    expect(keys.filter((k) => k !== 'labPackage').sort()).toEqual(Object.keys(usualCostRates).sort());
    for (const f of costFields)
      if (f.key !== 'labPackage') expect(f.default, f.key).toBe(usualCostRates[f.key]);
  });

  it('defaults lie within their limits and choices, and every source says whose it is', () => {
    for (const f of costFields) {
      expect(f.source, f.key).toMatch(/judgement of this project|common practice, no source/);
      if (f.kind === 'choice') expect(f.choices.map((c) => c.value)).toContain(f.default);
      if (f.kind !== 'number') continue;
      expect(f.default, f.key).toBeGreaterThanOrEqual(f.min);
      expect(f.default, f.key).toBeLessThanOrEqual(f.max);
      if (f.whole) expect(Number.isInteger(f.default)).toBe(true);
    }
  });

  it('what lies at a limit can be reckoned with', () => {
    const plan = { areaHa: 20, samples: 10, coresPerSample: 8, places: 10, routeM: 2000 };
    for (const f of costFields)
      if (f.kind === 'number')
        for (const value of [f.min, f.max]) {
          const { total } = costOfSampling(plan, { ...usualCostRates, [f.key]: value });
          expect(Number.isFinite(total), `${f.key} ${value}`).toBe(true);
        }
  });
});

describe('laboratory packages', () => {
  it('report analytes of the catalogue, more for more money', () => {
    const known = analyteCatalogue.map((a) => a.id);
    for (const p of labPackages) for (const a of p.analytes) expect(known).toContain(a);
    const complete = labPackages.find((p) => p.id === 'complete')!;
    expect(complete.price).toBe(usualCostRates.labPrice);
    // Common practice, no source: 25 to 30 USD.
    expect(complete.price).toBeGreaterThanOrEqual(25);
    expect(complete.price).toBeLessThanOrEqual(30);
    for (const p of labPackages) expect(p.price).toBeLessThanOrEqual(complete.price);
  });

  it('the cheapest that reports all that is asked for', () => {
    expect(cheapestPackage(['pH'])?.id).toBe('pH only');
    expect(cheapestPackage(['pH', 'K'])?.id).toBe('basic');
    expect(cheapestPackage(['P', 'Zn'])?.id).toBe('complete');
    expect(cheapestPackage(['nitrate'])).toBeUndefined();
    expect(cheapestPackage(['pH', 'K'], atPrices(labPackages, { basic: 40 }))?.id).toBe('complete');
  });

  it('a user’s prices replace those named and no others', () => {
    const own = atPrices(labPackages, { basic: 0 });
    expect(own.map((p) => p.price)).toEqual(labPackages.map((p) => (p.id === 'basic' ? 0 : p.price)));
    expect(own.find((p) => p.id === 'basic')!.source).toBe('set by the user');
  });
});
