import normalCdf from '@stdlib/stats-base-dists-normal-cdf';
import { normalQuantile } from './quantiles.ts';

/** Scores beyond ±this are taken as this: one value in 30,000 lies outside on either side. Judgement of this project. */
const END_SCORE = 4;
/** So many distinct values, as a share of all, give a tail on either side its slope. Judgement of this project. */
const TAIL_SHARE = 0.1;

/** Where the back-transformed values must stay. */
export interface NormalScoreBounds {
  /** Default: 0 when no value is below 0, else none. */
  readonly lowest?: number;
  /** Default: none. */
  readonly highest?: number;
}

/** A one-to-one map between measured values and standard normal scores. */
export interface NormalScore {
  /** Score of a value; values beyond the ends of the table get its end scores. */
  readonly forward: (value: number) => number;
  /** Value of a score, for every score; scores beyond the table's ends give its end values. */
  readonly inverse: (score: number) => number;
  /**
   * E[inverse(Y)] for Y normal with this mean and variance, exactly: with knots s and slopes b of the straight pieces,
   * first value + Σ bₖ·(L(sₖ) − L(sₖ₊₁)), where L(s) = E[max(Y − s, 0)] is the normal loss function.
   */
  readonly meanOf: (mean: number, variance: number) => number;
  /** The distinct values and their scores, both rising, with an end point added in either tail. */
  readonly table: { readonly values: Float64Array; readonly scores: Float64Array };
}

/**
 * Normal-score transform (Gaussian anamorphosis; Deutsch & Journel 1998, GSLIB, 2nd ed., V.1.6 and nscore;
 * Chilès & Delfiner 2012, Geostatistics, 2nd ed., ch. 6): a value of rank r among n gets the normal quantile of
 * (r − 0.5)/n (Hazen's plotting position, as R's `ppoints` has it above ten values); ties get their mean rank.
 * Linear between the data. Tails: from the outermost value on a straight line with the mean slope over the outermost
 * distinct values, a tenth as many as there are values and at least three, to the score ±4 or the bound there, and constant beyond; so no value leaves
 * the bounds, and none is below 0 when no measured one is (judgement of this project).
 * @throws RangeError with fewer than three values, values that are not finite or all alike, or a value out of bounds
 */
export function normalScore(values: ArrayLike<number>, bounds: NormalScoreBounds = {}): NormalScore {
  const n = values.length;
  const sorted = Float64Array.from(values).sort();
  if (n < 3 || sorted.some((v) => !Number.isFinite(v)) || sorted[0] === sorted[n - 1])
    throw new RangeError('Normal scores need three finite values that are not all alike.');
  const { lowest = sorted[0] >= 0 ? 0 : -Infinity, highest = Infinity } = bounds;
  if (sorted[0] < lowest || sorted[n - 1] > highest)
    throw new RangeError(
      `Values from ${sorted[0]} to ${sorted[n - 1]} don’t lie within ${lowest} to ${highest}.`,
    );
  const distinct: number[] = [];
  const scores: number[] = [];
  for (let from = 0; from < n;) {
    let to = from + 1;
    while (to < n && sorted[to] === sorted[from]) to++;
    // Ranks from + 1 … to: their mean less a half is (from + to) / 2.
    distinct.push(sorted[from]);
    scores.push(normalQuantile((from + to) / 2 / n));
    from = to;
  }
  const last = distinct.length - 1;
  const inTail = Math.min(last, Math.max(2, Math.ceil(TAIL_SHARE * n)));
  const slope = (a: number, b: number) => (distinct[b] - distinct[a]) / (scores[b] - scores[a]);
  const end = Math.max(END_SCORE, scores[last] + 0.5, 0.5 - scores[0]);
  const bottom = Math.max(lowest, distinct[0] - slope(0, inTail) * (scores[0] + end));
  const top = Math.min(highest, distinct[last] + slope(last - inTail, last) * (end - scores[last]));
  // At a bound already: no tail to add, the end stays where it is.
  const lowerTail = bottom < distinct[0];
  const upperTail = top > distinct[last];
  const table = {
    values: Float64Array.of(...(lowerTail ? [bottom] : []), ...distinct, ...(upperTail ? [top] : [])),
    scores: Float64Array.of(...(lowerTail ? [-end] : []), ...scores, ...(upperTail ? [end] : [])),
  };
  return {
    forward: (value) => interpolated(table.values, table.scores, value),
    inverse: (score) => interpolated(table.scores, table.values, score),
    meanOf: (mean, variance) =>
      variance > 0
        ? meanOfPieces(table.scores, table.values, mean, Math.sqrt(variance))
        : interpolated(table.scores, table.values, mean),
    table,
  };
}

/** Linear between rising knots, constant beyond them. */
function interpolated(x: Float64Array, y: Float64Array, at: number): number {
  let [low, high] = [0, x.length - 1];
  if (!(at > x[low])) return Number.isNaN(at) ? NaN : y[low];
  if (at >= x[high]) return y[high];
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (x[middle] <= at) low = middle;
    else high = middle;
  }
  return y[low] + ((at - x[low]) / (x[high] - x[low])) * (y[high] - y[low]);
}

/** Mean of the piecewise linear y(x) for x normal. */
function meanOfPieces(x: Float64Array, y: Float64Array, mean: number, sd: number): number {
  let sum = y[0];
  let before = normalLoss((x[0] - mean) / sd);
  for (let k = 1; k < x.length; k++) {
    const loss = normalLoss((x[k] - mean) / sd);
    sum += ((y[k] - y[k - 1]) / (x[k] - x[k - 1])) * sd * (before - loss);
    before = loss;
  }
  return sum;
}

/** E[max(U − t, 0)] for a standard normal U: φ(t) − t·(1 − Φ(t)). */
const normalLoss = (t: number): number =>
  Math.exp(-0.5 * t * t) / Math.sqrt(2 * Math.PI) - t * normalCdf(-t, 0, 1);
