import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { NEAR_BEST_PER_HA_YEAR } from '../../src/advise/verdict.ts';
import { normalQuantile } from '../../src/describe/index.ts';
import {
  bestEntry,
  bestSingleRateLoss,
  evenDeviates,
  expectedLoss,
  expectedLossBy,
  tableLeastLoss,
  withTabulatedResponse,
  type TableSize,
} from '../../src/value/index.ts';
import { lossOfRate, type LossOfRate } from '../../src/value/lossOfRate.ts';
import type { RateCase } from '../../src/value/rateCase.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { compareLosses, VALUE_CASES } from '../study/value.ts';
import { caseOf } from './made.ts';
import { limeCase, madeCases, phosphorusCase, potassiumCase } from './madeCases.ts';

const asIs = (y: number) => y;
/** As the advice takes it. */
const guidedBy = (...asked: Parameters<typeof caseOf>) => withTabulatedResponse(caseOf(...asked));
const P = guidedBy('tri-state-2020', 'corn-soybean', 'P');
const K = guidedBy('tri-state-2020', 'corn-soybean', 'K');
const guided = ['corn-soybean', 'wheat', 'alfalfa'].flatMap((plan) =>
  ['P', 'K'].map((analyte) => guidedBy('tri-state-2020', plan, analyte)),
);
const criticalOf = (c: RateCase) => c.classes[0].below;

/** Accuracy of a map that knows `share` of the truth's variance, its errors uncorrelated with it. */
const mapOf = (truthVariance: number, share: number) => ({
  truthVariance,
  estimateVariance: share * truthVariance,
  covariance: share * truthVariance,
});
const lossOf = (c: RateCase, middle: number, logSd: number, share: number) =>
  expectedLoss(lossOfRate(c, 4), Math.exp, Math.log(middle), mapOf(logSd ** 2, share));

/** The same by a fine grid of estimates, truths and rates. */
function finely(
  decision: LossOfRate,
  toUser: (y: number) => number,
  mean: number,
  sd: number,
  share: number,
): number {
  const even = (n: number) => Array.from({ length: n }, (_, i) => normalQuantile((i + 0.5) / n));
  const [truths, estimates] = [even(150), share > 0 ? even(40) : [0]];
  const left = sd * Math.sqrt(1 - share);
  let sum = 0;
  for (const d of estimates) {
    const values = truths.map((t) => toUser(mean + sd * Math.sqrt(share) * d + left * t));
    const losses = values.map(decision.against);
    let best = Infinity;
    for (let k = 0; k <= 120; k++) {
      const entered = values[0] + ((values[values.length - 1] - values[0]) * k) / 119;
      const rate = decision.rateOf(entered);
      best = Math.min(best, losses.reduce((s, loss) => s + loss(rate), 0) / values.length);
    }
    sum += best / estimates.length;
  }
  return sum;
}

