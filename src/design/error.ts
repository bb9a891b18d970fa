import {
  blockPoints,
  blockVariance,
  compositeSamples,
  meanCovariance,
  ordinaryKriging,
  type CompositeSupport,
  type SampleCovariance,
} from '../krige/index.ts';
import { correlation } from '../variogram/index.ts';
import type { Member } from '../prior/index.ts';
import type { FlatPositions } from '../field/index.ts';

/**
 * How an estimate goes with the truth over a field, on the working scale, for an application block drawn at random:
 * variance of the true block values, variance of the estimates, and their covariance.
 * The mean squared error is truth + estimate − 2·covariance, or more where a map is worse than the field’s mean.
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

/** Up to so many stops all are used at every block; beyond, the nearest, which screen the rest. */
const WHOLE_UP_TO = 64;
const NEAREST = 36;

/** The nugget taken apart: laboratory error stays, the rest is core to core and falls with the number of cores. */
export function splitNugget(
  member: Member,
  options: SamplingOptions,
): { labVariance: number; coreVariance: number } {
  const nugget = member.sill * member.nuggetShare;
  const labVariance = Math.min(options.labVariance, nugget);
  return { labVariance, coreVariance: (nugget - labVariance) * options.coresLearnt };
}

/** Composites at grid stops under a member; the same for every grid, so worth making once. */
export function stopSamples(member: Member, options: SamplingOptions): SampleCovariance {
  const support: CompositeSupport = {
    radiusM: options.stopRadiusM,
    cores: options.cores,
    ...splitNugget(member, options),
  };
  const partialSill = member.sill * (1 - member.nuggetShare);
  return compositeSamples(member.kind, member.effectiveRangeM, partialSill, support);
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

/**
 * Error of mapping application blocks from composites pulled at grid stops, by ordinary kriging, under one member.
 * Kriged errors are taken as uncorrelated with the estimates, so the estimates vary as much as the truth less the error.
 * @param stops 2n metres; @param nodes block centres spread over the field
 * @param truthVariance of {@link blockVarianceInField}
 */
export function gridAccuracy(
  member: Member,
  stops: FlatPositions,
  nodes: FlatPositions,
  truthVariance: number,
  options: SamplingOptions,
  samples: SampleCovariance = stopSamples(member, options),
): DesignAccuracy {
  const { variances } = ordinaryKriging(stops, undefined, nodes, samples, {
    blockM: options.blockM,
    neighbours: stops.length / 2 <= WHOLE_UP_TO ? undefined : NEAREST,
  });
  const sorted = variances.slice().sort();
  const meanSquaredError = variances.reduce((s, v) => s + v, 0) / variances.length;
  const estimateVariance = Math.max(0, truthVariance - meanSquaredError);
  return {
    truthVariance,
    estimateVariance,
    // A map worse than the field's mean is taken to carry no signal; a little skill of very coarse grids is lost so.
    covariance: estimateVariance,
    meanSquaredError,
    median: sorted[sorted.length >> 1],
    p90: sorted[Math.floor(0.9 * (sorted.length - 1))],
  };
}

/**
 * Error when each zone takes the value of one composite of cores spread over it:
 * what the blocks still vary within zones, plus the variance of the composite's mean (Cochran 1977, ch. 5).
 * The whole field is one zone.
 * @param labels zone of each field node; @param efficacy within-zone structured variance over what compact
 * pieces of that shape would leave under the variogram alone (1: the zones say nothing more than where a place is)
 */
export function zoneAccuracy(
  member: Member,
  fieldNodes: FlatPositions,
  labels: ArrayLike<number>,
  zones: number,
  efficacy: number,
  truthVariance: number,
  options: SamplingOptions,
): DesignAccuracy {
  const ground = groundOf(member);
  const ownBlock = blockVariance(ground, blockPoints(options.blockM));
  const split = splitNugget(member, options);
  let [mse, between] = [0, 0];
  const perZone: { share: number; error: number }[] = [];
  const n = fieldNodes.length / 2;
  for (let z = 0; z < zones; z++) {
    const own: number[] = [];
    for (let i = 0; i < n; i++) if (labels[i] === z) own.push(fieldNodes[2 * i], fieldNodes[2 * i + 1]);
    if (own.length === 0) continue;
    const share = own.length / 2 / n;
    const meanWithin = own.length > 2 ? meanCovariance(Float64Array.from(own), ground) : ground(0);
    const blocksWithin = Math.min(truthVariance, efficacy * Math.max(0, ownBlock - meanWithin));
    const pointsWithin = Math.max(blocksWithin, efficacy * Math.max(0, ground(0) - meanWithin));
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
