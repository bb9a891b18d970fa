import { normalQuantile } from '../describe/index.ts';
import type { DesignAccuracy } from '../design/index.ts';
import type { LossOfRate, SummedLoss } from './lossOfRate.ts';

/** Equal-probability quantile midpoints: robust to the kinks and steps of rates, where Gauss rules ring. */
const POINTS = 32;
/** Every fourth of them is tried as the value to enter the rate at, then those about the best. */
const COARSE = 4;
const midpoints = Float64Array.from({ length: POINTS }, (_, i) => normalQuantile((i + 0.5) / POINTS));
// Midpoint quantiles understate the variance a little; stretched to unit variance.
const stretch = Math.sqrt(POINTS / midpoints.reduce((s, v) => s + v * v, 0));
/** Standard normal deviates that stand for a belief, each with the same probability. */
export const evenDeviates = midpoints.map((v) => v * stretch);

/** How an estimate goes with the truth: jointly normal on the working scale. */
export type JointAccuracy = Pick<DesignAccuracy, 'truthVariance' | 'estimateVariance' | 'covariance'>;

/**
 * Expected loss per ha and year of setting rates by a design's estimates, truth and estimate jointly normal on the
 * working scale as the design's accuracy says. For each estimate the rate is entered at the test value
 * that loses least in expectation over the truths the estimate leaves open (the Bayes action, DeGroot 1970):
 * with a sharp estimate that is the estimate itself, with a vague one it leans to the side where an error costs less.
 * @param toUser from the working scale to test values, rising; @param mean field mean on the working scale
 */
export function expectedLoss(
  decision: LossOfRate,
  toUser: (y: number) => number,
  mean: number,
  accuracy: JointAccuracy,
): number {
  return expectedLossBy((middle, sd) => bestEntry(decision, toUser, middle, sd).loss, mean, accuracy);
}

/** Least expected loss of one rate for truths normal about a middle with a standard deviation, on the working scale. */
export type LeastLoss = (middle: number, sd: number) => number;

/** Nodes of a table: of the middle, and of the square root of the standard deviation, where kinks show. */
export interface TableSize {
  readonly middles: number;
  readonly sds: number;
}

const FINE: TableSize = { middles: 91, sds: 15 };

/**
 * {@link expectedLoss}'s inner problem solved on a grid of middles and standard deviations, and read off bilinearly:
 * one table serves every design and member of a property.
 * @param middles least and greatest middle; beyond, the ends stand; @param mostSd greatest standard deviation
 */
export function tableLeastLoss(
  decision: LossOfRate,
  toUser: (y: number) => number,
  [low, high]: readonly [number, number],
  mostSd: number,
  { middles, sds }: TableSize = FINE,
): LeastLoss {
  // Solved where it is first asked for: what members ask of a design is a part of the grid.
  const table = new Float64Array(middles * sds).fill(NaN);
  const at = (i: number, j: number) => {
    const known = table[i * sds + j];
    if (known === known) return known;
    return (table[i * sds + j] = bestEntry(
      decision,
      toUser,
      low + ((high - low) * i) / (middles - 1),
      mostSd * (j / (sds - 1)) ** 2,
    ).loss);
  };
  const place = (share: number, count: number) => Math.min(count - 1, Math.max(0, share * (count - 1)));
  return (middle, sd) => {
    const u = place(high > low ? (middle - low) / (high - low) : 0, middles);
    const v = place(mostSd > 0 ? Math.sqrt(sd / mostSd) : 0, sds);
    const i = Math.min(middles - 2, Math.floor(u));
    const j = Math.min(sds - 2, Math.floor(v));
    const [s, t] = [u - i, v - j];
    return (
      (1 - s) * ((1 - t) * at(i, j) + t * at(i, j + 1)) + s * ((1 - t) * at(i + 1, j) + t * at(i + 1, j + 1))
    );
  };
}

/** {@link expectedLoss} by a table of its inner problem. */
export function expectedLossBy(least: LeastLoss, mean: number, accuracy: JointAccuracy): number {
  const { slope, left } = afterEstimate(accuracy);
  const sdEstimate = Math.sqrt(Math.max(0, accuracy.estimateVariance));
  let sum = 0;
  for (const d of evenDeviates) sum += least(mean + slope * sdEstimate * d, left);
  return sum / POINTS;
}

/**
 * What an estimate tells: the truths it leaves open are normal about mean + slope·(estimate − mean) with standard
 * deviation `left` (the regression of one normal on another).
 */
export function afterEstimate({ truthVariance, estimateVariance, covariance }: JointAccuracy): {
  readonly slope: number;
  readonly left: number;
} {
  const slope = estimateVariance > 1e-12 ? covariance / estimateVariance : 0;
  return { slope, left: Math.sqrt(Math.max(0, truthVariance - slope * covariance)) };
}

/** Expected loss of the field's best single rate when its distribution is known: what a map is held against. */
export function bestSingleRateLoss(
  decision: LossOfRate,
  toUser: (y: number) => number,
  mean: number,
  truthVariance: number,
): number {
  return bestEntry(decision, toUser, mean, Math.sqrt(Math.max(0, truthVariance))).loss;
}

/**
 * The test value to enter the rate at, and what it loses in expectation, for truths that are normal about a middle on
 * the working scale: the best of the middle, quantiles of the truths (coarse, then finer about the best), and the
 * values beside the rate's bends. Loses at most 1.5 % more than the best of all entries.
 */
export function bestEntry(
  decision: LossOfRate,
  toUser: (y: number) => number,
  middle: number,
  sd: number,
): { readonly entered: number; readonly loss: number } {
  const truths = evenDeviates.map((d) => toUser(middle + sd * d));
  const summed = summedOver(decision, truths);
  const rates = new Float64Array(1 + POINTS + decision.tried.length);
  let held = 0;
  let entered = NaN;
  let least = Infinity;
  let nearest = POINTS / 2;
  const attempt = (value: number, index = nearest) => {
    const rate = decision.rateOf(value);
    // Test values of one class have one rate.
    for (let k = 0; k < held; k++) if (rates[k] === rate) return;
    rates[held++] = rate;
    const sum = summed(rate, least);
    if (sum < least) [least, entered, nearest] = [sum, value, index];
  };
  attempt(toUser(middle));
  for (let j = 0; j < POINTS; j += COARSE) attempt(truths[j], j);
  for (let step = COARSE / 2; step >= 1; step /= 2)
    for (const j of [nearest - step, nearest + step]) if (j >= 0 && j < POINTS) attempt(truths[j], j);
  for (const value of decision.tried) attempt(value);
  return { entered, loss: least / POINTS };
}

function summedOver(decision: LossOfRate, truths: Float64Array): SummedLoss {
  if (decision.over) return decision.over(truths);
  const losses = Array.from(truths, decision.against);
  return (rate, enough) => {
    let sum = 0;
    for (let j = 0; j < losses.length && sum < enough; j++) sum += losses[j](rate);
    return sum;
  };
}
