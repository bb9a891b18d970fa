import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { lossOfRate } from '../../src/value/lossOfRate.ts';
import type { RateCase } from '../../src/value/rateCase.ts';
import { startOfRate } from '../../src/value/residualValue.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { caseOf } from './made.ts';
import { limeCase, madeCases, phosphorusCase, potassiumCase } from './madeCases.ts';

/** Test after `year` years at a rate. */
const after = (c: RateCase, truth: number, rate: number, year: number) =>
  Math.max(0, truth + ((rate - c.keepingKgHa) * year) / c.kgHaPerUnit);

/** Worth of the yield lost, summed year by year. */
function yieldLost(c: RateCase, entered: number, truth: number, years: number): number {
  let sum = 0;
  for (let t = 1; t <= years; t++)
    sum +=
      c.relativeYield(after(c, truth, c.annualRate(truth), t)) -
      c.relativeYield(after(c, truth, c.annualRate(entered), t));
  return (c.cropWorthPerHa * Math.max(0, sum)) / years;
}

describe('loss of a rate', () => {
  it('is never below 0, and 0 for the truth itself', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...madeCases),
        fc.double({ min: -0.5, max: 3, noNaN: true }),
        fc.double({ min: -0.5, max: 3, noNaN: true }),
        fc.double({ min: 1, max: 10, noNaN: true }),
        (c, a, b, years) => {
          const { loss } = lossOfRate(c, years);
          const start = startOfRate(c);
          expect(loss(a * start, a * start)).toBe(0);
          const got = loss(a * start, b * start);
          expect(got).toBeGreaterThanOrEqual(0);
          expect(Number.isFinite(got)).toBe(true);
        },
      ),
    );
  });

  it('over many truths: the sum of what each loses, or at least what is enough', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...madeCases),
        fc.array(fc.double({ min: -0.2, max: 2.5, noNaN: true }), { minLength: 1, maxLength: 9 }),
        fc.double({ min: 0, max: 2.5, noNaN: true }),
        fc.double({ min: 1, max: 6, noNaN: true }),
        fc.double({ min: 0.05, max: 0.95, noNaN: true }),
        (c, shares, share, years, part) => {
          const { over, against, rateOf } = lossOfRate(c, years);
          const start = startOfRate(c);
          const truths = Float64Array.from(shares, (s) => s * start);
          const rate = rateOf(share * start);
          const whole = truths.reduce((sum, t) => sum + against(t)(rate), 0);
          const summed = over!(truths);
          expectWithin(summed(rate, Infinity), whole, 1e-9 * (1 + whole));
          const stopped = summed(rate, part * whole);
          expect(stopped).toBeGreaterThanOrEqual(part * whole);
          expect(stopped).toBeLessThanOrEqual(whole + 1e-9 * (1 + whole));
          // An earlier, longer row of truths leaves nothing behind.
          expectWithin(
            over!(truths.subarray(0, 1))(rate, Infinity),
            against(truths[0])(rate),
            1e-9 * (1 + whole),
          );
        },
      ),
    );
  });

  it('grows with the error on either side', () => {
    for (const c of madeCases)
      for (const years of [1, 4]) {
        const { loss } = lossOfRate(c, years);
        const start = startOfRate(c);
        for (const truth of [0.4, 0.7, 0.9, 0.99, 1.1].map((s) => s * start))
          for (const side of [-1, 1]) {
            let before = 0;
            for (let off = 0; off <= 0.6; off += 0.05) {
              const got = loss(truth + side * off * start, truth);
              expect(got, `${c.analyte} ${truth} ${side * off}`).toBeGreaterThanOrEqual(before - 1e-9);
              before = got;
            }
          }
      }
  });

  it('too little: the yield lost, year by year', () => {
    for (const [c, entered, truth] of [
      [phosphorusCase, 20, 8],
      [phosphorusCase, 60, 15],
      [phosphorusCase, 45, 30],
      [potassiumCase, 150, 110],
    ] as const)
      for (const years of [1, 3, 4, 6])
        expectRelative(
          lossOfRate(c, years).loss(entered, truth),
          yieldLost(c, entered, truth, years),
          1e-12,
          `${c.analyte} ${entered} ${truth} ${years}`,
        );
  });

  it('by hand: too little phosphorus for one year', () => {
    // Due 60 + 10·5.5 = 115 kg/ha, given 60: 10 stays 10 instead of 12.5.
    const lost = Math.pow(0.03, 10 / 20) - Math.pow(0.03, 12.5 / 20);
    expectRelative(lossOfRate(phosphorusCase, 1).loss(20, 10), 1700 * lost, 1e-12);
  });

  it('by hand: too much phosphorus where the field calls for it', () => {
    // 27.5 kg/ha a year too much at 10, back at the next sampling but for interest and what stays fixed.
    expectRelative(lossOfRate(phosphorusCase, 4).loss(5, 10), 27.5 * 1.3 * (1 - 0.8 * 1.06 ** -2.5), 1e-12);
  });

  it('by hand: above the cap all of the price', () => {
    expectRelative(lossOfRate(phosphorusCase, 4).loss(30, 80), 60 * 1.3, 1e-12);
  });

  it('the same surplus loses more the longer it lies idle', () => {
    const { loss } = lossOfRate(phosphorusCase, 4);
    const perKg = (truth: number) => loss(30, truth);
    expect(perKg(41)).toBeLessThan(perKg(50));
    expect(perKg(50)).toBeLessThan(perKg(58));
    expect(perKg(58)).toBeLessThan(perKg(65));
  });

  it('too much lime lowers the yield beside what it costs', () => {
    const { loss } = lossOfRate(limeCase, 4);
    // Without the fall no yield is lost, since more lime never stands lower.
    const noFall = { ...limeCase, relativeYield: (t: number) => limeCase.relativeYield(Math.min(t, 6.6)) };
    const [both, price] = [loss(5.6, 6.6), lossOfRate(noFall, 4).loss(5.6, 6.6)];
    expect(price).toBeGreaterThan(0);
    expectRelative(both - price, yieldLost(limeCase, 5.6, 6.6, 4), 1e-9);
    expect(yieldLost(limeCase, 5.6, 6.6, 4)).toBeGreaterThan(10);
  });

  it('too little and too much differ', () => {
    const { loss } = lossOfRate(phosphorusCase, 4);
    expect(loss(20, 10)).toBeGreaterThan(2 * loss(10, 20));
  });

  it('on a test below zero acts as on zero', () => {
    const { loss } = lossOfRate(phosphorusCase, 4);
    expect(loss(12, -5)).toBe(loss(12, 0));
    expect(loss(-5, 12)).toBe(loss(0, 12));
  });

  it('scales with prices', () => {
    const dear = { ...phosphorusCase, pricePerKg: 2.6, cropWorthPerHa: 3400 };
    for (const [entered, truth] of [
      [10, 30],
      [30, 10],
    ])
      expectWithin(
        lossOfRate(dear, 4).loss(entered, truth),
        2 * lossOfRate(phosphorusCase, 4).loss(entered, truth),
        1e-9,
      );
  });
});