describe('expected loss of a design', () => {
  it('that knows nothing: that of the best single rate', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...guided),
        fc.double({ min: 0.2, max: 4, noNaN: true }),
        fc.double({ min: 0, max: 1.2, noNaN: true }),
        fc.constantFrom('log' as const, 'raw' as const),
        (c, level, sd, scale) => {
          const decision = lossOfRate(c, 4);
          const critical = criticalOf(c);
          const [mean, variance] =
            scale === 'log'
              ? [Math.log(level * critical), sd ** 2]
              : [level * critical, (sd * critical) ** 2];
          expectRelative(
            expectedLoss(decision, scale === 'log' ? Math.exp : asIs, mean, {
              truthVariance: variance,
              estimateVariance: 0,
              covariance: 0,
            }) + 1,
            bestSingleRateLoss(decision, scale === 'log' ? Math.exp : asIs, mean, variance) + 1,
            1e-12,
          );
        },
      ),
    );
  });

  it('that knows everything: none', () => {
    for (const c of guided)
      for (const level of [0.4, 1, 1.5, 2.5])
        for (const logSd of [0.1, 0.4, 0.9])
          expect(lossOf(c, level * criticalOf(c), logSd, 1)).toBeLessThan(1e-9);
  });

  it('of a field without any variation: none', () => {
    expect(lossOf(P, 12, 0, 0)).toBe(0);
  });

  // A field about the critical level, where rates differ most.
  it.each([
    ['P', P, 12, 0.4],
    ['P', P, 20, 0.3],
    ['P', P, 20, 0.6],
    ['K', K, 110, 0.3],
    ['K', K, 130, 0.5],
  ] as const)('%s, case %#: the more accurate the design, the less', (_, c, middle, logSd) => {
    let before = Infinity;
    for (const share of [0, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.97, 1]) {
      const loss = lossOf(c, middle, logSd, share);
      expect(loss, `share ${share}`).toBeLessThan(before);
      before = loss;
    }
  });

  // Information cannot hurt one who uses it best (Blackwell 1953; from memory). 32 quantiles leave out the far
  // tails, where only a few blocks cross a step of the rate: what comes of that stays below the sum per ha and year
  // within which designs count as equally good.
  it('from very low to high tests: more accurate costs no more, but for the quantiles’ coarseness', () => {
    for (const c of [P, K])
      for (let level = 0.3; level < 3; level *= 1.15)
        for (const logSd of [0.06, 0.12, 0.2, 0.3, 0.4, 0.55, 0.7]) {
          let least = Infinity;
          for (const share of [0, 0.1, 0.2, 0.35, 0.5, 0.7, 0.9, 1]) {
            const loss = lossOf(c, level * criticalOf(c), logSd, share);
            expect(loss, `${c.analyte} ${level} ${logSd} ${share}`).toBeLessThan(
              least + NEAR_BEST_PER_HA_YEAR,
            );
            least = Math.min(least, loss);
          }
        }
  });

  it.each([
    ['P', P, 8, 0.5],
    ['P', P, 15, 0.3],
    ['P', P, 20, 0.8],
    ['P', P, 31, 0.5],
    ['K', K, 70, 0.5],
    ['K', K, 110, 0.3],
    ['K', K, 170, 0.5],
    ['K', K, 220, 0.8],
  ] as const)('%s, case %#: as a fine grid of estimates, truths and rates has it', (_, c, middle, logSd) => {
    for (const share of [0, 0.25, 0.75])
      expectRelative(
        lossOf(c, middle, logSd, share),
        finely(lossOfRate(c, 4), Math.exp, Math.log(middle), logSd, share),
        0.06,
        `share ${share}`,
      );
  });

  it('an estimate that varies without following the truth saves nothing', () => {
    const t = 0.25;
    const decision = lossOfRate(P, 4);
    const none = expectedLoss(decision, Math.exp, Math.log(18), mapOf(t, 0));
    const noise = expectedLoss(decision, Math.exp, Math.log(18), {
      truthVariance: t,
      estimateVariance: 0.2,
      covariance: 0,
    });
    expectRelative(noise, none, 1e-12);
  });

  it('on the raw scale a truth below zero is no error', () => {
    const loss = expectedLoss(lossOfRate(P, 4), asIs, 5, mapOf(100, 0.3));
    expect(Number.isFinite(loss)).toBe(true);
    expect(loss).toBeGreaterThan(0);
  });
});

const invented = [
  ['P about 15', phosphorusCase, Math.exp, Math.log(15), 0.5],
  ['P about 28', phosphorusCase, Math.exp, Math.log(28), 0.4],
  ['P about 45', phosphorusCase, Math.exp, Math.log(45), 0.5],
  ['K about 140', potassiumCase, Math.exp, Math.log(140), 0.3],
  ['K about 200', potassiumCase, Math.exp, Math.log(200), 0.5],
  ['pH about 6.1', limeCase, asIs, 6.1, 0.4],
  ['pH about 6.6', limeCase, asIs, 6.6, 0.5],
] as const;

/** Fields by the guidance of two regions: phosphorus low, about the limits and far above them. */
const guidedFields = ['tri-state-2020', 'iowa-2013'].flatMap((id) => {
  const [p, k, lime] = ['P', 'K', 'pH'].map((analyte) => guidedBy(id, 'corn-soybean', analyte));
  return [
    [`${id}: P about 12`, p, Math.exp, Math.log(12), 0.5],
    [`${id}: P about 30`, p, Math.exp, Math.log(30), 0.5],
    [`${id}: P about 60`, p, Math.exp, Math.log(60), 0.5],
    [`${id}: K about 110`, k, Math.exp, Math.log(110), 0.3],
    [`${id}: K about 170`, k, Math.exp, Math.log(170), 0.3],
    [`${id}: pH about 6.1`, lime, asIs, 6.1, 0.4],
    [`${id}: pH about 6.6`, lime, asIs, 6.6, 0.4],
  ] as const;
});

