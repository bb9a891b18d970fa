import normalCdf from '@stdlib/stats-base-dists-normal-cdf';
import type { Normal } from './prior.ts';

/** A mixture of normals with weights that sum to one. */
export type Mixture = readonly { readonly weight: number; readonly normal: Normal }[];

/** Share of the priors in the proposals of later rounds: it keeps every weight bounded. */
export const PRIOR_SHARE = 0.15;

export function evenMixture(normals: readonly Normal[], share = 1): Mixture {
  return normals.map((normal) => ({ weight: share / normals.length, normal }));
}

/** Density of a normal distribution. */
export function normalDensity(x: number, { mean, sd }: Normal): number {
  const t = (x - mean) / sd;
  return Math.exp(-0.5 * t * t) / (sd * 2.5066282746310002);
}

export function mixtureDensity(mixture: Mixture, x: number): number {
  return mixture.reduce((s, { weight, normal }) => s + weight * normalDensity(x, normal), 0);
}

/** Quantile of a mixture, by bisection to 1e-9 of its width. */
export function mixtureQuantile(mixture: Mixture, p: number): number {
  let low = Math.min(...mixture.map(({ normal }) => normal.mean - 9 * normal.sd));
  let high = Math.max(...mixture.map(({ normal }) => normal.mean + 9 * normal.sd));
  const tolerance = 1e-9 * (high - low);
  while (high - low > tolerance) {
    const mid = (low + high) / 2;
    const below = mixture.reduce(
      (s, { weight, normal }) => s + weight * normalCdf(mid, normal.mean, normal.sd),
      0,
    );
    if (below < p) low = mid;
    else high = mid;
  }
  return (low + high) / 2;
}

/**
 * A normal about weighted draws, wider than they are: a few heavy draws understate the spread, the more the fewer they are.
 * @param effective number of draws the weights amount to
 */
export function widened(
  draws: ArrayLike<number>,
  weights: ArrayLike<number>,
  effective: number,
  prior: Normal,
): Normal {
  let [total, first, second] = [0, 0, 0];
  for (let i = 0; i < draws.length; i++) {
    total += weights[i];
    first += weights[i] * draws[i];
    second += weights[i] * draws[i] * draws[i];
  }
  const mean = first / total;
  const sd = Math.sqrt(Math.max(0, second / total - mean * mean));
  const floor = Math.min(0.6, Math.max(0.05, 0.5 / effective)) * prior.sd;
  return { mean, sd: Math.max(1.3 * sd, floor) };
}
