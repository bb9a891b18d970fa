import normalCdf from '@stdlib/stats-base-dists-normal-cdf';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { randomNormal, seededRandom } from '../../src/describe/index.ts';
import {
  bivariateNormal,
  classChance,
  classConfusion,
  classLimits,
  rightClassChance,
} from '../../src/value/classChance.ts';
import type { TestClass } from '../../src/value/rateCase.ts';
import { expectWithin } from '../reference/near.ts';
import { limeCase, phosphorusCase } from './madeCases.ts';

const accuracyOf = (truthSd: number, estimateSd: number, rho: number) => ({
  truthVariance: truthSd ** 2,
  estimateVariance: estimateSd ** 2,
  covariance: rho * truthSd * estimateSd,
});
const asIs = (y: number) => y;
const twoAt = (limit: number): readonly TestClass[] => [
  { label: 'low', below: limit },
  { label: 'high', below: Infinity },
];

/** P(X ≤ h, Y ≤ k) by Simpson's rule over x of φ(x)·Φ((k − ρx)/√(1 − ρ²)). */
function byIntegral(h: number, k: number, rho: number): number {
  const [from, steps] = [-9, 20_000];
  const width = (h - from) / steps;
  const at = (x: number) =>
    (Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI)) *
    normalCdf((k - rho * x) / Math.sqrt(1 - rho * rho), 0, 1);
  let sum = at(from) + at(h);
  for (let i = 1; i < steps; i++) sum += (i % 2 ? 4 : 2) * at(from + i * width);
  return (sum * width) / 3;
}

describe('the bivariate normal', () => {
  it('at the medians: 1/4 + asin(ρ)/2π (Sheppard 1899; from memory)', () => {
    for (const rho of [-1, -0.9, -0.5, 0, 0.3, 0.7, 0.95, 0.999, 0.999999, 1])
      expectWithin(bivariateNormal(0, 0, rho), 0.25 + Math.asin(rho) / (2 * Math.PI), 1e-9, `${rho}`);
  });

  it('is what integrating one normal given the other gives', () => {
    for (const rho of [-0.99, -0.6, -0.1, 0.2, 0.7, 0.95, 0.99, 0.999])
      for (const h of [-2.5, -1, 0, 0.3, 1.7])
        for (const k of [-3, -0.99, 0.001, 0.31, 2.2])
          expectWithin(bivariateNormal(h, k, rho), byIntegral(h, k, rho), 1e-8, `${h} ${k} ${rho}`);
  });

  it('of one and the same number: the lower limit decides', () => {
    for (const [h, k] of [
      [0.3, 0.3],
      [0.3, 0.30001],
      [-1, 2],
      [1.2, 1.25],
    ])
      expectWithin(bivariateNormal(h, k, 1), normalCdf(Math.min(h, k), 0, 1), 1e-8, `${h} ${k}`);
  });

  it('without limit on one side is that of the other alone', () => {
    expect(bivariateNormal(Infinity, 0.4, 0.6)).toBe(normalCdf(0.4, 0, 1));
    expect(bivariateNormal(0.4, Infinity, -0.6)).toBe(normalCdf(0.4, 0, 1));
    expect(bivariateNormal(-Infinity, 3, 0.6)).toBe(0);
    expect(bivariateNormal(Infinity, Infinity, 0.6)).toBe(1);
  });
});