describe('loss of a rate by guidance', () => {
  const plans = ['corn-soybean', 'wheat', 'alfalfa'];
  const tables = ['tri-state-1995', 'tri-state-2020', 'iowa-2013'];
  const casesOf = (analytes: readonly string[]) =>
    tables.flatMap((id) => plans.flatMap((plan) => analytes.map((analyte) => caseOf(id, plan, analyte))));
  const nutrients = casesOf(['P', 'K']);
  const all = [
    ...nutrients,
    ...casesOf(['pH', 'bufferPH']),
    ...['tri-state-1995', 'iowa-2013'].map((id) => caseOf(id, 'corn', 'Zn')),
  ];
  const share = fc.double({ min: 0.01, max: 4, noNaN: true });
  const P = caseOf('tri-state-2020', 'corn-soybean', 'P');
  const K = caseOf('tri-state-2020', 'corn-soybean', 'K');
  const criticalOf = (c: RateCase) => c.classes[0].below;

  it('none where the estimate is the truth, and never less than none', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...all),
        share,
        share,
        fc.integer({ min: 1, max: 10 }),
        (c, a, b, years) => {
          const { loss } = lossOfRate(c, years);
          const critical = criticalOf(c);
          expect(loss(a * critical, a * critical)).toBe(0);
          expect(loss(a * critical, b * critical)).toBeGreaterThanOrEqual(0);
        },
      ),
    );
  });

  it('further off costs no less', () => {
    fc.assert(
      fc.property(fc.constantFrom(...nutrients), share, share, share, (c, truth, a, b) => {
        const [near, far] = Math.abs(a - truth) < Math.abs(b - truth) ? [a, b] : [b, a];
        if (near < truth !== far < truth) return;
        const { loss } = lossOfRate(c, 4);
        const critical = criticalOf(c);
        expect(loss(far * critical, truth * critical)).toBeGreaterThanOrEqual(
          loss(near * critical, truth * critical) - 1e-9,
        );
      }),
    );
  });

  it('too much costs the surplus at its price, less what it is worth later: by hand', () => {
    // Bulletin 974: truth 20 ppm taken for 10: 50 lb an acre too much at 0.60 USD; it lifts the test to 30 of 40, so that half of
    // it comes back at the next sampling, 2.5 years later on average at 5 %. 1 ac is 0.40469 ha.
    expectRelative(lossOfRate(P, 4).loss(10, 20), (50 * 0.6 * (1 - 0.5 * 1.05 ** -2.5)) / 0.40468564, 1e-6);
  });

  it('too little costs yield: by hand', () => {
    // Truth 10 ppm taken for 20: the test stays at 10, meant were 2.5 ppm more every year.
    const meant = [12.5, 15, 17.5, 20].reduce((sum, test) => sum + 0.03 ** (test / 20), 0) / 4;
    expectRelative(lossOfRate(P, 4).loss(20, 10), (707.5 * (0.03 ** 0.5 - meant)) / 0.40468564, 1e-6);
  });

  it('in a poor field too little costs more than too much; in a rich one there is little to lose', () => {
    for (const c of [P, K]) {
      const { loss } = lossOfRate(c, 4);
      const critical = criticalOf(c);
      expect(loss(0.9 * critical, 0.5 * critical)).toBeGreaterThan(2 * loss(0.5 * critical, 0.9 * critical));
      expect(loss(3 * critical, 2.2 * critical)).toBe(0);
    }
  });
});

describe('values worth entering', () => {
  it('lie on both sides of a step, and on one of a kink', () => {
    const rates = lossOfRate(phosphorusCase, 4).tried.map(phosphorusCase.annualRate);
    expect(rates.map(Math.round).sort((a, b) => a - b)).toEqual([0, 60]);
    // At a falling rate's end: nothing, from one side only.
    expect(
      lossOfRate(potassiumCase, 4)
        .tried.map(potassiumCase.annualRate)
        .filter((r) => r > 0.01),
    ).toEqual([]);
    const lime = lossOfRate(limeCase, 4).tried.map((t) => Math.round(limeCase.annualRate(t)));
    expect(lime.sort((a, b) => a - b)).toEqual([0, 300]);
  });
});
