import type { FlatPositions } from '../field/index.ts';
import { compositeSamples, ordinaryKriging } from '../krige/index.ts';
import type { Member } from '../prior/index.ts';
import { splitNugget, type SamplingOptions } from './error.ts';

/** What an endless lattice's error depends on of a member of the belief. */
export type LatticeMember = Pick<Member, 'kind' | 'effectiveRangeM' | 'sill' | 'nuggetShare'>;

/** Kriging variances of blocks centred anywhere in a cell, on the working scale. */
export interface EndlessError {
  readonly meanSquaredError: number;
  readonly median: number;
  readonly p90: number;
  /** In the middle of the cell, farthest from the stops. */
  readonly greatest: number;
}

/** Stops about a cell that its blocks are kriged from, to a side. */
const PER_SIDE = 12;
/** Places over the cell, to half a side. */
const PER_HALF = 8;
/** Noise, as a share of the structured variance, that keeps a smooth model's tight lattice from being singular. */
const HAIR = 1e-9;

/**
 * Error of ordinary block kriging from composites at the stops of an endless square lattice, as a function of its
 * spacing: what a grid comes to far from any boundary (McBratney, Webster & Burgess 1981, Computers & Geosciences 7:
 * 331-334). Smooth in the spacing: the same 12 × 12 stops about a cell and the same places within it at every one. By the
 * lattice's symmetries an eighth of the cell stands for all of it.
 * @returns spacing in metres, above 0, to error; @throws RangeError (on call) for another spacing
 */
export function endlessLattice(
  member: LatticeMember,
  sampling: SamplingOptions,
): (spacingM: number) => EndlessError {
  const { kind, effectiveRangeM, sill, nuggetShare } = member;
  const structured = sill * (1 - nuggetShare);
  // The split looks at nothing but sill and nugget.
  const { coreVariance, labVariance } = splitNugget({ ...member, mean: 0, meanSd: 0, cv: 0 }, sampling);
  const cov = compositeSamples(kind, effectiveRangeM, structured, {
    radiusM: sampling.stopRadiusM,
    cores: sampling.cores,
    coreVariance,
    labVariance: labVariance + HAIR * Math.max(structured, sill * HAIR),
  });
  return (spacingM) => {
    if (!(spacingM > 0)) throw new RangeError(`A lattice's spacing is above 0 m, not ${spacingM}.`);
    const stops = scaled(STOPS, spacingM);
    const places = scaled(EIGHTH.at, spacingM);
    const { variances } = ordinaryKriging(stops, undefined, places, cov, { blockM: sampling.blockM });
    const greatest = variances[variances.length - 1];
    const own = variances.subarray(0, EIGHTH.weight.length);
    return {
      meanSquaredError: own.reduce((s, v, i) => s + EIGHTH.weight[i] * v, 0),
      median: quantile(own, 0.5),
      p90: quantile(own, 0.9),
      greatest,
    };
  };
}

/** {@link endlessLattice} at one spacing. */
export function endlessLatticeError(
  member: LatticeMember,
  spacingM: number,
  sampling: SamplingOptions,
): EndlessError {
  return endlessLattice(member, sampling)(spacingM);
}

/** The stops, for a spacing of 1; the cell's middle is the origin. */
const STOPS: FlatPositions = Float64Array.from({ length: 2 * PER_SIDE * PER_SIDE }, (_, k) => {
  const stop = k >> 1;
  return (k % 2 ? Math.floor(stop / PER_SIDE) : stop % PER_SIDE) - (PER_SIDE - 1) / 2;
});

/** Middles of the parts of an eighth of the cell, the cell's own middle after them, and the parts' shares of the cell. */
const EIGHTH: { readonly at: FlatPositions; readonly weight: Float64Array } = (() => {
  const at: number[] = [];
  const weight: number[] = [];
  const step = 0.5 / PER_HALF;
  for (let i = 0; i < PER_HALF; i++)
    for (let j = 0; j <= i; j++) {
      at.push((i + 0.5) * step, (j + 0.5) * step);
      weight.push((i === j ? 1 : 2) / (PER_HALF * PER_HALF));
    }
  return { at: Float64Array.from([...at, 0, 0]), weight: Float64Array.from(weight) };
})();

const scaled = (xy: FlatPositions, factor: number) => xy.map((v) => v * factor);

/** Quantile of values by their parts' shares, linear between the middles of the shares. */
function quantile(values: Float64Array, p: number): number {
  const order = Array.from(values, (_, i) => i).sort((a, b) => values[a] - values[b]);
  let before = 0;
  let [lastAt, last] = [0, values[order[0]]];
  for (const i of order) {
    const at = before + EIGHTH.weight[i] / 2;
    if (at >= p) return at > lastAt ? last + ((values[i] - last) * (p - lastAt)) / (at - lastAt) : last;
    before += EIGHTH.weight[i];
    [lastAt, last] = [at, values[i]];
  }
  return last;
}
