import { blockPoints, blockVariance, meanCovariance } from '../krige/index.ts';
import { correlation } from '../variogram/index.ts';
import type { Member } from '../prior/index.ts';
import type { FlatPositions } from '../field/index.ts';
import { mapErrors, type MapError, type MapGround } from './mapErrors.ts';

/**
 * How an estimate goes with the truth over a field, on the working scale, for an application block drawn at random:
 * variance of the true block values, variance of the estimates, and their covariance.
 * The mean squared error is truth + estimate − 2·covariance.
 */
export interface DesignAccuracy {
  readonly truthVariance: number;
  readonly estimateVariance: number;
  readonly covariance: number;
  readonly meanSquaredError: number;
  /** Median and 90th percentile over the field's blocks of the squared error. */
  readonly median: number;
  readonly p90: number;
}

export interface SamplingOptions {
  readonly blockM: number;
  readonly stopRadiusM: number;
  readonly cores: number;
  /** Cores of the samples the nugget was learnt from. */
  readonly coresLearnt: number;
  readonly labVariance: number;
}

/** The nugget taken apart: laboratory error stays, the rest is core to core and falls with the number of cores. */
export function splitNugget(
  member: Member,
  options: SamplingOptions,
): { labVariance: number; coreVariance: number } {
  const nugget = member.sill * member.nuggetShare;
  const labVariance = Math.min(options.labVariance, nugget);
  return { labVariance, coreVariance: (nugget - labVariance) * options.coresLearnt };
}

/** Noise variance of a composite (cores and laboratory) over the structured variance. */
export function noiseRatio(member: Member, options: SamplingOptions): number {
  const { coreVariance, labVariance } = splitNugget(member, options);
  const partialSill = member.sill * (1 - member.nuggetShare);
  return (coreVariance / options.cores + labVariance) / Math.max(partialSill, 1e-9 * member.sill);
}

function groundOf(member: Member): (h: number) => number {
  const partialSill = member.sill * (1 - member.nuggetShare);
  return (h) => partialSill * correlation(member.kind, member.effectiveRangeM, h);
}

/** Variance of block means within the field: C̄(B,B) − C̄(F,F). */
export function blockVarianceInField(member: Member, fieldNodes: FlatPositions, blockM: number): number {
  const ground = groundOf(member);
  return Math.max(0, blockVariance(ground, blockPoints(blockM)) - meanCovariance(fieldNodes, ground));
}

/** A map's error, computed for a structured variance of 1, under a member. @param truthVariance of the field's blocks */
export function mapAccuracy(member: Member, error: MapError, truthVariance: number): DesignAccuracy {
  const partialSill = member.sill * (1 - member.nuggetShare);
  const meanSquaredError = partialSill * error.meanSquaredError;
  // The block places' own spread differs a hair from the field's, so the three are kept to their identity, within bounds.
  const most = Math.sqrt(Math.max(0, truthVariance) * (truthVariance + meanSquaredError)) + truthVariance;
  const covariance = Math.min(partialSill * error.covariance, most);
  const estimateVariance = Math.max(
    meanSquaredError - truthVariance + 2 * covariance,
    truthVariance > 0 ? (covariance * covariance) / truthVariance : 0,
  );
  return {
    truthVariance,
    estimateVariance,
    covariance,
    meanSquaredError,
    median: partialSill * error.median,
    p90: partialSill * error.p90,
  };
}

/**
 * Error of mapping application blocks from composites pulled at grid stops, by ordinary kriging, under one member.
 * @param stops 2n metres; @param truthVariance of {@link blockVarianceInField}
 */
export function gridAccuracy(
  member: Member,
  stops: FlatPositions,
  ground: MapGround,
  truthVariance: number,
  options: SamplingOptions,
): DesignAccuracy {
  const samples = { kind: 'stops', xy: stops, radiusM: options.stopRadiusM, cores: options.cores } as const;
  const errors = mapErrors(samples, ground, member.kind, member.effectiveRangeM);
  return mapAccuracy(member, errors(noiseRatio(member, options), 'interpolated'), truthVariance);
}

/** What zones leave together, for a structured variance of 1: of each, its share of the field and the mean covariance within. */
export interface ZoneExtent {
  readonly share: number;
  readonly meanWithin: number;
}

/**
 * Shares and mean covariances of zones, empty ones left out.
 * @param labels zone of each field node
 */
export function zoneExtents(
  fieldNodes: FlatPositions,
  labels: ArrayLike<number>,
  zones: number,
  ground: (h: number) => number,
): readonly ZoneExtent[] {
  const n = fieldNodes.length / 2;
  const out: ZoneExtent[] = [];
  for (let z = 0; z < zones; z++) {
    const own: number[] = [];
    for (let i = 0; i < n; i++) if (labels[i] === z) own.push(fieldNodes[2 * i], fieldNodes[2 * i + 1]);
    if (own.length === 0) continue;
    out.push({ share: own.length / 2 / n, meanWithin: meanCovariance(Float64Array.from(own), ground) });
  }
  return out;
}

/**
 * Error when each zone takes the value of one composite of cores spread over it:
 * what the blocks still vary within zones, plus the variance of the composite's mean (Cochran 1977, ch. 5).
 * The whole field is one zone.
 * @param extents of {@link zoneExtents} for a structured variance of 1
 * @param ownBlock variance of a block, for a structured variance of 1
 * @param efficacy within-zone structured variance over what compact pieces of that shape would leave under the variogram
 * alone (1: the zones say nothing more than where a place is)
 */
export function zoneAccuracy(
  member: Member,
  extents: readonly ZoneExtent[],
  ownBlock: number,
  efficacy: number,
  truthVariance: number,
  options: SamplingOptions,
): DesignAccuracy {
  const partialSill = member.sill * (1 - member.nuggetShare);
  const split = splitNugget(member, options);
  let [mse, between] = [0, 0];
  const perZone: { share: number; error: number }[] = [];
  for (const { share, meanWithin } of extents) {
    const blocksWithin = Math.min(truthVariance, efficacy * partialSill * Math.max(0, ownBlock - meanWithin));
    const pointsWithin = Math.max(blocksWithin, efficacy * partialSill * Math.max(0, 1 - meanWithin));
    const composite = (pointsWithin + split.coreVariance) / options.cores + split.labVariance;
    mse += share * (blocksWithin + composite);
    between += share * Math.max(0, truthVariance - blocksWithin);
    perZone.push({ share, error: blocksWithin + composite });
  }
  perZone.sort((a, b) => a.error - b.error);
  const at = (p: number) => {
    let sum = 0;
    for (const z of perZone) if ((sum += z.share) >= p) return z.error;
    return perZone[perZone.length - 1].error;
  };
  const compositeVariance = Math.max(0, mse - (truthVariance - between));
  return {
    truthVariance,
    estimateVariance: between + compositeVariance,
    covariance: between,
    meanSquaredError: mse,
    median: at(0.5),
    p90: at(0.9),
  };
}
