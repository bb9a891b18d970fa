import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { normalQuantile } from '../../src/describe/index.ts';
import { bestEntry, type LeastLoss } from '../../src/value/expectedLoss.ts';
import { addedVariance, keepingBand, type DriftModel } from '../../src/value/drift.ts';
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
import { withTabulatedResponse } from '../../src/value/tabulatedResponse.ts';
import { acresToHa, lbPerAcToKgPerHa } from '../../src/units/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { caseOf } from './made.ts';

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

const log = { forward: Math.log, inverse: Math.exp };
const asIs = { forward: (v: number) => v, inverse: (y: number) => y };

/** A property whose map knows `share` of the variance of a field, lognormal but for pH; `sd` on that scale. */
function sampled(
  rateCase: RateCase,
  median: number,
  sd: number,
  drift: DriftModel = driftModelOf(rateCase.analyte)!,
  share = 0.6,
): SampledProperty {
  const working = rateCase.analyte === 'pH' ? asIs : log;
  const truthVariance = sd ** 2;
  const known = share * truthVariance;
  return {
    rateCase,
    working,
    drift,
    leastFor: (years) => {
      const decision = lossOfRate(rateCase, years);
      return (middle, left) => bestEntry(decision, working.inverse, middle, left).loss;
    },
    members: [
      {
        mean: working.forward(median),
        accuracy: { truthVariance, estimateVariance: known, covariance: known },
      },
    ],
  };
}

const [P, K] = ['P', 'K'].map((analyte) => caseOf('tri-state-2020', 'corn-soybean', analyte));
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
    working: asIs,
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
      /^The advised rates are still raising phosphorus on \d+ % of the field, potassium on \d+ %, which takes 4 years\. Sample again after \d years: yearly would cost \d\.\d\d USD per acre more a year than it saves; waiting \d years would lose \d\.\d\d USD per acre more a year than it saves\./,
    );
    expect(said).toContain(`then every ${low.after.advisedYears} years.`);
  });
});

/** Tests of one guidance as fields far below where its rates keep them, and where they are right; spreads as published CVs. */
function propertiesBy(guidance: string, where: 'low' | 'right'): readonly SampledProperty[] {
  const asked = [
    ['corn-soybean', 'P', 0.5, 0.5, 1.7],
    ['corn-soybean', 'K', 0.3, 0.5, 1.4],
    ['corn-soybean', 'pH', 0.35, -0.5, 0.45],
    // The bulletin of 2020 is held without zinc.
    ...(guidance === 'tri-state-2020' ? [] : [['corn', 'Zn', 0.5, 0.4, 2] as const]),
  ] as const;
  return asked.map(([plan, analyte, sd, low, right]) => {
    const c = withTabulatedResponse(caseOf(guidance, plan, analyte));
    const { from } = keepingBand(c);
    const away = where === 'low' ? low : right;
    return sampled(c, analyte === 'pH' ? from + away : from * away, sd);
  });
}

