import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { lossOfRate } from '../../src/value/lossOfRate.ts';
import type { RateCase } from '../../src/value/rateCase.ts';
import { startOfRate } from '../../src/value/residualValue.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
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
