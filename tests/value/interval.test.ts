import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { bestEntry, type LeastLoss } from '../../src/value/expectedLoss.ts';
import { addedVariance, type DriftModel } from '../../src/value/drift.ts';
import { driftModelOf, GUIDANCE_LONGEST_YEARS } from '../../src/value/driftDefaults.ts';
import {
  correctionState,
  LONGEST_CORRECTION,
  LONGEST_LOOKED_AT,
  lossAtAge,
  resamplingInterval,
  resamplingPlan,
  SAME_COST_PER_HA_YEAR,
  sayInterval,
  sayPlan,
  type SampledProperty,
} from '../../src/value/interval.ts';
import { lossOfRate } from '../../src/value/lossOfRate.ts';
import type { RateCase } from '../../src/value/rateCase.ts';
import { annualRate, rateEquationOf, relativeYield } from '../../src/value/rateEquation.ts';
import { acresToHa } from '../../src/units/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

const perHa = (perAcre: number) => perAcre / acresToHa(1);
const money = (value: number) => `${(value * acresToHa(1)).toFixed(2)} USD per acre`;

/** A decision whose loss grows by `slope` with every year of age. */
const ageing = (fresh: number, slope: number) => ({ lossAtAge: (age: number) => fresh + slope * age });
const chosen = (slope: number, samplingCostPerHa: number, atMostYears?: number) =>
  resamplingInterval({ decisions: [ageing(5, slope)], samplingCostPerHa, atMostYears });

describe('the interval between samplings', () => {
  it('costs the sampling over its years and the mean loss of the ages', () => {
    const { options } = chosen(2, 12);
    expect(options.map((o) => o.years)).toEqual([1, 2, 3, 4, 5, 6]);
    // (1 + 2 + 3)/3 years old on average.
    expect(options[2]).toEqual({ years: 3, samplingPerHa: 4, lossPerHa: 9, totalPerHa: 13 });
  });

  it('is a year when tests age fast, and the longest allowed when they do not age', () => {
    expect(chosen(20, 15).advisedYears).toBe(1);
    expect(chosen(0, 15).advisedYears).toBe(GUIDANCE_LONGEST_YEARS);
    expect(chosen(0, 15, 3).advisedYears).toBe(3);
    expect(resamplingInterval({ decisions: [], samplingCostPerHa: 15, atMostYears: 9 }).advisedYears).toBe(
      LONGEST_LOOKED_AT,
    );
  });

  it('is near √(2·cost/slope), where c/T + slope·(T + 1)/2 is least', () => {
    for (const [slope, cost] of [
      [8, 16],
      [4, 18],
      [2, 16],
    ]) {
      const { cheapestYears } = chosen(slope, cost, 6);
      expectWithin(cheapestYears, Math.sqrt((2 * cost) / slope), 0.5);
    }
  });

  it('is the longest of those that cost about the same as the cheapest', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 10, noNaN: true }),
        fc.double({ min: 0, max: 50, noNaN: true }),
        fc.integer({ min: 1, max: 6 }),
        (slope, cost, atMost) => {
          const c = chosen(slope, cost, atMost);
          const allowed = c.options.slice(0, atMost);
          const least = Math.min(...allowed.map((o) => o.totalPerHa));
          for (const o of allowed)
            expect(c.sameCostYears.includes(o.years)).toBe(o.totalPerHa <= least + SAME_COST_PER_HA_YEAR);
          expect(c.advisedYears).toBe(c.sameCostYears[c.sameCostYears.length - 1]);
          expect(c.sameCostYears).toContain(c.cheapestYears);
        },
      ),
    );
  });

  it('never gets shorter by a dearer sampling, whatever the losses', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 0, max: 20, noNaN: true }), { minLength: 21, maxLength: 21 }),
        fc.double({ min: 0, max: 40, noNaN: true }),
        fc.double({ min: 1.01, max: 4, noNaN: true }),
        (losses, cost, dearer) => {
          const decisions = [
            { lossAtAge: (age: number, every: number) => losses[(every * (every - 1)) / 2 + age - 1] },
          ];
          const years = (samplingCostPerHa: number) =>
            resamplingInterval({ decisions, samplingCostPerHa, atMostYears: 6 });
          expect(years(cost * dearer).advisedYears).toBeGreaterThanOrEqual(years(cost).advisedYears);
          expect(years(cost * dearer).cheapestYears).toBeGreaterThanOrEqual(years(cost).cheapestYears);
        },
      ),
      { numRuns: 300 },
    );
  });

  it('refuses what makes no sense, quoting it', () => {
    expect(() => chosen(1, -3)).toThrow('-3');
    expect(() => chosen(1, Infinity)).toThrow('Infinity');
    expect(() => chosen(1, 10, 0)).toThrow('0');
  });

  it('is said with what a year, and one year longer, would cost', () => {
    const c = chosen(2, 12);
    expect(c.sameCostYears).toEqual([2, 3, 4]);
    // Totals 19, 14, 13, 13, 13.4 and so on.
    expect(sayInterval(c, (v) => `${v.toFixed(2)} USD`)).toBe(
      'Sample again after 4 years: yearly would cost 6.00 USD more a year than it saves; waiting 5 years would lose 0.40 USD more a year than it saves. From 2 to 4 years the cost is about the same.',
    );
    expect(sayInterval(chosen(20, 15), (v) => `${v.toFixed(2)} USD`)).toBe(
      'Sample again after 1 year: waiting 2 years would lose 2.50 USD more a year than it saves.',
    );
    expect(sayInterval(chosen(0, 20), (v) => `${v.toFixed(2)} USD`)).toBe(
      'Sample again after 4 years: yearly would cost 15.00 USD more a year than it saves; waiting 5 years would save another 1.00 USD a year, but guidance asks for a test at least every 4 years.',
    );
  });
});

