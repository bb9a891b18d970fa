import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { NEAR_BEST_PER_HA_YEAR } from '../../src/advise/verdict.ts';
import { normalQuantile } from '../../src/describe/index.ts';
import {
  bestSingleRateLoss,
  expectedLoss,
  expectedLossBy,
  rateEquationOf,
  rateLoss,
  tableLeastLoss,
  type RateEquation,
} from '../../src/value/index.ts';
import { expectRelative } from '../reference/near.ts';

const asIs = (y: number) => y;
const P = rateEquationOf('P', 'corn-soybean')!;
const K = rateEquationOf('K', 'corn-soybean')!;
const equations = (['corn-soybean', 'wheat', 'alfalfa'] as const).flatMap((crop) =>
  (['P', 'K'] as const).map((id) => rateEquationOf(id, crop)!),
);

/** Accuracy of a map that knows `share` of the truth's variance, its errors uncorrelated with it. */
const mapOf = (truthVariance: number, share: number) => ({
  truthVariance,
  estimateVariance: share * truthVariance,
  covariance: share * truthVariance,
});
const lossOf = (e: RateEquation, middle: number, logSd: number, share: number) =>
  expectedLoss(e, Math.exp, Math.log(middle), mapOf(logSd ** 2, share), 4);

/** The same by a fine grid of estimates, truths and rates. */
function finely(e: RateEquation, middle: number, logSd: number, share: number): number {
  const even = (n: number) => Array.from({ length: n }, (_, i) => normalQuantile((i + 0.5) / n));
  const [truths, estimates] = [even(150), share > 0 ? even(40) : [0]];
  const left = logSd * Math.sqrt(1 - share);
  let sum = 0;
  for (const d of estimates) {
    const values = truths.map((t) => Math.exp(Math.log(middle) + logSd * Math.sqrt(share) * d + left * t));
    let best = Infinity;
    for (let k = 0; k <= 120; k++) {
      const entered = values[0] + ((values[values.length - 1] - values[0]) * k) / 119;
      best = Math.min(best, values.reduce((s, v) => s + rateLoss(e, entered, v, 4), 0) / values.length);
    }
    sum += best / estimates.length;
  }
  return sum;
}

describe('expected loss of a design', () => {
  it('that knows nothing: that of the best single rate', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...equations),
        fc.double({ min: 0.2, max: 4, noNaN: true }),
        fc.double({ min: 0, max: 1.2, noNaN: true }),
        fc.constantFrom('log' as const, 'raw' as const),
        (e, level, sd, scale) => {
          const [mean, variance] =
            scale === 'log'
              ? [Math.log(level * e.critical), sd ** 2]
              : [level * e.critical, (sd * e.critical) ** 2];
          expectRelative(
            expectedLoss(
              e,
              scale === 'log' ? Math.exp : asIs,
              mean,
              { truthVariance: variance, estimateVariance: 0, covariance: 0 },
              4,
            ) + 1,
            bestSingleRateLoss(e, scale === 'log' ? Math.exp : asIs, mean, variance, 4) + 1,
            1e-12,
          );
        },
      ),
    );
  });

  it('that knows everything: none', () => {
    for (const e of equations)
      for (const level of [0.4, 1, 1.5, 2.5])
        for (const logSd of [0.1, 0.4, 0.9])
          expect(lossOf(e, level * e.critical, logSd, 1)).toBeLessThan(1e-9);
  });

  it('of a field without any variation: none', () => {
    expect(lossOf(P, 12, 0, 0)).toBe(0);
  });

  // A field about the critical level, where rates differ most.
  it.each([
    [P, 12, 0.4],
    [P, 20, 0.3],
    [P, 20, 0.6],
    [K, 110, 0.3],
    [K, 130, 0.5],
  ])('$0.analyte at %d, log sd %d: the more accurate the design, the less', (e, middle, logSd) => {
    let before = Infinity;
    for (const share of [0, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.97, 1]) {
      const loss = lossOf(e, middle, logSd, share);
      expect(loss, `share ${share}`).toBeLessThan(before);
      before = loss;
    }
  });

  // Information cannot hurt one who uses it best (Blackwell 1953; from memory). Sixteen quantiles leave out the far
  // tails, where only a few blocks cross a step of the rate: what comes of that stays below the sum per ha and year
  // within which designs count as equally good.
  it('from very low to high tests: more accurate costs no more, but for the quantiles’ coarseness', () => {
    for (const e of [P, K])
      for (let level = 0.3; level < 3; level *= 1.15)
        for (const logSd of [0.06, 0.12, 0.2, 0.3, 0.4, 0.55, 0.7]) {
          let least = Infinity;
          for (const share of [0, 0.1, 0.2, 0.35, 0.5, 0.7, 0.9, 1]) {
            const loss = lossOf(e, level * e.critical, logSd, share);
            expect(loss, `${e.analyte} ${level} ${logSd} ${share}`).toBeLessThan(
              least + NEAR_BEST_PER_HA_YEAR,
            );
            least = Math.min(least, loss);
          }
        }
  });

  it.each([
    [P, 8, 0.5],
    [P, 15, 0.3],
    [P, 20, 0.8],
    [P, 31, 0.5],
    [K, 70, 0.5],
    [K, 110, 0.3],
    [K, 170, 0.5],
    [K, 220, 0.8],
  ])(
    '$0.analyte at %d, log sd %d: as a fine grid of estimates, truths and rates has it',
    (e, middle, logSd) => {
      for (const share of [0, 0.25, 0.75])
        expectRelative(
          lossOf(e, middle, logSd, share),
          finely(e, middle, logSd, share),
          0.06,
          `share ${share}`,
        );
    },
  );

  it('an estimate that varies without following the truth saves nothing', () => {
    const t = 0.25;
    const none = expectedLoss(P, Math.exp, Math.log(18), mapOf(t, 0), 4);
    const noise = expectedLoss(
      P,
      Math.exp,
      Math.log(18),
      { truthVariance: t, estimateVariance: 0.2, covariance: 0 },
      4,
    );
    expectRelative(noise, none, 1e-12);
  });

  it('on the raw scale a truth below zero is no error', () => {
    const loss = expectedLoss(P, asIs, 5, mapOf(100, 0.3), 4);
    expect(Number.isFinite(loss)).toBe(true);
    expect(loss).toBeGreaterThan(0);
  });
});

describe('the table of least losses', () => {
  it('reads what is worked out outright', () => {
    for (const [e, level] of [
      [P, 18],
      [P, 60],
      [K, 120],
    ] as const) {
      const mean = Math.log(level);
      const least = tableLeastLoss(e, Math.exp, 4, [mean - 2.5, mean + 2.5], 1);
      const whole = bestSingleRateLoss(e, Math.exp, mean, 0.4, 4);
      for (const share of [0, 0.2, 0.6, 0.95])
        for (const shift of [-0.3, 0, 0.2]) {
          const accuracy = mapOf(0.4, share);
          // One estimate alone shows the jumps of 32 quantiles over a kink; over many estimates they even out.
          const want = expectedLoss(e, Math.exp, mean + shift, accuracy, 4);
          expect(Math.abs(expectedLossBy(least, mean + shift, accuracy) - want)).toBeLessThan(
            (share === 0 ? 0.04 : 0.02) * whole,
          );
        }
    }
  });
});
