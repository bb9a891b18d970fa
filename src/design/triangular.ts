import type { LatticeBasis } from './lattice.ts';

/**
 * Triangular lattice with one point to `cellAreaM2`: steps of √(2A/√3), 7 % longer than the square's √A, at 60° to each
 * other. For a spherical variogram with little nugget it beats the square lattice by about a tenth (McBratney, Webster &
 * Burgess 1981, Computers & Geosciences 7: 331-334): in an endless lattice its greatest kriging variance is 4 to 9 %
 * less, so that a tenth more ground goes to a stop at the same greatest variance; the mean variance only 0.2 to 2 % less
 * (tests/design/triangular.test.ts).
 */
export function triangularBasis(cellAreaM2: number, angleRad: number): LatticeBasis {
  const step = Math.sqrt((2 * cellAreaM2) / Math.sqrt(3));
  const at = (turn: number) => [step * Math.cos(turn), step * Math.sin(turn)] as const;
  return { u: at(angleRad), v: at(angleRad + Math.PI / 3) };
}
