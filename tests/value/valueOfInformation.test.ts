import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { bestEntry, expectedLoss, evenDeviates } from '../../src/value/expectedLoss.ts';
import { lossOfRate, type LossOfRate } from '../../src/value/lossOfRate.ts';
import {
  decisionBefore,
  valueOfInformation,
  valueOfPerfectInformation,
} from '../../src/value/valueOfInformation.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { limeCase, madeCases, phosphorusCase } from './madeCases.ts';

const asIs = (y: number) => y;
const P = lossOfRate(phosphorusCase, 4);

/** Accuracy of a map that knows `share` of the truth's variance. */
const mapOf = (sd: number, share: number) => ({
  truthVariance: sd * sd,
  estimateVariance: share * sd * sd,
  covariance: share * sd * sd,
});
const members = [
  { mean: Math.log(18), sd: 0.3 },
  { mean: Math.log(22), sd: 0.5 },
  { mean: Math.log(15), sd: 0.6 },
  { mean: Math.log(30), sd: 0.4 },
];
const designLosses = (decision: LossOfRate, share: number) =>
  members.map((m) => expectedLoss(decision, Math.exp, m.mean, mapOf(m.sd, share)));

/** Loses the square of the error: the textbook case with known answers. */
const squaredError: LossOfRate = {
  loss: (entered, truth) => (entered - truth) ** 2,
  rateOf: asIs,
  against: (truth) => (rate) => (rate - truth) ** 2,
  tried: [],
};

describe('the decision before sampling', () => {
  it('under squared error: the mean, which loses the variance and the squared distance of each member’s mean', () => {
    const two = [
      { mean: 10, sd: 1 },
      { mean: 14, sd: 2 },
    ];
    const { entered, losses } = decisionBefore(squaredError, asIs, two);
    expect(entered).toBe(12);
    expectWithin(losses[0], 1 + 4, 1e-9);
    expectWithin(losses[1], 4 + 4, 1e-9);
  });

  it('of one member is its best single rate', () => {
    for (const m of members)
      expectRelative(
        decisionBefore(P, Math.exp, [m]).losses[0],
        bestEntry(P, Math.exp, m.mean, m.sd).loss,
        0.03,
      );
  });

  it('is one rate for all: under no member better than that member’s own', () => {
    const { losses } = decisionBefore(P, Math.exp, members);
    // Thirty-two quantiles of all members are tried here, other values than there.
    members.forEach((m, i) =>
      expect(losses[i]).toBeGreaterThan(0.97 * bestEntry(P, Math.exp, m.mean, m.sd).loss),
    );
  });

  it('no value entered from far below to far above loses less', () => {
    for (const c of madeCases) {
      const decision = lossOfRate(c, 4);
      const [toUser, own] =
        c === limeCase
          ? [asIs, members.map((m) => ({ mean: 6.3 + 0.2 * (m.mean - 3), sd: 0.7 * m.sd }))]
          : [Math.exp, members.map((m) => ({ ...m, mean: m.mean + (c === phosphorusCase ? 0 : 1.8) }))];
      const of = (entered: number) =>
        own.reduce(
          (s, m) =>
            s +
            evenDeviates.reduce((t, d) => t + decision.loss(entered, toUser(m.mean + m.sd * d)), 0) / 32 / 4,
          0,
        );
      const { entered, losses } = decisionBefore(decision, toUser, own);
      const least = losses.reduce((s, v) => s + v, 0) / 4;
      expectRelative(of(entered), least, 1e-9);
      const level = toUser(own[0].mean);
      for (let k = 0.02; k < 4; k += 0.02)
        expect(of(k * level), `${c.analyte} ${k * level}`).toBeGreaterThan(0.985 * least);
    }
  });

  it('needs a member', () => {
    expect(() => decisionBefore(P, Math.exp, [])).toThrow(RangeError);
  });
});

describe('value of information', () => {
  it('under squared error: what the design takes off the variance (Raiffa & Schlaifer 1961)', () => {
    const one = [{ mean: 10, sd: 2 }];
    const before = decisionBefore(squaredError, asIs, one).losses;
    for (const share of [0, 0.3, 0.8, 1]) {
      const after = [expectedLoss(squaredError, asIs, 10, mapOf(2, share))];
      expectWithin(valueOfInformation(before, after).mid, 4 * share, 1e-9);
    }
    expectWithin(valueOfPerfectInformation(before).mid, 4, 1e-9);
  });

  it('grows with accuracy, from little to all that perfect knowledge is worth', () => {
    const before = decisionBefore(P, Math.exp, members).losses;
    const perfect = valueOfPerfectInformation(before);
    let last = -1;
    for (const share of [0, 0.2, 0.4, 0.6, 0.8, 0.95, 1]) {
      const value = valueOfInformation(before, designLosses(P, share));
      expect(value.mid, `share ${share}`).toBeGreaterThan(last);
      expect(value.mid).toBeLessThanOrEqual(perfect.mid + 1e-9);
      expect(value.low).toBeLessThanOrEqual(value.high);
      last = value.mid;
    }
    expectRelative(last, perfect.mid, 1e-6);
  });

  it('is never below zero in the mean, whatever the belief', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.record({
            mean: fc.double({ min: 2, max: 4.5, noNaN: true }),
            sd: fc.double({ min: 0.05, max: 0.8, noNaN: true }),
          }),
          { minLength: 1, maxLength: 6 },
        ),
        fc.double({ min: 0, max: 1, noNaN: true }),
        (belief, share) => {
          const before = decisionBefore(P, Math.exp, belief).losses;
          const after = belief.map((m) => expectedLoss(P, Math.exp, m.mean, mapOf(m.sd, share)));
          // Within the coarseness of 32 quantiles.
          expect(valueOfInformation(before, after).mid).toBeGreaterThan(-0.5);
        },
      ),
      { numRuns: 60 },
    );
  });

  it('means over members, and 10 and 90 of 100', () => {
    const before = Float64Array.from({ length: 100 }, (_, i) => i + 1);
    const { low, mid, high } = valueOfInformation(before, new Float64Array(100));
    expect([low, mid, high]).toEqual([10, 50.5, 90]);
    expect(() => valueOfInformation(before, [1])).toThrow(RangeError);
  });
});