describe('chance of the right class', () => {
  // P(same side) = 1/2 + asin(ρ)/π (Sheppard 1899, Phil. Trans. R. Soc. A 192: 101-167; from memory).
  it('of two classes parted at the median', () => {
    for (const rho of [-0.8, 0, 0.25, 0.6, 0.9, 0.99, 1])
      for (const estimateSd of [0.1, 0.4])
        expectWithin(
          classChance(twoAt(20), Math.exp, Math.log(20), accuracyOf(0.4, estimateSd, rho)),
          0.5 + Math.asin(rho) / Math.PI,
          1e-8,
          `${rho}`,
        );
  });

  it.each([
    ['P', phosphorusCase.classes, Math.exp, Math.log(18), accuracyOf(0.5, 0.4, 0.8)],
    ['P, vague', phosphorusCase.classes, Math.exp, Math.log(30), accuracyOf(0.6, 0.2, 0.3)],
    ['pH', limeCase.classes, asIs, 6.4, accuracyOf(0.5, 0.45, 0.9)],
  ] as const)('$0: as drawing truths and estimates has it', (_, classes, toUser, mean, accuracy) => {
    const draws = 200_000;
    const random = seededRandom(7);
    const sd = Math.sqrt(accuracy.truthVariance);
    const slope = accuracy.covariance / accuracy.truthVariance;
    const rest = Math.sqrt(accuracy.estimateVariance - slope * accuracy.covariance);
    const classOf = (value: number) => classes.findIndex((c) => value < c.below);
    const counts = new Float64Array(classes.length ** 2);
    for (let i = 0; i < draws; i++) {
      const truth = sd * randomNormal(random);
      const estimate = slope * truth + rest * randomNormal(random);
      counts[classOf(toUser(mean + truth)) * classes.length + classOf(toUser(mean + estimate))] += 1 / draws;
    }
    const limits = classLimits(classes, toUser, mean, sd);
    const confusion = classConfusion(limits, mean, accuracy);
    confusion.forEach((p, i) =>
      expectWithin(p, counts[i], 4 * Math.sqrt((p * (1 - p)) / draws) + 1e-6, `cell ${i}`),
    );
    let right = 0;
    for (let i = 0; i < classes.length; i++) right += confusion[i * classes.length + i];
    expectWithin(rightClassChance(limits, mean, accuracy), right, 1e-12);
    expectWithin(classChance(classes, toUser, mean, accuracy), right, 1e-9);
  });

  it('knowing everything: certain; of one class: certain', () => {
    expectWithin(classChance(phosphorusCase.classes, Math.exp, 3, accuracyOf(0.5, 0.5, 1)), 1, 1e-8);
    expect(classChance([{ label: 'any', below: Infinity }], asIs, 3, accuracyOf(0.5, 0.4, 0.2))).toBe(1);
  });

  it('knowing nothing: the chance of the class the mean lies in', () => {
    const sd = 0.5;
    const nothing = { truthVariance: sd * sd, estimateVariance: 0, covariance: 0 };
    const z = (limit: number) => normalCdf((Math.log(limit) - Math.log(15)) / sd, 0, 1);
    expectWithin(classChance(phosphorusCase.classes, Math.exp, Math.log(15), nothing), z(20) - z(10), 1e-9);
    expect(
      classChance(phosphorusCase.classes, Math.exp, Math.log(15), {
        truthVariance: 0,
        estimateVariance: 0,
        covariance: 0,
      }),
    ).toBe(1);
  });

  it('cells add up to 1, and rows to the classes’ shares', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1, max: 5, noNaN: true }),
        fc.double({ min: 0.05, max: 1.5, noNaN: true }),
        fc.double({ min: 0, max: 0.95, noNaN: true }),
        (mean, sd, share) => {
          // An unbiased map: the estimate varies as much as it knows.
          const of = (s: number) => ({
            truthVariance: sd * sd,
            estimateVariance: s * sd * sd,
            covariance: s * sd * sd,
          });
          const limits = classLimits(phosphorusCase.classes, Math.exp, mean, sd);
          const confusion = classConfusion(limits, mean, of(share));
          expectWithin(
            confusion.reduce((s, v) => s + v, 0),
            1,
            1e-7,
          );
          const count = limits.length + 1;
          for (let i = 0; i < count; i++) {
            let row = 0;
            for (let j = 0; j < count; j++) row += confusion[i * count + j];
            const upTo = (l: number) => normalCdf((l - mean) / sd, 0, 1);
            const of = upTo(i < limits.length ? limits[i] : Infinity) - (i > 0 ? upTo(limits[i - 1]) : 0);
            expectWithin(row, of, 1e-7);
          }
        },
      ),
    );
  });

  it('limits out of reach are infinite, and steps of the scale are found', () => {
    const flat = (y: number) => (y < 0 ? 5 : 15);
    const limits = classLimits(phosphorusCase.classes, flat, 0.2, 1);
    expectWithin(limits[0], 0, 1e-9);
    expect([...limits.slice(1)]).toEqual([Infinity, Infinity]);
    expect(classLimits(twoAt(3), flat, 0.2, 1)[0]).toBe(-Infinity);
  });
});
