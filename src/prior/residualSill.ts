import type { SillPrior } from './sillPosterior.ts';

/** Least share of the prior's middle that is left to what a plane does not explain, to place the quadrature by. */
const LEAST_LEFT = 0.1;

/**
 * Prior of ln(sill) of what a plane leaves, from that of the whole: published variation is a field's with its trends.
 * With v the plane's variance, whole = sill + v, so the density of u = ln(sill) is that of ln(eᵘ + v) times eᵘ/(eᵘ + v).
 */
export function residualSillPrior(whole: SillPrior, planeVariance: number): SillPrior {
  const middle = Math.exp(whole.near.mean);
  const left = Math.max(middle - planeVariance, LEAST_LEFT * middle);
  return {
    near: { mean: Math.log(left), sd: (whole.near.sd * middle) / left },
    logDensity: (u) => {
      const all = Math.exp(u) + planeVariance;
      return whole.logDensity(Math.log(all)) + u - Math.log(all);
    },
  };
}
