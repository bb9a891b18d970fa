import { normalQuantile } from '../describe/index.ts';
import {
  bestEntry,
  classLimits,
  decisionBefore,
  expectedLossBy,
  lossOfRate,
  rightClassChance,
  tableLeastLoss,
  type JointAccuracy,
  type LeastLoss,
  type TableSize,
} from '../value/index.ts';
import type { Interval } from './advice.ts';
import type { Decision } from './decisions.ts';
import { intervalOf, type Judgement } from './judge.ts';

/** What wrong rates of one input cost by every design, money per ha and year. */
export interface DecisionLosses {
  readonly decision: Decision;
  readonly toUser: (y: number) => number;
  /** [design][member] */
  readonly losses: readonly Float64Array[];
  /** Of the best one rate if the field's distribution were known, per member. */
  readonly singleRate: Float64Array;
  /** Of the one rate set before sampling, per member. */
  readonly before: Float64Array;
  /** Chance of the right class by design; empty where there is but one class. */
  readonly rightClass: readonly Interval[];
  /** Least loss of one rate over all that members may ask of it, and somewhat beyond. */
  readonly least: LeastLoss;
}

/** A coarse table does for what is only compared: it errs by a few per cent of differences between designs. */
const COARSE: TableSize = { middles: 37, sds: 8 };

/** Room in the table for variation that is looked at beyond the belief's. */
const WIDER = 1.4;

/** @param toUser from the working scale to test values */
export function lossesOf(
  decision: Decision,
  judgement: Pick<Judgement, 'members' | 'means' | 'truths' | 'accuracies'>,
  toUser: (y: number) => number,
  years: number,
): DecisionLosses {
  const { members, means, truths, accuracies } = judgement;
  const rate = lossOfRate(decision.rateCase, years);
  const least = leastLossOver(decision, judgement, toUser, years);
  const losses = accuracies.map((of) =>
    Float64Array.from(of, (a, i) => expectedLossBy(least, means[i].mean, withMean(a, means[i].variance))),
  );
  const singleRate = Float64Array.from(members, (_, i) =>
    least(means[i].mean + Math.sqrt(means[i].variance) * evenly(i), Math.sqrt(truths[i])),
  );
  const expected = members.map((_, i) => ({
    mean: means[i].mean,
    sd: Math.sqrt(truths[i] + means[i].variance),
  }));
  // Where the table errs about a step of the rate, it errs for what is held against the designs too.
  const before = decisionBefore(rate, toUser, expected).losses.map((loss, i) => {
    const { mean, sd } = expected[i];
    return loss + least(mean, sd) - bestEntry(rate, toUser, mean, sd).loss;
  });
  const { classes } = decision.rateCase;
  const rightClass =
    classes.length < 2
      ? []
      : accuracies.map((of) =>
          intervalOf(
            of.map((a, i) => {
              const joint = withMean(a, means[i].variance);
              const sd = Math.sqrt(Math.max(joint.truthVariance, joint.estimateVariance));
              return rightClassChance(classLimits(classes, toUser, means[i].mean, sd), means[i].mean, joint);
            }),
            true,
          ),
        );
  return { decision, toUser, losses, singleRate, before, rightClass, least };
}

/** The table of least losses over all that members may ask of it. */
export function leastLossOver(
  { rateCase }: Decision,
  { means, truths }: Pick<Judgement, 'means' | 'truths'>,
  toUser: (y: number) => number,
  years: number,
  size?: TableSize,
): LeastLoss {
  // The outermost of the 32 estimates lies 2.2 standard deviations out.
  const sds = means.map((m, i) => WIDER * Math.sqrt(truths[i] + m.variance));
  const low = Math.min(...means.map((m, i) => m.mean - 2.4 * sds[i]));
  const high = Math.max(...means.map((m, i) => m.mean + 2.4 * sds[i]));
  return tableLeastLoss(lossOfRate(rateCase, years), toUser, [low, high], Math.max(...sds), size);
}

/** Coarse tables by the years that rates are kept, made once for all who ask. */
const coarseTables = new WeakMap<Decision, Map<number, LeastLoss>>();

/** {@link leastLossOver} by a coarse table of its own for each number of years. */
export function coarseLeastLoss(
  decision: Decision,
  judgement: Pick<Judgement, 'means' | 'truths'>,
  toUser: (y: number) => number,
  years: number,
): LeastLoss {
  const held = coarseTables.get(decision) ?? new Map<number, LeastLoss>();
  coarseTables.set(decision, held);
  const table = held.get(years) ?? leastLossOver(decision, judgement, toUser, years, COARSE);
  held.set(years, table);
  return table;
}

/** A standard normal deviate for a member, evenly spread over them. */
const evenly = (i: number) => normalQuantile((((i + 1) * 0.6180339887498949) % 1) * 0.998 + 0.001);

/** What is not known of the field's mean is shared by truth and estimate before the samples are pulled. */
export function withMean(a: JointAccuracy, meanVariance: number): JointAccuracy {
  return {
    truthVariance: a.truthVariance + meanVariance,
    estimateVariance: a.estimateVariance + meanVariance,
    covariance: a.covariance + meanVariance,
  };
}
