import normalCdf from '@stdlib/stats-base-dists-normal-cdf';
import type { JointAccuracy } from './expectedLoss.ts';
import type { TestClass } from './rateCase.ts';

/** Gauss-Legendre abscissas and weights on [−1, 1], eight points (Abramowitz & Stegun 1964, table 25.4). */
const GAUSS8 = [
  [0.1834346424956498, 0.362683783378362],
  [0.525532409916329, 0.3137066458778873],
  [0.7966664774136267, 0.2223810344533745],
  [0.9602898564975363, 0.1012285362903763],
] as const;

/**
 * P(X ≤ h, Y ≤ k) of two standard normals of correlation ρ: Φ(h)Φ(k) + (1/2π)∫ exp(−(h² + k² − 2hk·sin θ)/(2cos²θ))
 * dθ over 0 … asin ρ (Plackett 1954; the form of Drezner & Wesolowsky 1990; both from memory), in u = π/2 − θ. Where
 * h and k are near, the integrand changes over u ~ |h − k|, so panels halve towards u = 0; the error stays below
 * 1e-9.
 */
export function bivariateNormal(h: number, k: number, rho: number): number {
  if (h === -Infinity || k === -Infinity) return 0;
  if (h === Infinity) return cdf(k);
  if (k === Infinity) return cdf(h);
  if (rho < 0) return Math.max(0, cdf(h) - bivariateNormal(h, -k, -rho));
  const end = Math.acos(Math.min(1, rho));
  const apart = (h - k) * (h - k);
  let sum = 0;
  for (let upper = Math.PI / 2; upper > end;) {
    const lower = upper > 1e-7 ? Math.max(end, upper / 2) : end;
    const [middle, half] = [(upper + lower) / 2, (upper - lower) / 2];
    for (const [x, w] of GAUSS8)
      for (const u of [middle - half * x, middle + half * x]) {
        const [s, t] = [Math.sin(u), Math.sin(u / 2)];
        sum += half * w * Math.exp(-(apart + 4 * h * k * t * t) / (2 * s * s));
      }
    upper = lower;
  }
  return Math.min(1, Math.max(0, cdf(h) * cdf(k) + sum / (2 * Math.PI)));
}

const cdf = (z: number) => normalCdf(z, 0, 1);

/** So many standard deviations either side no limit matters any more. */
const FAR = 9;

/**
 * Limits between classes on the working scale, rising: one fewer than classes. ±Infinity where no value within `FAR`
 * deviations reaches the limit. Found by bisection, since `toUser` may be any rising function.
 * @param classes lowest first; the last has no upper limit
 */
export function classLimits(
  classes: readonly TestClass[],
  toUser: (y: number) => number,
  mean: number,
  sd: number,
): Float64Array {
  return Float64Array.from({ length: Math.max(0, classes.length - 1) }, (_, i) => {
    const { below } = classes[i];
    let [low, high] = [mean - FAR * sd, mean + FAR * sd];
    if (toUser(low) >= below) return -Infinity;
    if (toUser(high) < below) return Infinity;
    for (let step = 0; step < 60 && high - low > 1e-12 * Math.max(1, Math.abs(mean)); step++) {
      const middle = (low + high) / 2;
      if (toUser(middle) < below) low = middle;
      else high = middle;
    }
    return high;
  });
}

/**
 * How often a place of each class is called each class, truth and estimate jointly normal on the working scale: joint
 * probabilities, rows the true class, columns the estimate's, row-major; they sum to 1.
 * @param limits of {@link classLimits}
 */
export function classConfusion(
  limits: ArrayLike<number>,
  mean: number,
  accuracy: JointAccuracy,
): Float64Array {
  const count = limits.length + 1;
  const below = cornersOf(limits, mean, accuracy);
  const out = new Float64Array(count * count);
  for (let i = 0; i < count; i++)
    for (let j = 0; j < count; j++)
      out[i * count + j] = Math.max(0, below(i + 1, j + 1) - below(i, j + 1) - below(i + 1, j) + below(i, j));
  return out;
}

/** Probability that the estimate falls in the class of the truth. @param limits of {@link classLimits} */
export function rightClassChance(limits: ArrayLike<number>, mean: number, accuracy: JointAccuracy): number {
  const below = cornersOf(limits, mean, accuracy);
  let sum = 0;
  for (let i = 0; i <= limits.length; i++)
    sum += Math.max(0, below(i + 1, i + 1) - below(i, i + 1) - below(i + 1, i) + below(i, i));
  return Math.min(1, sum);
}

/**
 * {@link rightClassChance} from classes in the user's unit: probability that a block drawn at random is put into its
 * right interpretation class by a design.
 * @param toUser from the working scale to test values, rising; @param mean field mean on the working scale
 */
export function classChance(
  classes: readonly TestClass[],
  toUser: (y: number) => number,
  mean: number,
  accuracy: JointAccuracy,
): number {
  const sd = Math.sqrt(Math.max(0, accuracy.truthVariance, accuracy.estimateVariance));
  return rightClassChance(classLimits(classes, toUser, mean, sd), mean, accuracy);
}

/** P(truth below its i-th limit, estimate below its j-th), where the 0-th is −Infinity and the last Infinity. */
function cornersOf(
  limits: ArrayLike<number>,
  mean: number,
  { truthVariance, estimateVariance, covariance }: JointAccuracy,
): (i: number, j: number) => number {
  const standard = (variance: number) => {
    const sd = Math.sqrt(Math.max(0, variance));
    const inner = Array.from(limits, (l) => {
      if (sd > 0) return (l - mean) / sd;
      return l > mean ? Infinity : -Infinity;
    });
    return [-Infinity, ...inner, Infinity];
  };
  const [truth, estimate] = [standard(truthVariance), standard(estimateVariance)];
  const product = Math.sqrt(Math.max(0, truthVariance) * Math.max(0, estimateVariance));
  const rho = product > 0 ? Math.min(1, Math.max(-1, covariance / product)) : 0;
  const size = truth.length;
  const held = new Float64Array(size * size).fill(NaN);
  return (i, j) => {
    const at = i * size + j;
    if (Number.isNaN(held[at])) held[at] = bivariateNormal(truth[i], estimate[j], rho);
    return held[at];
  };
}
