import { weightedQuantile } from '../describe/index.ts';
import { evenDeviates } from './expectedLoss.ts';
import type { LossOfRate } from './lossOfRate.ts';

/** A figure over the members of a belief: 10 %, mean, 90 %. Means of members add up; medians would not. */
export interface MemberInterval {
  readonly low: number;
  readonly mid: number;
  readonly high: number;
}

/** The truths one member expects: normal on the working scale, what is not known of the field's mean included. */
export interface ExpectedTruths {
  readonly mean: number;
  readonly sd: number;
}

/** The rate set before any sample is pulled. */
export interface DecisionBefore {
  /** Test value the rate is entered at, the same over the field. */
  readonly entered: number;
  /** Its expected loss per ha and year under each member: also the value of perfect information there. */
  readonly losses: Float64Array;
}

/** Quantiles of all members' truths tried as the value to enter. */
const TRIED = 32;

/**
 * The prior decision: the one rate that loses least in expectation over all members, and what it loses under each
 * (Raiffa & Schlaifer 1961, Applied Statistical Decision Theory, ch. 4; from memory). Perfect knowledge of the test
 * at every place loses nothing, so these losses are the value of perfect information.
 * @param members each with the same weight
 * @throws RangeError without members
 */
export function decisionBefore(
  decision: LossOfRate,
  toUser: (y: number) => number,
  members: readonly ExpectedTruths[],
): DecisionBefore {
  if (members.length === 0) throw new RangeError('A decision needs at least one member of the belief.');
  const points = evenDeviates.length;
  const truths = new Float64Array(members.length * points);
  members.forEach(({ mean, sd }, m) => {
    for (let j = 0; j < points; j++) truths[m * points + j] = toUser(mean + sd * evenDeviates[j]);
  });
  const sorted = truths.slice().sort();
  const values = [
    toUser(members.reduce((s, m) => s + m.mean, 0) / members.length),
    ...Array.from({ length: TRIED }, (_, i) => sorted[Math.floor(((i + 0.5) * sorted.length) / TRIED)]),
    ...decision.tried,
  ];
  const against = Array.from(truths, decision.against);
  let best: { readonly entered: number; readonly losses: Float64Array; readonly sum: number } | undefined;
  for (const entered of values) {
    const rate = decision.rateOf(entered);
    const losses = new Float64Array(members.length);
    for (let i = 0; i < against.length; i++) losses[Math.floor(i / points)] += against[i](rate) / points;
    const sum = losses.reduce((s, v) => s + v, 0);
    if (!best || sum < best.sum) best = { entered, losses, sum };
  }
  return { entered: best!.entered, losses: best!.losses };
}

/**
 * Expected value of sample information per ha and year: what the prior decision loses less what a design loses, under
 * each member, and over all of them. EVSI = min_a E[L(a)] − E[min_a E[L(a) | samples]] (Raiffa & Schlaifer 1961, ch.
 * 4; from memory). Never below 0 in the mean. A design's loss takes its member as known once sampled, so a belief
 * whose members differ much flatters all designs alike.
 * @param before losses of {@link decisionBefore}; @param design losses of the design under the same members
 */
export function valueOfInformation(before: ArrayLike<number>, design: ArrayLike<number>): MemberInterval {
  if (before.length !== design.length)
    throw new RangeError(`${before.length} losses before sampling, ${design.length} with it.`);
  return intervalOver(Float64Array.from(before, (loss, i) => loss - design[i]));
}

/**
 * Expected value of perfect information per ha and year: more than that no design is worth. @param before of {@link
 * decisionBefore}
 */
export function valueOfPerfectInformation(before: ArrayLike<number>): MemberInterval {
  return intervalOver(before);
}

function intervalOver(values: ArrayLike<number>): MemberInterval {
  const even = new Float64Array(values.length).fill(1);
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i];
  return {
    low: weightedQuantile(values, even, 0.1),
    mid: sum / values.length,
    high: weightedQuantile(values, even, 0.9),
  };
}
