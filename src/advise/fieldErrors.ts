import {
  errorSurfaces,
  evenAxis,
  groundShape,
  mapErrorsOf,
  noiseRatio,
  rangeTable,
  zoneExtents,
  type ErrorSurface,
  type EvenAxis,
  type GroundShape,
  type MapGround,
  type MapUse,
  type SamplingOptions,
  type SurfaceAxes,
  type ZoneExtent,
} from '../design/index.ts';
import type { Member } from '../prior/index.ts';
import { stretched, type ModelKind } from '../variogram/index.ts';
import { isMap, type Candidate } from './candidates.ts';

/** Variances for a structured variance of 1. */
export interface UnitVariances {
  /** Of a block. */
  readonly block: number;
  /** Of the blocks about the field's mean. */
  readonly truth: number;
}

/** A candidate's error as a function of the member, for a structured variance of 1. */
export type CandidateErrors =
  | { readonly kind: 'map'; readonly surfaces: Readonly<Record<MapUse, ErrorSurface>> }
  | { readonly kind: 'zones'; readonly extents: (member: Member) => readonly ZoneExtent[] };

/**
 * The errors of every design of a field over the whole belief: computed once on a grid of ranges and noise ratios,
 * and read off for each member of each property.
 */
export interface FieldErrors {
  readonly variances: (member: Member) => UnitVariances;
  readonly of: readonly CandidateErrors[];
}

/** Steps of the axes, in natural logarithms: interpolation then errs by under a hundredth (tests/design/mapErrors.test.ts). */
const RANGE_STEP = 0.42;
const NOISE_STEP = 1.1;
const KINDS: readonly ModelKind[] = ['spherical', 'exponential'];

/** Axes that cover all members, and for the noise all numbers of cores. */
export function axesOver(members: readonly Member[], samplings: readonly SamplingOptions[]): SurfaceAxes {
  const ranges = members.map((m) => Math.log(m.effectiveRangeM));
  const noises = members.flatMap((m) =>
    samplings.map((s) => Math.log(Math.min(1e4, Math.max(1e-4, noiseRatio(m, s))))),
  );
  const ends = (values: readonly number[]) => [
    values.reduce((a, b) => Math.min(a, b), Infinity),
    values.reduce((a, b) => Math.max(a, b), -Infinity),
  ];
  const [lowRange, highRange] = ends(ranges);
  const [lowNoise, highNoise] = ends(noises);
  return {
    kinds: KINDS,
    logRange: evenAxis(lowRange, highRange, RANGE_STEP),
    logNoise: evenAxis(lowNoise, highNoise, NOISE_STEP),
  };
}

/** Every other node of an axis: whole cells average their ground, so their errors bend less. */
function coarser({ from, step, count }: EvenAxis): EvenAxis {
  return evenAxis(from, from + step * (count - 1), 2 * step);
}

/** @param onCandidate called before each candidate with its index; may throw to stop */
export function fieldErrors(
  candidates: readonly Candidate[],
  ground: MapGround,
  axes: SurfaceAxes,
  onCandidate: (index: number) => void = () => undefined,
): FieldErrors {
  const shapes = new Map<string, GroundShape>();
  const shapeAt = (kind: ModelKind, range: number) => {
    const key = `${kind} ${range}`;
    const known = shapes.get(key) ?? groundShape(ground, kind, range);
    shapes.set(key, known);
    return known;
  };
  const variances = rangeTable(axes, 2, (kind, range) => {
    const { ownBlock, ownField } = shapeAt(kind, range);
    return [ownBlock, Math.max(0, ownBlock - ownField)];
  });
  const coarse = { ...axes, logRange: coarser(axes.logRange) };
  const fieldNodes = stretched(ground.fieldNodes, ground.anisotropy);
  const of = candidates.map((c, d): CandidateErrors => {
    onCandidate(d);
    if (!isMap(c)) {
      const shares = zoneExtents(fieldNodes, c.map.labels, c.map.zones, () => 0).map((e) => e.share);
      const within = rangeTable(axes, shares.length, (kind, range) =>
        zoneExtents(fieldNodes, c.map.labels, c.map.zones, shapeAt(kind, range).structured).map(
          (e) => e.meanWithin,
        ),
      );
      return {
        kind: 'zones',
        extents: (m) =>
          Array.from(within(m.kind, Math.log(m.effectiveRangeM)), (meanWithin, z) => ({
            share: shares[z],
            meanWithin,
          })),
      };
    }
    const of = mapErrorsOf(c.pulled, ground);
    const own = c.kind === 'cells' ? coarse : axes;
    return { kind: 'map', surfaces: errorSurfaces(own, (kind, range) => of(shapeAt(kind, range))) };
  });
  return {
    variances: (m) => {
      const [block, truth] = variances(m.kind, Math.log(m.effectiveRangeM));
      return { block, truth: Math.max(0, truth) };
    },
    of,
  };
}
