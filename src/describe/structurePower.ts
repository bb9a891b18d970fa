import normalCdf from '@stdlib/stats-base-dists-normal-cdf';
import { normalQuantile } from './quantiles.ts';

/** The pattern that a test is asked whether it could see. */
export interface SoughtPattern {
  /** Effective range over the distance between neighbours. */
  readonly rangeInSpacings: number;
  /** Share of the variance that is nugget. */
  readonly nuggetShare: number;
}

/** Largest torus worked out, a side of this many points: more points see a pattern surer still. */
const MOST_SIDE = 24;
/** Six nearest on a square lattice: four at one spacing and two of the four at √2, each weighed by 1/distance. */
const DIAGONAL_WEIGHT = 0.5 / Math.SQRT2;

/**
 * Probability that the permutation test of Moran's I (`moranTest`, one-sided, 5 % by default) finds a spherical pattern
 * with `n` points on a square grid. On a torus the weights and the covariance share their eigenvectors (the
 * Fourier waves), so that I > c is a sum of independent weighted χ² variables above 0, taken as normal with its mean, variance
 * and skewness (Cliff & Ord 1981, ch. 2 and 6, for the moments of ratios of quadratic forms; the
 * spectral form is this project's). Held against simulated fields in the tests. Numbers of points between
 * two squares are interpolated.
 */
export function moranPower(n: number, pattern: SoughtPattern, level = 0.05): number {
  // A grid has edges: side·(side − 1) neighbour pairs along each axis, as many as a torus of that many points.
  const side = Math.min(MOST_SIDE, Math.sqrt(n - Math.sqrt(n)));
  if (!(side >= 3)) return level;
  const low = Math.floor(side);
  const atLow = powerOnTorus(low, pattern, level);
  if (side === low) return atLow;
  const share = (side * side - low * low) / (2 * low + 1);
  return atLow + share * (powerOnTorus(low + 1, pattern, level) - atLow);
}

/** Least number of points on a square grid that sees the pattern with a power; undefined when even the most worked out don't. */
export function pointsToSee(pattern: SoughtPattern, power = 0.8): number | undefined {
  for (let side = 4; side <= MOST_SIDE; side++)
    if (moranPower(side * side, pattern) >= power) return side * side;
  return undefined;
}

function powerOnTorus(side: number, { rangeInSpacings, nuggetShare }: SoughtPattern, level: number): number {
  const n = side * side;
  const cosine = Float64Array.from({ length: side }, (_, k) => Math.cos((2 * Math.PI * k) / side));
  const lagOf = (k: number) => Math.min(k, side - k);
  const total = 4 + 4 * DIAGONAL_WEIGHT;
  // Eigenvalues of the weights (rows sum to 1) and of the covariance, the mean's own left out.
  const weight: number[] = [];
  const variance: number[] = [];
  for (let p = 0; p < side; p++)
    for (let q = p === 0 ? 1 : 0; q < side; q++) {
      weight.push((2 * cosine[p] + 2 * cosine[q] + 4 * DIAGONAL_WEIGHT * cosine[p] * cosine[q]) / total);
      let sum = nuggetShare;
      for (let a = 0; a < side; a++)
        for (let b = 0; b < side; b++) {
          const t = Math.hypot(lagOf(a), lagOf(b)) / rangeInSpacings;
          if (t < 1)
            sum +=
              (1 - nuggetShare) *
              (1 - t * (1.5 - 0.5 * t * t)) *
              cosine[(p * a) % side] *
              cosine[(q * b) % side];
        }
      variance.push(Math.max(0, sum));
    }
  const mean = weight.reduce((s, w) => s + w, 0) / (n - 1);
  const spread = weight.reduce((s, w) => s + (w - mean) ** 2, 0);
  // Variance of a ratio of quadratic forms in n − 1 free normal variables (Cliff & Ord 1981).
  const sd = Math.sqrt((2 * spread) / ((n - 1) * (n + 1)));
  const critical = mean + normalQuantile(1 - level) * sd;
  let [middle, square, cube] = [0, 0, 0];
  weight.forEach((w, k) => {
    const term = (w - critical) * variance[k];
    middle += term;
    square += 2 * term * term;
    cube += 8 * term ** 3;
  });
  const x = middle / Math.sqrt(square);
  // Edgeworth's first term, for the sum's skewness.
  const edgeworth =
    (cube / square ** 1.5 / 6) * (x * x - 1) * (Math.exp(-0.5 * x * x) / Math.sqrt(2 * Math.PI));
  return Math.min(1, Math.max(0, normalCdf(x, 0, 1) + edgeworth));
}
