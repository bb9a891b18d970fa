import { splitNugget, type DesignAccuracy, type SamplingOptions } from '../design/index.ts';
import type { FlatPositions } from '../field/index.ts';
import { weightedQuantile } from '../describe/index.ts';
import { compositeSamples, kriging } from '../krige/index.ts';
import type { Member } from '../prior/index.ts';
import type { PlaneOfMean } from '../prior/belief.ts';
import type { Anisotropy } from '../variogram/index.ts';
import {
  middleOf,
  planeBasis,
  planeVariance,
  type SecondMoments,
  type Slope,
} from '../variogram/planeMean.ts';

/**
 * How designs render a mean that is a plane: a matter of geometry alone, reckoned once for each design and read off for any
 * slope. Blocks are taken at the field's nodes; the mean of a plane over a block is its value at the centre.
 */

/** The nodes' places in their zones. */
export interface PlaneInZones {
  /** Each node's zone, numbered from 0 over those that have nodes, and its offset from that zone's middle, metres. */
  readonly zone: Int32Array;
  readonly east: Float64Array;
  readonly north: Float64Array;
  /** Of each zone: its share of the nodes, and the moments of their offsets. */
  readonly zones: readonly { readonly share: number; readonly within: SecondMoments }[];
}

/** @param labels zone of each node, below `zones` */
export function planeInZones(nodes: FlatPositions, labels: ArrayLike<number>, zones: number): PlaneInZones {
  const n = nodes.length / 2;
  const zone = new Int32Array(n);
  const east = new Float64Array(n);
  const north = new Float64Array(n);
  const out: { share: number; within: SecondMoments }[] = [];
  for (let z = 0; z < zones; z++) {
    const own = Array.from({ length: n }, (_, i) => i).filter((i) => labels[i] === z);
    if (own.length === 0) continue;
    const places = Float64Array.from(own.flatMap((i) => [nodes[2 * i], nodes[2 * i + 1]]));
    const [mx, my] = middleOf(places);
    for (const i of own) {
      zone[i] = out.length;
      east[i] = nodes[2 * i] - mx;
      north[i] = nodes[2 * i + 1] - my;
    }
    out.push({ share: own.length / n, within: momentsAt(own, east, north) });
  }
  return { zone, east, north, zones: out };
}

/** Moments of the nodes about the stop nearest to each: what is left of a plane when a cell takes its stop's value. */
export function planeAboutStops(nodes: FlatPositions, stops: FlatPositions): PlaneAboutStops {
  const n = nodes.length / 2;
  const east = new Float64Array(n);
  const north = new Float64Array(n);
  const nearest = new Float64Array(2 * n);
  for (let i = 0; i < n; i++) {
    let least = Infinity;
    for (let s = 0; s < stops.length; s += 2) {
      const dx = nodes[2 * i] - stops[s];
      const dy = nodes[2 * i + 1] - stops[s + 1];
      const d = dx * dx + dy * dy;
      if (d >= least) continue;
      least = d;
      [east[i], north[i], nearest[2 * i], nearest[2 * i + 1]] = [dx, dy, stops[s], stops[s + 1]];
    }
  }
  const all = Array.from({ length: n }, (_, i) => i);
  const [mx, my] = middleOf(nearest);
  const heldEast = Float64Array.from(all, (i) => nearest[2 * i] - mx);
  const heldNorth = Float64Array.from(all, (i) => nearest[2 * i + 1] - my);
  return { offsets: momentsAt(all, east, north), held: momentsAt(all, heldEast, heldNorth) };
}

export interface PlaneAboutStops {
  /** Of the nodes about the stop nearest to each. */
  readonly offsets: SecondMoments;
  /** Of those stops about their mean. */
  readonly held: SecondMoments;
}

function momentsAt(own: readonly number[], east: Float64Array, north: Float64Array): SecondMoments {
  let [ee, en, nn] = [0, 0, 0];
  for (const i of own) {
    ee += east[i] * east[i];
    en += east[i] * north[i];
    nn += north[i] * north[i];
  }
  return [ee / own.length, en / own.length, nn / own.length];
}

/** Squared errors of universal over those of ordinary kriging: what it costs a map that the slopes are learnt from its own samples. */
export interface PlaneCost {
  readonly meanSquaredError: number;
  readonly median: number;
  readonly p90: number;
}

/** More samples than this tell the slopes so well that it costs nothing to speak of: under 1 % of the typical error at 25. */
const COSTS_UP_TO = 36;

/**
 * What a plane costs a map, under one member; it changes little from one to the next.
 * @param xy samples, 2n metres; @param nodes where errors are taken
 * @returns undefined when the samples cannot tell a plane: fewer than four, or all on a line
 */
