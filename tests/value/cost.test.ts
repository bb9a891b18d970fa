import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { gridStops, nominalStops } from '../../src/design/index.ts';
import { routeLengthOf } from '../../src/design/route.ts';
import { acresToHa } from '../../src/units/index.ts';
import {
  costOfSampling,
  paces,
  usualCostRates,
  type CostRates,
  type SamplingPlan,
} from '../../src/value/cost.ts';
import { quarterSection } from '../design/shapes.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

const quarter = acresToHa(160);
const stops = gridStops(quarterSection, nominalStops(quarter, acresToHa(5))).xy;
const fiveAcres: SamplingPlan = {
  areaHa: quarter,
  samples: stops.length / 2,
  coresPerSample: 10,
  places: stops.length / 2,
  routeM: routeLengthOf(stops, { startAt: [0, 0], returns: true }),
};
const hired: CostRates = { ...usualCostRates, sampler: 'hired' };
/** What makes a sampling cheaper the more there is of it. */
const FALLING = { samplesPerParcel: true, metresPerHour: true, hoursPerVisit: true };
type Falling = keyof typeof FALLING;
type Rising = Exclude<keyof CostRates, Falling | 'sampler' | 'countOwnTime'>;
const ITEMS = ['laboratory', 'shipping', 'labour', 'hired', 'mapping', 'travel'] as const;

const amount = (min: number, max: number) => fc.double({ min, max, noNaN: true });
const anyPlan: fc.Arbitrary<SamplingPlan> = fc.record(
  {
    areaHa: amount(0.1, 500),
    samples: fc.integer({ min: 1, max: 500 }),
    coresPerSample: fc.integer({ min: 1, max: 40 }),
    places: fc.integer({ min: 1, max: 5000 }),
    routeM: amount(0, 50_000),
    visits: fc.integer({ min: 1, max: 9 }),
    mapped: fc.boolean(),
  },
  { requiredKeys: ['areaHa', 'samples', 'coresPerSample', 'places', 'routeM'] },
);
const anyRates: fc.Arbitrary<CostRates> = fc.record({
  labPrice: amount(0, 100),
  shippingPerParcel: amount(0, 50),
  samplesPerParcel: fc.integer({ min: 1, max: 60 }),
  shippingPerSample: amount(0, 3),
  minutesPerSample: amount(0, 10),
  minutesPerPlace: amount(0, 5),
  minutesPerCore: amount(0, 5),
  metresPerHour: amount(1000, 20_000),
  hoursPerVisit: amount(1, 12),
  travelMinutesPerVisit: amount(0, 120),
  travelCostPerVisit: amount(0, 100),
  sampler: fc.constantFrom('own', 'hired'),
  labourPerHour: amount(0, 100),
  countOwnTime: fc.boolean(),
  hiredPerHa: amount(0, 20),
  hiredPerSample: amount(0, 20),
  mappingPerHa: amount(0, 20),
});

// Common practice, no source.
describe('a 5-acre grid on a quarter section', () => {
  it('32 samples of 27.50 USD: 5.50 USD an acre for the laboratory', () => {
    const cost = costOfSampling(fiveAcres, usualCostRates);
    expect(fiveAcres.samples).toBe(32);
    expectRelative(cost.laboratory / 160, 5.5, 1e-12);
  });

  it('a hired sampler takes 1 to 2 USD an acre, and nothing else is paid for the work', () => {
    const cost = costOfSampling(fiveAcres, hired);
    expect(cost.hired / 160).toBeGreaterThanOrEqual(1);
    expect(cost.hired / 160).toBeLessThanOrEqual(2);
    expect(cost.labour + cost.travel).toBe(0);
  });

  it('10 cores at each stop on foot: 4 to 6 hours; less on a utility vehicle', () => {
    const onFoot = costOfSampling(fiveAcres, usualCostRates);
    expect(onFoot.hours).toBeGreaterThan(4);
    expect(onFoot.hours).toBeLessThan(6);
    expect(onFoot.visits).toBe(1);
    const driven = costOfSampling(fiveAcres, { ...usualCostRates, metresPerHour: paces.utilityVehicle });
    expect(driven.hours).toBeLessThan(onFoot.hours);
    // Cores are pulled by hand either way.
    expect(driven.hours).toBeGreaterThan(3);
  });

  it('own work at its wage comes to about what a hired sampler asks', () => {
    const { labour, travel } = costOfSampling(fiveAcres, usualCostRates);
    expect((labour + travel) / 160).toBeGreaterThan(1);
    expect((labour + travel) / 160).toBeLessThan(2);
  });
});

