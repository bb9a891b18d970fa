import type { Anisotropy } from '../variogram/index.ts';
import { elongated, squareBasis, type LatticeBasis } from './lattice.ts';

/**
 * Best sides of a rectangular grid under geometric anisotropy: as the ranges, so the greatest range over the least.
 * The plane drawn out across the direction of greatest continuity by that ratio varies alike in all directions; there
 * the square is the best rectangle, and on the ground it is a rectangle elongated by the ratio, whatever the model and
 * the nugget (McBratney & Webster 1981, Computers & Geosciences 7: 335-365, for the linear model). Exact for samples
 * and predictions at points in an endless field; circles and blocks well under the spacing change it little.
 */
export function elongationFor(anisotropy: Anisotropy | undefined): number {
  return anisotropy ? 1 / anisotropy.ratio : 1;
}

/** Rectangular lattice with one point to `cellAreaM2`, its sides `elongation` : 1, the longer along `angleRad`. */
export function rectangularBasis(cellAreaM2: number, elongation: number, angleRad: number): LatticeBasis {
  return elongated(squareBasis(Math.sqrt(cellAreaM2), angleRad), elongation, angleRad);
}
