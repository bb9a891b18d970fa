import { gaussHermite } from './gauss.ts';

/**
 * From a kriged transform y of the user's values back to their mean, without bias. A kriged ŷ varies less than the ground
 * y₀ that it predicts: Var ŷ = Var y₀ − (σ² − 2m), with σ² the kriging variance and m the Lagrange multiplier (Kriged's
 * `lagrange`: weights K⁻¹(c + F·m)). What ŷ lacks, a normal spread of variance σ² − 2m, is put back before the inverse, so that
 * the mean over all ground comes out right. After simple kriging m is 0 and the result is the conditional mean.
 *
 * y₀ is what kriging predicts here: the ground without the samples' nugget. Where part of the nugget is variation of the
 * ground itself and not of sampling and laboratory, that part is to be added to the variance.
 * Points only: the mean of a block is the mean of its points' back-transforms, not the back-transform of its mean.
 */
function lackingVariance(variance: number, lagrange: number): number {
  return variance - 2 * lagrange;
}

/**
 * Lognormal kriging: exp(ŷ + σ²/2 − m) (Journel & Huijbregts 1978, sec. VIII.A; Cressie 1993, sec. 3.2.2; there with the
 * multiplier of the opposite sign where the system is written K·λ + μ·1 = c).
 * @param prediction of ln z; @param variance its kriging variance; @param lagrange its multiplier
 */
export function lognormalKriging(prediction: number, variance: number, lagrange: number): number {
  return Math.exp(prediction + lackingVariance(variance, lagrange) / 2);
}

/**
 * Mean squared error of {@link lognormalKriging}: e^(2μ + C₀)·(e^C₀ + e^v − 2e^κ), with C₀ the variance of ln z on the ground,
 * v = Var ŷ = C₀ − σ² + 2m and κ = Cov(ŷ, y₀) = C₀ − σ² + m (moments of two normal variables; Cressie 1993, sec. 3.2.2).
 * @param mean μ of ln z, as from generalised least squares; @param own C₀
 */
export function lognormalKrigingError(mean: number, own: number, variance: number, lagrange: number): number {
  const spread = own - variance + 2 * lagrange;
  const shared = own - variance + lagrange;
  return Math.exp(2 * mean + own) * (Math.exp(own) + Math.exp(spread) - 2 * Math.exp(shared));
}

const HERMITE = gaussHermite(40);

/**
 * Mean of inverse(y₀) given ŷ, for any back-transform, by Gauss-Hermite quadrature with 40 points (Abramowitz & Stegun
 * 1964, eq. 25.4.46). Equal to {@link lognormalKriging} for exp. Where ŷ varies more than the ground (far outside the
 * samples, σ² < 2m) nothing is put back, and the mean is too high for a convex inverse.
 * @param inverse of the transform, monotone
 */
export function backTransformMean(
  prediction: number,
  variance: number,
  inverse: (y: number) => number,
  lagrange = 0,
): number {
  const sd = Math.sqrt(Math.max(0, lackingVariance(variance, lagrange)));
  if (sd === 0) return inverse(prediction);
  let sum = 0;
  for (let i = 0; i < HERMITE.at.length; i++)
    sum += HERMITE.weight[i] * inverse(prediction + sd * HERMITE.at[i]);
  return sum;
}
