/**
 * Kriging variances in a square lattice to test against: R's gstat, all of 12 × 12 points used.
 * `endlessLattice.R` beside this file made the JSON.
 */
import type { ModelKind } from '../../src/variogram/index.ts';
import lattice from './endlessLattice.json';

export interface OverCell {
  readonly mean: number;
  readonly p50: number;
  readonly p90: number;
  readonly centre: number;
}

export interface LatticeCase {
  readonly name: string;
  readonly kind: ModelKind;
  readonly effectiveRangeM: number;
  readonly nugget: number;
  readonly partialSill: number;
  /** gstat's variance of a point holds the nugget, its variance of a block does not. */
  readonly bySpacing: readonly {
    readonly spacing: number;
    readonly point: OverCell;
    readonly block: OverCell;
  }[];
}

const KINDS: Readonly<Record<string, ModelKind>> = { Sph: 'spherical', Exp: 'exponential', Gau: 'gaussian' };

export const blockOfLattices = lattice.block;
export const wholeLattices: readonly LatticeCase[] = lattice.cases.map((c) => ({
  name: `${c.model} of ${c.effective_range} m, nugget ${c.nugget}`,
  kind: KINDS[c.model],
  effectiveRangeM: c.effective_range,
  nugget: c.nugget,
  partialSill: c.psill,
  bySpacing: c.by_spacing,
}));