describe.each(['tri-state-1995', 'tri-state-2020', 'iowa-2013'])(
  'phosphorus, potassium, pH and zinc by %s',
  (id) => {
    const [low, right] = [propertiesBy(id, 'low'), propertiesBy(id, 'right')];
    const gridCost = perHa(7);

    it('a low field is being corrected, one that is right is not', () => {
      for (const p of low) {
        const state = correctionState(p);
        expect(state.shareBelow, state.analyte).toBeGreaterThan(0.75);
        expect(state.years, state.analyte).toBeGreaterThan(2);
      }
      for (const p of right) {
        const state = correctionState(p);
        expect(state.shareBelow, state.analyte).toBeLessThan(0.2);
        expect(state.years, state.analyte).toBe(0);
      }
    });

    it('losses grow with age, and by more where a field is being corrected', () => {
      low.forEach((p, i) => {
        const grown = [p, right[i]].map((of) => {
          const at = lossAtAge(of, 0, false, 4);
          const byAge = [0, 1, 2, 3, 4].map((age) => at(age, 4));
          for (let age = 1; age <= 4; age++)
            expect(byAge[age], `${p.rateCase.analyte}, ${age}`).toBeGreaterThan(byAge[age - 1]);
          return byAge[4] - byAge[0];
        });
        // Deep in a table's lowest class one rate serves all: there is little that an old test could get wrong.
        const { annualRate } = p.rateCase;
        const middle = p.working.inverse(p.members[0].mean);
        if (annualRate(0.8 * middle) > annualRate(1.2 * middle))
          expect(grown[0], p.rateCase.analyte).toBeGreaterThan(grown[1]);
      });
    });

    it('what a sampling serves adds up', () => {
      const together = resamplingPlan(right, { samplingCostPerHa: gridCost }).after.options;
      const alone = right.map((p) => resamplingPlan([p], { samplingCostPerHa: gridCost }).after.options);
      together.forEach((o, i) =>
        expectRelative(
          o.lossPerHa,
          alone.reduce((sum, of) => sum + of[i].lossPerHa, 0),
          1e-12,
        ),
      );
    });

    // Common practice, no source: lime and zinc by themselves are sampled for every three to four years.
    it('lime or zinc alone is no reason to sample a field that is right more often than every third year', () => {
      for (const p of right.filter((of) => ['pH', 'Zn'].includes(of.rateCase.analyte))) {
        const { after } = resamplingPlan([p], { samplingCostPerHa: gridCost });
        expect(after.cheapestYears, p.rateCase.analyte).toBeGreaterThanOrEqual(3);
        expect(after.advisedYears, p.rateCase.analyte).toBe(GUIDANCE_LONGEST_YEARS);
      }
    });

    // As for the advice on P and K above.
    it('all together agree with common practice', () => {
      const correcting = resamplingPlan(low, { samplingCostPerHa: gridCost });
      const kept = resamplingPlan(right, { samplingCostPerHa: gridCost });
      expect(correcting.nextYears).toBeLessThanOrEqual(3);
      expect(kept.nextYears).toBeGreaterThanOrEqual(3);
      expect(kept.nextYears).toBeLessThanOrEqual(4);
      expect(correcting.nextYears).toBeLessThanOrEqual(kept.nextYears);
    });
  },
);

describe('the correction of lime and zinc, by hand', () => {
  it('pH to 6.25, where tri-state lime starts', () => {
    // 0.1 pH of wandering: Φ((6.15 − 6)/0.35).
    const state = correctionState(sampled(caseOf('tri-state-2020', 'corn-soybean', 'pH'), 6, 0.35));
    expectWithin(state.shareBelow, 0.666, 0.02);
    // The lowest quarter ends at 6 − 0.6745·0.35 = 5.764. A quarter of what is short of 6.5 a year, less 200 lb of lime a
    // year at 3 tons for a unit of pH: (6.25 − 5.764)/((6.5 − 5.764)/4 − 200/6000) years.
    expectWithin(state.years, 3.22, 0.05);
  });

  it('zinc to 0.9 ppm, where Iowa’s rates end', () => {
    const c = caseOf('iowa-2013', 'corn', 'Zn');
    const state = correctionState(sampled(c, 0.8, 0.5));
    // 12 % of wandering: Φ(ln(0.9/1.12/0.8)/0.5).
    expectWithin(state.shareBelow, 0.504, 0.02);
    // 10 lb once to below 0.5 ppm lift a quarter of it a year, less what corn takes; the rest is halved.
    const lift = (lbOnce: number) => (lbPerAcToKgPerHa(lbOnce / 4) - c.keepingKgHa) / c.kgHaPerUnit;
    const waits = Array.from({ length: 2000 }, (_, i) => {
      const test = 0.8 * Math.exp(0.5 * normalQuantile((i + 0.5) / 2000));
      return test * 1.12 > 0.9 ? 0 : (0.9 - test) / lift(test < 0.5 ? 10 : 5);
    }).sort((a, b) => a - b);
    expectWithin(state.years, waits[1500], 0.1);
  });
});