/** A table over the span that the advice lays it out for: all that beliefs may ask of it, and somewhat beyond. */
const tableOver = (
  decision: LossOfRate,
  toUser: (y: number) => number,
  mean: number,
  sd: number,
  size?: TableSize,
) => tableLeastLoss(decision, toUser, [mean - 3.4 * sd, mean + 3.4 * sd], 1.4 * sd, size);

describe('the table of least losses', () => {
  it('reads what is worked out outright', () => {
    for (const [c, level] of [
      [P, 18],
      [P, 60],
      [K, 120],
    ] as const) {
      const mean = Math.log(level);
      const decision = lossOfRate(c, 4);
      const least = tableOver(decision, Math.exp, mean, Math.sqrt(0.4));
      const wholeAt = (middle: number) => bestSingleRateLoss(decision, Math.exp, middle, 0.4);
      for (const shift of [-0.3, 0, 0.2]) {
        const whole = Math.max(wholeAt(mean), wholeAt(mean + shift));
        for (const share of [0, 0.2, 0.6, 0.95]) {
          const accuracy = mapOf(0.4, share);
          // One estimate alone shows the jumps of 32 quantiles over a kink; over many estimates they even out.
          const want = expectedLoss(decision, Math.exp, mean + shift, accuracy);
          expectWithin(
            expectedLossBy(least, mean + shift, accuracy),
            want,
            (share === 0 ? 0.04 : 0.02) * whole,
            `${c.analyte} ${level} ${share} ${shift}`,
          );
        }
      }
    }
  });

  it('what was asked of it before changes nothing; at its nodes it is the best entry’s loss', () => {
    const asked = [0.3, -0.5, 0, 0.1, -0.1].flatMap((m) => [0, 0.1, 0.5].map((sd) => [3 + m, sd] as const));
    const [there, back] = [asked, [...asked].reverse()].map((order) => {
      const least = tableLeastLoss(lossOfRate(P, 4), Math.exp, [2, 4], 0.6);
      return new Map(order.map(([m, sd]) => [`${m} ${sd}`, least(m, sd)]));
    });
    for (const [at, loss] of there) expect(back.get(at), at).toBe(loss);
    const least = tableLeastLoss(lossOfRate(P, 4), Math.exp, [2, 4], 0.6, { middles: 5, sds: 3 });
    const node = bestEntry(lossOfRate(P, 4), Math.exp, 2.5, 0.15).loss;
    expect(node).toBeGreaterThan(0);
    expectRelative(least(2.5, 0.15), node, 1e-12);
  });

  // The size that sensitivity and how often to sample are worked out with: they weigh designs against each other.
  it.each([...invented, ...guidedFields])(
    '%s: a coarse one keeps the difference between designs',
    (_, c, toUser, mean, sd) => {
      const decision = lossOfRate(c, 4);
      const whole = bestSingleRateLoss(decision, toUser, mean, sd * sd);
      const shares = [0, 0.15, 0.3, 0.45, 0.6, 0.75, 0.9];
      const [fine, coarse] = [undefined, { middles: 37, sds: 8 }].map((size) => {
        const least = tableOver(decision, toUser, mean, sd, size);
        return shares.map((share) => expectedLossBy(least, mean, mapOf(sd * sd, share)));
      });
      shares.forEach((less, i) =>
        shares.slice(i + 1).forEach((more, after) => {
          const k = i + 1 + after;
          const gain = fine[i] - fine[k];
          const miss = Math.abs(coarse[i] - coarse[k] - gain);
          const what = `${less} to ${more}: ${coarse[i] - coarse[k]} against ${gain}, of ${whole}`;
          expect(miss, what).toBeLessThan(NEAR_BEST_PER_HA_YEAR);
          // Where hardly anything is at stake, jumps of the rate far out in the tails are most of it.
          if (whole < 15) return;
          expect(miss, what).toBeLessThan(0.03 * whole);
          if (more - less > 0.4) expect(miss, what).toBeLessThan(0.05 * gain);
        }),
      );
    },
  );
});

