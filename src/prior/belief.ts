import { normalQuantile, weightedQuantile, type WorkingScale } from '../describe/index.ts';
import { logistic, type ModelKind } from '../variogram/index.ts';
import type { Slope } from '../variogram/planeMean.ts';
import { sillOfCv, type Prior } from './prior.ts';
import { quasiRandom4 } from './quasiRandom.ts';

/** A mean that is a plane, with the variance it has over the field; working scale. */
export interface PlaneOfMean extends Slope {
  readonly variance: number;
}

/** One way the property may vary: a variogram with its mean, on the working scale. */
export interface Member {
  readonly kind: ModelKind;
  readonly effectiveRangeM: number;
  readonly nuggetShare: number;
  /** Total variance of a sample, nugget included; about the plane where there is one. */
  readonly sill: number;
  /** Mean of the process, in the middle of the field where it is a plane, and the standard deviation of what is not known of it. */
  readonly mean: number;
  readonly meanSd: number;
  /** Coefficient of variation of the whole field, its plane included, on the user's scale; a fraction. */
  readonly cv: number;
  /** Where the mean is a plane: kind, range, nugget share and sill are then those of what it leaves. */
  readonly plane?: PlaneOfMean;
  /** Prediction of the target the samples were asked for (the field's mean) on the working scale, and its variance. */
  readonly target?: { readonly mean: number; readonly variance: number };
}

/** A weighted ensemble made even: every member weighs the same. */
export interface Belief {
  readonly scale: WorkingScale;
  readonly members: readonly Member[];
  /** Kish's effective number of the weighted draws behind the members. */
  readonly effectiveSampleSize: number;
  readonly draws: number;
  readonly rounds: number;
  readonly labVariance: number;
}

export interface Sample {
  /** 2n metres. */
  readonly xy: Float64Array;
  /** n values on the working scale. */
  readonly z: Float64Array;
}

export interface BeliefOptions {
  readonly seed?: number;
  /** Members of the resulting ensemble. */
  readonly members?: number;
}

/**
 * The belief before data: quasi-random draws of the prior.
 */
export function priorBelief(prior: Prior, scale: WorkingScale, options: BeliefOptions = {}): Belief {
  const { members: count = 256, seed = 1 } = options;
  const members: Member[] = [];
  for (let i = 0; i < count; i++) {
    const u = quasiRandom4(i, seed);
    const cv = Math.exp(prior.logCv.mean + prior.logCv.sd * normalQuantile(u[2]));
    // The level is the field's mean; on the log scale its middle lies half the sill below (lognormal).
    const sill = sillOfCv(cv, scale, prior.mean.mean);
    members.push({
      kind: i % 2 ? 'exponential' : 'spherical',
      effectiveRangeM: Math.exp(prior.logRangeM.mean + prior.logRangeM.sd * normalQuantile(u[0])),
      nuggetShare: logistic(prior.logitNugget.mean + prior.logitNugget.sd * normalQuantile(u[1])),
      sill,
      mean: scale === 'log' ? prior.mean.mean - sill / 2 : prior.mean.mean,
      meanSd: prior.mean.sd,
      cv,
    });
  }
  // By range, so that an even subset is even over what matters most.
  members.sort((p, q) => p.effectiveRangeM - q.effectiveRangeM);
  return {
    scale,
    members,
    effectiveSampleSize: count,
    draws: count,
    rounds: 0,
    labVariance: prior.labVariance,
  };
}

/** 10th, 50th and 90th percentiles over the members of whatever is computed from one. */
export function overMembers(
  belief: Belief,
  value: (m: Member) => number,
): { readonly low: number; readonly mid: number; readonly high: number } {
  const values = belief.members.map(value);
  const even = values.map(() => 1);
  return {
    low: weightedQuantile(values, even, 0.1),
    mid: weightedQuantile(values, even, 0.5),
    high: weightedQuantile(values, even, 0.9),
  };
}

/** An even subset of the members, for what is costly to compute for each. */
export function thin(belief: Belief, count: number): readonly Member[] {
  const n = belief.members.length;
  if (n <= count) return belief.members;
  return Array.from({ length: count }, (_, i) => belief.members[Math.floor(((i + 0.5) * n) / count)]);
}