describe('cost of one sampling, item by item', () => {
  const rates: CostRates = {
    labPrice: 20,
    shippingPerParcel: 12,
    samplesPerParcel: 5,
    shippingPerSample: 1,
    minutesPerSample: 3,
    minutesPerPlace: 2,
    minutesPerCore: 1,
    metresPerHour: 4000,
    hoursPerVisit: 2,
    travelMinutesPerVisit: 30,
    travelCostPerVisit: 10,
    sampler: 'own',
    labourPerHour: 60,
    countOwnTime: true,
    hiredPerHa: 4,
    hiredPerSample: 2,
    mappingPerHa: 1.5,
  };
  const plan: SamplingPlan = { areaHa: 40, samples: 12, coresPerSample: 8, places: 12, routeM: 6000 };

  it('by hand: 12 samples of 8 cores', () => {
    // 12·3 + 12·2 + 96·1 = 156 minutes and 1.5 hours on the way between: 4.1 hours, so three days of two.
    const cost = costOfSampling(plan, rates);
    const expected = {
      laboratory: 240,
      shipping: 3 * 12 + 12,
      labour: 4.1 * 60,
      hired: 0,
      mapping: 60,
      travel: 3 * 10 + 1.5 * 60,
      hours: 5.6,
      visits: 3,
      walkM: 6000,
      total: 240 + 48 + 246 + 60 + 120,
    };
    expect(Object.keys(cost).sort()).toEqual(Object.keys(expected).sort());
    for (const [key, value] of Object.entries(expected))
      expectWithin(cost[key as keyof typeof cost], value, 1e-9, key);
  });

  it('by hand: hired, own time not counted, fewer visits, no map', () => {
    expectRelative(costOfSampling(plan, { ...rates, sampler: 'hired' }).hired, 40 * 4 + 12 * 2, 1e-12);
    const free = costOfSampling(plan, { ...rates, countOwnTime: false });
    expect([free.labour, free.travel]).toEqual([0, 30]);
    expectRelative(free.hours, 5.6, 1e-12);
    const once = costOfSampling({ ...plan, visits: 1 }, rates);
    expectRelative(once.travel, 40, 1e-12);
    expect(costOfSampling({ ...plan, mapped: false }, rates).mapping).toBe(0);
    expect(costOfSampling({ ...plan, samples: 1 }, rates).mapping).toBe(0);
  });

  it('nothing sampled costs nothing', () => {
    const none = { areaHa: 40, samples: 0, coresPerSample: 8, places: 0, routeM: 0 };
    for (const sampler of ['own', 'hired'] as const) {
      const cost = costOfSampling(none, { ...rates, sampler });
      expect([cost.total, cost.hours, cost.visits]).toEqual([0, 0, 0]);
    }
  });

  it('the items add up to the total, none is below 0, and pay goes to one of the two', () => {
    fc.assert(
      fc.property(anyPlan, anyRates, (p, r) => {
        const cost = costOfSampling(p, r);
        const sum = ITEMS.reduce((s, item) => s + cost[item], 0);
        expectWithin(cost.total, sum, 1e-9 * (1 + sum));
        for (const item of ITEMS) expect(cost[item]).toBeGreaterThanOrEqual(0);
        expect(r.sampler === 'hired' ? cost.labour + cost.travel : cost.hired).toBe(0);
        expect(cost.visits).toBeGreaterThanOrEqual(1);
        if (p.visits === undefined)
          expect(cost.hours).toBeLessThanOrEqual(
            cost.visits * (r.hoursPerVisit + r.travelMinutesPerVisit / 60) + 1e-9,
          );
      }),
    );
  });

  it('nothing is cheaper with more of anything', () => {
    const rising = Object.keys(usualCostRates).filter(
      (key): key is Rising => !(key in FALLING) && typeof usualCostRates[key as Rising] === 'number',
    );
    expect(rising.length).toBe(12);
    fc.assert(
      fc.property(anyPlan, anyRates, amount(1, 3), (p, r, factor) => {
        const { total } = costOfSampling(p, r);
        const most = total * (1 + 1e-9) + 1e-9;
        for (const key of rising)
          expect(costOfSampling(p, { ...r, [key]: r[key] * factor }).total).toBeGreaterThanOrEqual(
            total - 1e-9 * (1 + total),
          );
        for (const key of Object.keys(FALLING) as Falling[])
          expect(costOfSampling(p, { ...r, [key]: r[key] * factor }).total).toBeLessThanOrEqual(most);
        for (const key of ['samples', 'coresPerSample', 'places', 'routeM'] as const)
          expect(
            costOfSampling({ ...p, [key]: Math.ceil(p[key] * factor) }, r).total,
            key,
          ).toBeGreaterThanOrEqual(total - 1e-9 * (1 + total));
      }),
    );
  });

  it('says what is wrong with it', () => {
    expect(() => costOfSampling({ ...plan, samples: -1 }, rates)).toThrow('samples is 0 or more, not -1');
    expect(() => costOfSampling({ ...plan, routeM: NaN }, rates)).toThrow('routeM');
    expect(() => costOfSampling(plan, { ...rates, metresPerHour: 0 })).toThrow(
      'metresPerHour is above 0, not 0',
    );
  });
});