describe('expected loss of a rate case', () => {
  it.each(invented)('%s: as a fine grid has it', (_, c, toUser, mean, sd) => {
    const decision = lossOfRate(c, 4);
    for (const share of [0, 0.4, 0.8])
      expectRelative(
        expectedLoss(decision, toUser, mean, mapOf(sd * sd, share)),
        finely(decision, toUser, mean, sd, share),
        0.03,
        `share ${share}`,
      );
  });

  it.each(invented)('%s: the table reads what is worked out outright', (_, c, toUser, mean, sd) => {
    const decision = lossOfRate(c, 4);
    const least = tableLeastLoss(decision, toUser, [mean - 2.5 * sd, mean + 2.5 * sd], sd);
    const whole = bestSingleRateLoss(decision, toUser, mean, sd * sd);
    for (const share of [0, 0.3, 0.6, 0.9])
      expectWithin(
        expectedLossBy(least, mean, mapOf(sd * sd, share)),
        expectedLoss(decision, toUser, mean, mapOf(sd * sd, share)),
        (share === 0 ? 0.04 : 0.02) * whole,
        `share ${share}`,
      );
  });

  it('knowing everything: none; knowing more: less', () => {
    for (const [name, c, toUser, mean, sd] of invented) {
      const decision = lossOfRate(c, 4);
      expect(expectedLoss(decision, toUser, mean, mapOf(sd * sd, 1))).toBeLessThan(1e-9);
      let before = Infinity;
      for (const share of [0, 0.25, 0.5, 0.75, 0.95]) {
        const loss = expectedLoss(decision, toUser, mean, mapOf(sd * sd, share));
        expect(loss, `${name} ${share}`).toBeLessThan(before);
        before = loss;
      }
    }
  });

  // A rate that ramps down between two levels, as some guidance has it: the best entry may lie on a short ramp.
  const ramped: RateCase = {
    ...phosphorusCase,
    annualRate: (t) => Math.min(1, Math.max(0, (40 - t) / 10)) * (60 + Math.max(0, 15 - t) * 5.5),
    bends: [15, 30, 40],
  };

  it.each([...invented, ['P with a ramp', ramped, Math.exp, Math.log(40), 0.7] as const])(
    '%s: no entry from end to end loses less than the best',
    (_, c, toUser, mean, sd) => {
      const decision = lossOfRate(c, 4);
      for (const off of [-1, -0.4, 0, 0.5])
        for (const left of [0.1 * sd, 0.4 * sd, sd]) {
          const middle = mean + off * sd;
          const losses = Array.from(evenDeviates, (d) => decision.against(toUser(middle + left * d)));
          const [low, high] = [toUser(middle - 2.5 * left), toUser(middle + 2.5 * left)];
          const { loss } = bestEntry(decision, toUser, middle, left);
          let least = Infinity;
          for (let k = 0; k <= 200; k++) {
            const rate = decision.rateOf(low + ((high - low) * k) / 200);
            least = Math.min(least, losses.reduce((s, of) => s + of(rate), 0) / losses.length);
          }
          expect(loss, `${off} ${left}`).toBeLessThan(1.02 * least + 0.02);
        }
    },
  );

  it('the best entry loses what it says', () => {
    for (const c of madeCases) {
      const decision = lossOfRate(c, 4);
      const [toUser, mean] = c === limeCase ? ([asIs, 6.3] as const) : ([Math.exp, 3.5] as const);
      const { entered, loss } = bestEntry(decision, toUser, mean, 0.4);
      let sum = 0;
      for (const d of evenDeviates) sum += decision.loss(entered, toUser(mean + 0.4 * d));
      expectRelative(sum / evenDeviates.length, loss, 1e-12);
    }
  });
});

// Fields drawn point by point, sampled core by core, kriged, treated and counted: the larger study is `npm run study:value`.
describe('what fields lose that are drawn, sampled, mapped and treated', () => {
  it.each([0, 2, 3])('of case %d, as worked out without them', (index) => {
    const rows = compareLosses(
      VALUE_CASES[index],
      {
        areaHa: 16,
        blocks: 24,
        fieldNodes: 100,
        designs: [1, 4, 16],
        placings: 8,
        fieldsPerPlacing: 40,
      },
      5 + index,
    );
    for (const r of rows) {
      const what = `${r.name}, ${r.stops} stops: ${r.simulated} against ${r.analytic} ± ${r.standardError}`;
      expect(Math.abs(r.simulated - r.analytic), what).toBeLessThan(3 * r.standardError + 0.02 * r.analytic);
      expect(r.standardError, what).toBeLessThan(0.03 * r.analytic);
      expectRelative(r.squaredErrorFound, r.meanSquaredError, 0.12, what);
    }
    // What is worth most is told apart: more stops lose less, either way.
    expect(rows[2].simulated).toBeLessThan(rows[0].simulated);
    expect(rows[2].analytic).toBeLessThan(rows[0].analytic);
  });
});