/** P and K of the tri-state guidance for corn and soybean. */
function tristate(id: 'P' | 'K'): RateCase {
  const e = rateEquationOf(id, 'corn-soybean')!;
  return {
    analyte: id,
    input: id === 'P' ? 'P2O5' : 'K2O',
    annualRate: (test) => annualRate(e, Math.max(0, test)),
    keepingKgHa: e.removalKgHa,
    kgHaPerUnit: e.kgHaPerUnit,
    relativeYield: (test) => relativeYield(e, test),
    pricePerKg: e.nutrientPricePerKg,
    cropWorthPerHa: e.cropWorthPerHa,
    availableShare: 0.9,
    discountRate: 0.05,
    bends: [e.critical, e.maintenanceLimit],
    classes: [{ label: 'all', below: Infinity }],
    source: e.source,
  };
}

const log = { forward: Math.log, inverse: Math.exp };

/** A property whose map knows `share` of a lognormal field's variance. */
function sampled(
  rateCase: RateCase,
  median: number,
  logSd: number,
  drift: DriftModel = driftModelOf(rateCase.analyte)!,
  share = 0.6,
): SampledProperty {
  const truthVariance = logSd ** 2;
  const known = share * truthVariance;
  return {
    rateCase,
    working: log,
    drift,
    leastFor: (years) => {
      const decision = lossOfRate(rateCase, years);
      return (middle, sd) => bestEntry(decision, Math.exp, middle, sd).loss;
    },
    members: [
      { mean: Math.log(median), accuracy: { truthVariance, estimateVariance: known, covariance: known } },
    ],
  };
}

const [P, K] = [tristate('P'), tristate('K')];
const still: DriftModel = {
  wanderSd: 0,
  wanderIn: 'share',
  buildupCv: 0,
  keepingYearlyCv: 0,
  keepingLastingCv: 0,
};
/** Both properties at a share of their critical level; K varies less than P, as published CVs have it. */
const field = (level: number, drift?: DriftModel) => [
  sampled(P, 20 * level, 0.5, drift),
  sampled(K, 120 * level, 0.3, drift),
];

describe('loss by the age of the estimates', () => {
  const squared: LeastLoss = (_, sd) => sd * sd;
  const raw: SampledProperty = {
    rateCase: P,
    working: { forward: (v) => v, inverse: (y) => y },
    drift: driftModelOf('P')!,
    // Grows with the years a rate is kept, as losses do.
    leastFor: (years) => (middle, sd) => years * squared(middle, sd),
    members: [{ mean: 30, accuracy: { truthVariance: 9, estimateVariance: 0, covariance: 0 } }],
  };

  it('of a squared error is its variance, fresh and added', () => {
    const of = lossAtAge(raw, 0, true, 4);
    for (const [age, every] of [
      [1, 1],
      [2, 5],
      [6, 6],
    ])
      expectRelative(of(age, every), 4 * 9 + every * addedVariance(P, raw.drift, 30, 0, age), 1e-9);
  });

  it('counts what is drawn anew at every sampling by the years it is kept', () => {
    const half = lossAtAge({ ...raw, renewedShare: 0.5, drift: still }, 0, true, 4);
    const all = lossAtAge({ ...raw, renewedShare: 1, drift: still }, 0, true, 4);
    for (const every of [1, 3, 4]) {
      expectRelative(half(1, every), 0.5 * (4 + every) * 9, 1e-12);
      expectRelative(all(1, every), every * 9, 1e-12);
    }
  });

  it('is the mean over members', () => {
    const more = { mean: 30, accuracy: { truthVariance: 25, estimateVariance: 0, covariance: 0 } };
    const both = lossAtAge({ ...raw, drift: still, members: [...raw.members, more] }, 0, true, 4);
    expectRelative(both(3, 2), (4 * (9 + 25)) / 2, 1e-12);
  });

  it('does not fall as the estimates age', () => {
    for (const level of [0.4, 1, 2]) {
      const of = lossAtAge(sampled(P, 20 * level, 0.5), 0, false, 4);
      for (let age = 1; age <= 4; age++)
        expect(of(age, 4), `${level}, ${age}`).toBeGreaterThanOrEqual(of(age - 1, 4) - 1e-9);
    }
  });
});