export function planeCost(
  member: Member,
  xy: FlatPositions,
  nodes: FlatPositions,
  { radiusM, cores }: { readonly radiusM: number; readonly cores: number },
  options: SamplingOptions,
  anisotropy: Anisotropy | undefined,
): PlaneCost | undefined {
  const n = xy.length / 2;
  if (n < 4 || !planeBasis(xy)) return undefined;
  if (n > COSTS_UP_TO) return { meanSquaredError: 1, median: 1, p90: 1 };
  const cov = {
    ...compositeSamples(member.kind, member.effectiveRangeM, member.sill * (1 - member.nuggetShare), {
      radiusM,
      cores,
      ...splitNugget(member, options),
    }),
    anisotropy,
  };
  const variances = (trend: 'constant' | 'linear') =>
    kriging(xy, undefined, nodes, cov, { blockM: options.blockM, trend }).variances;
  const [ordinary, universal] = [variances('constant'), variances('linear')];
  const even = new Float64Array(ordinary.length).fill(1);
  const mean = (v: Float64Array) => v.reduce((s, x) => s + x, 0);
  const ratio = (p: number) => weightedQuantile(universal, even, p) / weightedQuantile(ordinary, even, p);
  return {
    meanSquaredError: mean(universal) / mean(ordinary),
    median: ratio(0.5),
    p90: ratio(0.9),
  };
}

/**
 * A map that is interpolated with a plane for its mean (universal kriging, Cressie 1993, sec. 3.4) holds the plane as the
 * truth does, and errs by what it costs to learn it.
 */
export function interpolatedWithPlane(
  residual: DesignAccuracy,
  { variance }: PlaneOfMean,
  cost: PlaneCost,
): DesignAccuracy {
  const meanSquaredError = residual.meanSquaredError * cost.meanSquaredError;
  return {
    truthVariance: residual.truthVariance + variance,
    estimateVariance: residual.estimateVariance + variance + meanSquaredError - residual.meanSquaredError,
    covariance: residual.covariance + variance,
    meanSquaredError,
    median: residual.median * cost.median,
    p90: residual.p90 * cost.p90,
  };
}

/**
 * Where each cell takes its stop's value, the plane's rise between a place and its stop is missed. So it is on a map whose
 * samples are too few to tell a plane.
 */
export function ownCellWithPlane(
  residual: DesignAccuracy,
  { offsets, held }: PlaneAboutStops,
  plane: PlaneOfMean,
): DesignAccuracy {
  const missed = planeVariance(offsets, plane);
  const kept = planeVariance(held, plane);
  return {
    truthVariance: residual.truthVariance + plane.variance,
    estimateVariance: residual.estimateVariance + kept,
    covariance: residual.covariance + (plane.variance + kept - missed) / 2,
    meanSquaredError: residual.meanSquaredError + missed,
    median: residual.median + missed,
    p90: residual.p90 + missed,
  };
}

/**
 * Where each zone takes the value of one composite, the plane's rise about the zone's middle is missed, and the composite's
 * mean varies with where its cores fall (Cochran 1977, ch. 5). The median and 90th percentile are over places:
 * those at a zone's ends lie farthest from its mean.
 * @param residual accuracy of what the plane leaves; @param residualOfZones its mean squared error in each zone
 */
export function zonesWithPlane(
  residual: DesignAccuracy,
  residualOfZones: readonly number[],
  geometry: PlaneInZones,
  plane: PlaneOfMean,
  cores: number,
): DesignAccuracy {
  const { zone, east, north, zones } = geometry;
  const within = zones.map((z) => planeVariance(z.within, plane));
  const left = zones.reduce((s, z, k) => s + z.share * within[k], 0);
  const between = Math.max(0, plane.variance - left);
  const errors = Float64Array.from(zone, (z, i) => {
    const missed = east[i] * plane.eastPerM + north[i] * plane.northPerM;
    return residualOfZones[z] + within[z] / cores + missed * missed;
  });
  errors.sort();
  const at = (p: number) => errors[Math.min(errors.length - 1, Math.floor(p * errors.length))];
  return {
    truthVariance: residual.truthVariance + plane.variance,
    estimateVariance: residual.estimateVariance + between + left / cores,
    covariance: residual.covariance + between,
    meanSquaredError: residual.meanSquaredError + left * (1 + 1 / cores),
    median: at(0.5),
    p90: at(0.9),
  };
}

/** Values with a plane taken out, at its level in the middle of the field. */
export function withoutPlane(
  xy: Float64Array,
  z: Float64Array,
  { eastPerM, northPerM }: Slope,
  [mx, my]: readonly [number, number],
): Float64Array {
  return z.map((v, i) => v - eastPerM * (xy[2 * i] - mx) - northPerM * (xy[2 * i + 1] - my));
}
