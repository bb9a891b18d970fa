import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { randomNormal, seededRandom } from '../../src/describe/index.ts';
import {
  addedVariance,
  agedLeast,
  keepingBand,
  meantChange,
  yearlyChange,
  type Ageing,
  type DriftModel,
} from '../../src/value/drift.ts';
import { driftModelOf, driftRows } from '../../src/value/driftDefaults.ts';
import type { RateCase } from '../../src/value/rateCase.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

/** Buildup to 20 over four years, keeping to 40, none above; 50 kg/ha keep it, 40 lift it by 1. */
const rateCase: RateCase = {
  analyte: 'P',
  input: 'P2O5',
  annualRate: (test) => (test > 40 ? 0 : 50 + (Math.max(0, 20 - test) * 40) / 4),
  keepingKgHa: 50,
  kgHaPerUnit: 40,
  relativeYield: (test) => 1 - 0.03 ** (Math.max(0, test) / 20),
  pricePerKg: 1.3,
  cropWorthPerHa: 1700,
  availableShare: 0.9,
  discountRate: 0.05,
  bends: [20, 40],
  classes: [
    { label: 'low', below: 20 },
    { label: 'enough', below: Infinity },
  ],
  source: 'invented',
};
const drift: DriftModel = {
  wanderSd: 0.1,
  wanderIn: 'share',
  buildupCv: 0.4,
  keepingYearlyCv: 0.25,
  keepingLastingCv: 0.15,
};
const still: DriftModel = {
  wanderSd: 0,
  wanderIn: 'share',
  buildupCv: 0,
  keepingYearlyCv: 0,
  keepingLastingCv: 0,
};

describe('the band that rates keep a test in', () => {
  it('lies between the end of buildup and the start of drawdown', () => {
    const band = keepingBand(rateCase);
    expectWithin(band.from, 20, 1e-4);
    expectWithin(band.to, 40, 1e-4);
  });

  it('is where a table of steps crosses what keeps', () => {
    const steps = {
      ...rateCase,
      annualRate: (t: number) => (t < 10 ? 90 : t < 30 ? 60 : 20),
      bends: [10, 30],
    };
    const band = keepingBand(steps);
    expectWithin(band.from, 30, 1e-4);
    expectWithin(band.to, 30, 1e-4);
  });

  it('is open where nothing builds up or draws down', () => {
    expect(keepingBand({ ...rateCase, annualRate: () => 50 })).toEqual({ from: 0, to: Infinity });
    expect(keepingBand({ ...rateCase, annualRate: () => 0 })).toEqual({ from: 0, to: 0 });
  });
});

describe('the change a plan means', () => {
  const band = keepingBand(rateCase);
  it('raises evenly to the band in the four years of the buildup, and keeps it there', () => {
    expect(yearlyChange(rateCase, 12)).toBeCloseTo(2, 12);
    for (const years of [1, 2, 4]) expectWithin(meantChange(rateCase, band, 12, years), 2 * years, 1e-4);
    expectWithin(meantChange(rateCase, band, 12, 7), 8, 1e-4);
  });
  it('is none within the band', () => {
    for (const test of [20.1, 30, 40]) expect(meantChange(rateCase, band, test, 5)).toBeCloseTo(0, 12);
  });
  it('draws down by what crops remove, no further than the band', () => {
    expectWithin(meantChange(rateCase, band, 60, 4), -5, 1e-12);
    expectWithin(meantChange(rateCase, band, 41, 4), -1, 1e-4);
  });
});