describe('how far a field is from where its rates keep it', () => {
  it('is the share below by more than a year wanders, and the years of the buildup', () => {
    // Half the field lies below the median; a quarter of it above 20 · 1.4 = 28 with a log sd of 0.5.
    const low = correctionState(sampled(P, 10, 0.5));
    expect(low.years).toBeCloseTo(4, 4);
    // Φ(ln(20/1.08/10)/0.5)
    expectWithin(low.shareBelow, 0.891, 0.02);
    const high = correctionState(sampled(P, 50, 0.4));
    expect(high.years).toBe(0);
    expect(high.shareBelow).toBeLessThan(0.03);
  });

  it('is bounded where rates never bring the field up', () => {
    const slow = { ...P, annualRate: (t: number) => P.keepingKgHa + (t < 20 ? 1 : 0) };
    expect(correctionState(sampled(slow, 8, 0.3)).years).toBe(LONGEST_CORRECTION);
    const under = { ...P, annualRate: () => P.keepingKgHa / 2 };
    expect(correctionState(sampled(under, 8, 0.3))).toEqual({ analyte: 'P', shareBelow: 0, years: 0 });
  });
});

describe('a plan of samplings', () => {
  const gridCost = perHa(7);
  const low = resamplingPlan(field(0.45), { samplingCostPerHa: gridCost });

  it('waits as long as guidance lets it when nothing strays', () => {
    const plan = resamplingPlan(field(0.5, still), { samplingCostPerHa: gridCost });
    expect([plan.nextYears, plan.after.advisedYears]).toEqual([4, 4]);
    expect(sayPlan(plan, money)).toMatch(/Afterwards it is every 4 years as well\.$/);
  });

  it('is yearly when everything strays far', () => {
    const wild: DriftModel = { ...driftModelOf('P')!, wanderSd: 0.5, buildupCv: 1 };
    const plan = resamplingPlan(field(0.6, wild), { samplingCostPerHa: perHa(3) });
    expect(plan.nextYears).toBe(1);
  });

  it('ends the interval with the correction', () => {
    const quick = {
      ...P,
      annualRate: (t: number) => P.keepingKgHa + (Math.max(0, 20 - t) * P.kgHaPerUnit) / 2,
    };
    const plan = resamplingPlan([sampled(quick, 8, 0.4, still)], { samplingCostPerHa: gridCost });
    expect(plan.correctingYears).toBe(2);
    expect(plan.whileCorrecting).toMatchObject({ atMostYears: 2, limitedBy: 'end of correction' });
    expect(plan.nextYears).toBe(2);
    expect(plan.after.advisedYears).toBe(4);
    expect(sayPlan(plan, money)).toMatch(
      /but the rates change when the correction ends\..*then every 4 years\.$/,
    );
  });

  /**
   * Common practice, no source: yearly while correcting, every 2 to 4 years once levels are right; Bulletin 974 (Culman et al.
   * 2020): at least every four. A 5-acre grid costs a little over 5 USD an acre in the laboratory and 1 to 2 USD for
   * the sampler. At that price the model comes to 2 to 3 years for a field far below its levels; to a year only where
   * sampling is cheap.
   */
  it('agrees with common practice at the default drift', () => {
    expect(low.correctingYears).toBe(4);
    expect(low.whileCorrecting!.cheapestYears).toBeGreaterThanOrEqual(2);
    expect(low.whileCorrecting!.cheapestYears).toBeLessThanOrEqual(3);
    expect(low.whileCorrecting!.sameCostYears).toContain(2);
    expect(low.nextYears).toBeLessThan(low.after.advisedYears);
    expect(low.nextYears).toBeLessThanOrEqual(3);

    const cheap = resamplingPlan(field(0.45), { samplingCostPerHa: perHa(1.5) });
    expect(cheap.whileCorrecting!.sameCostYears).toContain(1);
    expect(cheap.nextYears).toBeLessThanOrEqual(2);

    const kept = resamplingPlan(field(1.7), { samplingCostPerHa: gridCost });
    expect(kept.correctingYears).toBe(0);
    expect(kept.after.cheapestYears).toBeGreaterThanOrEqual(2);
    expect(kept.after.advisedYears).toBeLessThanOrEqual(4);
    // A year costs clearly more than it saves.
    expect(kept.after.options[0].totalPerHa).toBeGreaterThan(kept.after.options[2].totalPerHa + perHa(2));
    expect(low.nextYears).toBeLessThanOrEqual(kept.nextYears);
  });

  it('says its figures', () => {
    const said = sayPlan(low, money, (id) => ({ P: 'phosphorus', K: 'potassium' })[id] ?? id);
    expect(said).toMatch(
      /^The advised rates are still raising phosphorus on \d+ % of the field, potassium on \d+ % of the field, which takes 4 years\. Sample again after \d years: yearly would cost \d\.\d\d USD per acre more a year than it saves; waiting \d years would lose \d\.\d\d USD per acre more a year than it saves\./,
    );
    expect(said).toContain(`then every ${low.after.advisedYears} years.`);
  });
});
