import type { NormalScore } from './normalScore.ts';
import type { Scale } from './scale.ts';

/** How values become working values and back; `inverse` of a mean is not the mean of the inverse. */
export interface WorkingTransform {
  readonly forward: (value: number) => number;
  readonly inverse: (y: number) => number;
  /** Mean of the value when the working value is normal with this mean and variance. */
  readonly meanOf: (mean: number, variance: number) => number;
}

/**
 * Unbiased back-transformation, E[inverse(Y)] with Y ~ N(mean, variance): the mean itself on the raw scale,
 * exp(mean + variance/2) on the log scale (Aitchison & Brown 1957), and exact over the straight pieces of a table of normal
 * scores (Deutsch & Journel 1998, GSLIB, 2nd ed.; Chilès & Delfiner 2012, Geostatistics, 2nd ed., ch. 6).
 * With simple or Bayesian kriging `variance` is the kriging variance; ordinary kriging of logarithms also takes
 * its Lagrange multiplier off (Chilès & Delfiner 2012, 3.4.11, from memory), which the caller must do.
 */
export function workingTransform(scale: Scale | NormalScore): WorkingTransform {
  if (scale === 'raw') return { forward: (v) => v, inverse: (y) => y, meanOf: (mean) => mean };
  if (scale === 'log')
    return {
      forward: Math.log,
      inverse: Math.exp,
      meanOf: (mean, variance) => Math.exp(mean + Math.max(0, variance) / 2),
    };
  return scale;
}