describe('the variance that years add', () => {
  /**
   * Blocks followed year by year through the balance itself: each with its own answer to input and its own removal, and every
   * year with a removal and a step of its own.
   */
  function simulated(test: number, years: number, blocks: number): number {
    const random = seededRandom(7 + years + test);
    const normal = () => randomNormal(random);
    const band = keepingBand(rateCase);
    const lognormalSd = Math.sqrt(Math.log1p(drift.buildupCv ** 2));
    let [sum, squares] = [0, 0];
    for (let b = 0; b < blocks; b++) {
      // Lognormal with mean 1: no block answers input by falling.
      const answer = Math.exp(lognormalSd * normal() - lognormalSd ** 2 / 2);
      const ownUse = drift.keepingLastingCv * normal();
      let value = test;
      for (let year = 1; year <= years; year++) {
        const meant = meantChange(rateCase, band, test, year) - meantChange(rateCase, band, test, year - 1);
        const use = rateCase.keepingKgHa * (ownUse + drift.keepingYearlyCv * normal());
        value += meant * answer - use / rateCase.kgHaPerUnit + drift.wanderSd * test * normal();
      }
      sum += value;
      squares += value * value;
    }
    return squares / blocks - (sum / blocks) ** 2;
  }

  it('is that of simulated blocks, while built up, kept and drawn down', () => {
    const blocks = 40_000;
    for (const test of [8, 30, 70])
      for (const years of [1, 3, 6]) {
        const change = meantChange(rateCase, keepingBand(rateCase), test, years);
        // A sample variance errs by √(2/n), 0.7 %, more with the lognormal's tail.
        expectRelative(
          addedVariance(rateCase, drift, test, change, years),
          simulated(test, years, blocks),
          0.04,
          `${test} after ${years}`,
        );
      }
  });

  it('grows with time, and faster the more the plan moves the test', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1, max: 100, noNaN: true }),
        fc.integer({ min: 1, max: 5 }),
        fc.double({ min: 0.1, max: 5, noNaN: true }),
        (test, years, perYear) => {
          const at = (t: number, g: number) => addedVariance(rateCase, drift, test, g * t, t);
          expect(at(years + 1, perYear)).toBeGreaterThan(at(years, perYear));
          expect(at(years, 1.5 * perYear)).toBeGreaterThan(at(years, perYear));
        },
      ),
    );
  });
});

describe('least loss at an aged estimate', () => {
  const band = keepingBand(rateCase);
  const log: Ageing = {
    rateCase,
    band,
    working: { forward: Math.log, inverse: Math.exp },
    drift,
    fieldSd: 0.5,
  };
  /** Keeps what it was asked. */
  const asked = (
    ageing: Ageing,
    age: number,
    atYears: number,
    settled: boolean,
    middle: number,
    sd: number,
  ) => {
    let kept = [NaN, NaN];
    agedLeast((m, s) => ((kept = [m, s]), 0), ageing, age, atYears, settled)(middle, sd);
    return { middle: kept[0], sd: kept[1] };
  };

  it('is the fresh one at age 0, and at any age when nothing strays', () => {
    for (const test of [8, 30, 70]) {
      const y = Math.log(test);
      expect(asked(log, 0, 0, false, y, 0.3)).toEqual({ middle: y, sd: 0.3 });
      expect(asked({ ...log, drift: still }, 5, 0, false, y, 0.3)).toEqual({ middle: y, sd: 0.3 });
    }
  });

  it('adds on the logarithmic scale the squared CV of what is added', () => {
    const { sd } = asked(log, 3, 0, true, Math.log(30), 0.3);
    expectRelative(sd ** 2 - 0.3 ** 2, addedVariance(rateCase, drift, 30, 0, 3) / 30 ** 2, 0.005);
  });

  it('adds as it is on the raw scale', () => {
    const raw = { ...log, working: { forward: (v: number) => v, inverse: (y: number) => y }, fieldSd: 8 };
    const { sd } = asked(raw, 3, 0, false, 12, 2);
    expectRelative(sd ** 2 - 4, addedVariance(rateCase, drift, 12, 6, 3), 1e-4);
  });

  it('is taken where the plan has brought the test', () => {
    expectWithin(asked(log, 1, 2, false, Math.log(12), 0.3).middle, Math.log(16), 1e-5);
    // After the correction nothing more is meant to move, so less is unsure than while it lasts.
    const [during, after] = [false, true].map((s) => asked(log, 2, 4, s, Math.log(12), 0.3));
    expectWithin(after.middle, Math.log(20), 1e-5);
    expect(after.sd).toBeLessThan(during.sd);
  });

  it('stays finite on the flat of a table of normal scores', () => {
    const flat = {
      ...log,
      working: {
        forward: (v: number) => (v - 20) / 10,
        inverse: (y: number) => 20 + 10 * Math.sign(y) * Math.max(0, Math.abs(y) - 0.5),
      },
      fieldSd: 1,
    };
    expect(asked(flat, 2, 0, false, 0, 0.3).sd).toBeLessThan(5);
  });
});

describe('default drift', () => {
  it('is held for P, K, pH, buffer pH and zinc, says its source, and is of a believable size', () => {
    for (const id of ['P', 'K', 'pH', 'bufferPH', 'Zn']) expect(driftModelOf(id)?.analytes).toContain(id);
    expect(driftModelOf('OM')).toBeUndefined();
    for (const row of driftRows) {
      expect(row.source).toMatch(/judgement of this project/);
      for (const cv of [row.buildupCv, row.keepingYearlyCv, row.keepingLastingCv]) {
        expect(cv).toBeGreaterThan(0);
        expect(cv).toBeLessThan(1);
      }
    }
  });
});
