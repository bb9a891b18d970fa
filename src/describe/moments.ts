import { max, mean, median, min, sampleSkewness, sampleStandardDeviation } from 'simple-statistics';

export interface Moments {
  readonly n: number;
  readonly mean: number;
  readonly median: number;
  readonly sd: number;
  readonly min: number;
  readonly max: number;
  /** Adjusted Fisher-Pearson coefficient; 0 when it cannot be had (fewer than three values, or all alike). */
  readonly skewness: number;
}

/** Moments of a sample; sd and skewness are 0 where undefined. @throws RangeError on an empty sample */
export function moments(values: readonly number[]): Moments {
  if (values.length === 0) throw new RangeError('No values to describe.');
  const sd = values.length > 1 ? sampleStandardDeviation(values as number[]) : 0;
  return {
    n: values.length,
    mean: mean(values as number[]),
    median: median([...values]),
    sd,
    min: min(values as number[]),
    max: max(values as number[]),
    skewness: values.length > 2 && sd > 0 ? sampleSkewness(values as number[]) : 0,
  };
}
