import { normalQuantile } from '../describe/index.ts';
import type { DesignAccuracy } from '../design/index.ts';
import { rateLoss, type RateEquation } from './rateEquation.ts';

/** Equal-probability quantile midpoints: robust to the kinks of rate equations, where Gauss rules ring. */
const POINTS = 32;
/** Test values tried as the one to enter the rate equation at, besides the middle. */
const TRIED = 8;
const midpoints = Float64Array.from({ length: POINTS }, (_, i) => normalQuantile((i + 0.5) / POINTS));
// Midpoint quantiles understate the variance a little; stretched to unit variance.
const stretch = Math.sqrt(POINTS / midpoints.reduce((s, v) => s + v * v, 0));
const deviates = midpoints.map((v) => v * stretch);

/**
 * Expected loss per ha and year of setting rates by a design's estimates, truth and estimate jointly normal on the
 * working scale as the design's accuracy says. For each estimate the rate equation is entered at the test value
 * that loses least in expectation over the truths the estimate leaves open (the Bayes action, DeGroot 1970):
 * with a sharp estimate that is the estimate itself, with a vague one it leans to the side where an error costs less.
 * @param toUser from the working scale to test values, rising; @param mean field mean on the working scale
 */
export function expectedLoss(
  equation: RateEquation,
  toUser: (y: number) => number,
  mean: number,
  accuracy: Pick<DesignAccuracy, 'truthVariance' | 'estimateVariance' | 'covariance'>,
  years: number,
): number {
  return expectedLossBy((middle, sd) => leastLoss(equation, toUser, middle, sd, years), mean, accuracy);
}

/** Least expected loss of one rate for truths that are normal about a middle with a standard deviation, on the working scale. */
export type LeastLoss = (middle: number, sd: number) => number;

/** Nodes of {@link tableLeastLoss}: the middle and the square root of the standard deviation, where kinks of the rates show. */
const MIDDLES = 91;
const SDS = 15;

/**
 * {@link expectedLoss}'s inner problem solved once on a grid of middles and standard deviations, and read off bilinearly:
 * one table serves every design and member of a property.
 * @param middles least and greatest middle; beyond, the ends stand; @param mostSd greatest standard deviation
 */
export function tableLeastLoss(
  equation: RateEquation,
  toUser: (y: number) => number,
  years: number,
  middles: readonly [number, number],
  mostSd: number,
): LeastLoss {
  const [low, high] = middles;
  const table = new Float64Array(MIDDLES * SDS);
  for (let i = 0; i < MIDDLES; i++)
    for (let j = 0; j < SDS; j++)
      table[i * SDS + j] = leastLoss(
        equation,
        toUser,
        low + ((high - low) * i) / (MIDDLES - 1),
        mostSd * (j / (SDS - 1)) ** 2,
        years,
      );
  const place = (share: number, count: number) => Math.min(count - 1, Math.max(0, share * (count - 1)));
  return (middle, sd) => {
    const u = place(high > low ? (middle - low) / (high - low) : 0, MIDDLES);
    const v = place(mostSd > 0 ? Math.sqrt(sd / mostSd) : 0, SDS);
    const i = Math.min(MIDDLES - 2, Math.floor(u));
    const j = Math.min(SDS - 2, Math.floor(v));
    const [s, t] = [u - i, v - j];
    const at = i * SDS + j;
    return (
      (1 - s) * ((1 - t) * table[at] + t * table[at + 1]) +
      s * ((1 - t) * table[at + SDS] + t * table[at + SDS + 1])
    );
  };
}

/** {@link expectedLoss} by a table of its inner problem. */
export function expectedLossBy(
  least: LeastLoss,
  mean: number,
  {
    truthVariance,
    estimateVariance,
    covariance,
  }: Pick<DesignAccuracy, 'truthVariance' | 'estimateVariance' | 'covariance'>,
): number {
  const slope = estimateVariance > 1e-12 ? covariance / estimateVariance : 0;
  const left = Math.sqrt(Math.max(0, truthVariance - slope * covariance));
  const sdEstimate = Math.sqrt(Math.max(0, estimateVariance));
  let sum = 0;
  for (const d of deviates) sum += least(mean + slope * sdEstimate * d, left);
  return sum / POINTS;
}

/** Expected loss of the field's best single rate when its distribution is known: what a map is held against. */
export function bestSingleRateLoss(
  equation: RateEquation,
  toUser: (y: number) => number,
  mean: number,
  truthVariance: number,
  years: number,
): number {
  return leastLoss(equation, toUser, mean, Math.sqrt(Math.max(0, truthVariance)), years);
}

/** Least expected loss of one rate for truths that are normal about a middle on the working scale. */
function leastLoss(
  equation: RateEquation,
  toUser: (y: number) => number,
  middle: number,
  sd: number,
  years: number,
): number {
  const truths = new Float64Array(POINTS);
  for (let j = 0; j < POINTS; j++) {
    truths[j] = toUser(middle + sd * deviates[j]);
  }
  let best = Infinity;
  const lossAt = (entered: number) => {
    let loss = 0;
    for (let j = 0; j < POINTS; j++) loss += rateLoss(equation, entered, truths[j], years);
    best = Math.min(best, loss / POINTS);
  };
  lossAt(toUser(middle));
  for (let j = 0; j < POINTS; j += POINTS / TRIED) lossAt(truths[j]);
  lossAt(equation.critical);
  lossAt(equation.maintenanceLimit * 1.01);
  return best;
}
