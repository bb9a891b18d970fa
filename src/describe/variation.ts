import { chiSquareQuantile, normalQuantile, studentQuantile } from './quantiles.ts';

export interface CvInterval {
  readonly low: number;
  readonly mid: number;
  readonly high: number;
}

/**
 * Coefficient of variation (a fraction) with its confidence interval for independent normal samples:
 * Vangel's modification of McKay's method (Vangel 1996, The American Statistician 50: 21-26).
 * The upper bound is Infinity where the data allow any CV.
 * @throws RangeError when the mean is not positive or there are fewer than two values
 */
export function cvInterval(n: number, mean: number, sd: number, level = 0.8): CvInterval {
  if (!(mean > 0) || n < 2)
    throw new RangeError('A coefficient of variation needs a positive mean and two values.');
  const k = sd / mean;
  const df = n - 1;
  const bound = (p: number) => {
    const u = chiSquareQuantile(p, df);
    const inside = ((u + 2) / n - 1) * k * k + u / df;
    return inside > 0 ? k / Math.sqrt(inside) : Infinity;
  };
  return { low: bound((1 + level) / 2), mid: k, high: bound((1 - level) / 2) };
}

/** CV of a lognormal variable whose logarithm has standard deviation s: √(exp(s²) − 1). */
export function cvOfLogSd(logSd: number): number {
  return Math.sqrt(Math.expm1(logSd * logSd));
}

/** Standard deviation of the logarithm of a lognormal variable with coefficient of variation `cv`. */
export function logSdOfCv(cv: number): number {
  return Math.sqrt(Math.log1p(cv * cv));
}

/** As {@link cvInterval} for lognormal data: the exact χ² interval of the log variance, carried through. */
export function cvIntervalLog(n: number, logSd: number, level = 0.8): CvInterval {
  if (n < 2) throw new RangeError('A coefficient of variation needs two values.');
  const df = n - 1;
  const at = (p: number) => cvOfLogSd(logSd * Math.sqrt(df / chiSquareQuantile(p, df)));
  return { low: at((1 + level) / 2), mid: cvOfLogSd(logSd), high: at((1 - level) / 2) };
}

/**
 * Cochran 1977, eq. 4.11: samples for the mean of a field to be within a relative error E with a confidence:
 * the least n with t·CV/√n ≤ E, t at n − 1 degrees of freedom.
 * @param cv coefficient of variation, a fraction
 * @param relativeError half-width of the interval over the mean, a fraction
 */
export function samplesForMean(cv: number, relativeError: number, level = 0.95): number {
  const p = (1 + level) / 2;
  const narrowEnough = (n: number) => (studentQuantile(p, n - 1) * cv) / Math.sqrt(n) <= relativeError;
  let n = Math.max(2, Math.ceil(((normalQuantile(p) * cv) / relativeError) ** 2));
  while (!narrowEnough(n)) n++;
  while (n > 2 && narrowEnough(n - 1)) n--;
  return n;
}
