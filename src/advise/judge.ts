import { normalQuantile, seededRandom, weightedQuantile, type Random } from '../describe/index.ts';
import {
  blockVarianceInField,
  gridAccuracy,
  stopSamples,
  zoneAccuracy,
  zoneEfficacy,
  zonesOfSamples,
  type DesignAccuracy,
  type SamplingOptions,
} from '../design/index.ts';
import type { FlatPositions } from '../field/index.ts';
import { krigedFieldMean, pointSamples } from '../krige/index.ts';
import { thin, type Member } from '../prior/index.ts';
import { bestSingleRateLoss, expectedLoss, type RateEquation } from '../value/index.ts';
import type { DesignError, Interval } from './advice.ts';
import type { AnalyteStudy } from './analyte.ts';
import type { Candidate } from './candidates.ts';
import type { AdviceOptions } from './options.ts';

/** One analyte's errors and losses: a row per design, a value per thinned member. */
export interface Judgement {
  readonly members: readonly Member[];
  readonly errors: readonly DesignError[];
  /** Expected loss per ha and year, [design][member]; empty without a rate equation. */
  readonly losses: readonly Float64Array[];
  /** Of the best single rate, per member. */
  readonly singleRate: Float64Array;
}

export function intervalOf(values: ArrayLike<number>, mean = false): Interval {
  const even = new Float64Array(values.length).fill(1);
  const mid = mean
    ? Array.from(values).reduce((s, v) => s + v, 0) / values.length
    : weightedQuantile(values, even, 0.5);
  return { low: weightedQuantile(values, even, 0.1), mid, high: weightedQuantile(values, even, 0.9) };
}

/** Computes the error of every design, and what it costs in wrong rates, under each of `count` members. */
export function judge(
  study: AnalyteStudy,
  candidates: readonly Candidate[],
  errorNodes: FlatPositions,
  fieldNodes: FlatPositions,
  equation: RateEquation | undefined,
  options: AdviceOptions,
  count: number,
  seed: number,
): Judgement {
  const random = seededRandom(seed ^ 0x27d4eb2f);
  // Members are held by range; shuffled, those of two analytes meet independently when their losses are added.
  const members = shuffled(thin(study.belief, count), random);
  const efficacyDeviate = members.map(() => normalQuantile(random()));
  const meanDeviate = members.map((_, i) =>
    normalQuantile((((i + 1) * 0.6180339887498949) % 1) * 0.998 + 0.001),
  );
  const sampling = (cores: number): SamplingOptions => ({
    blockM: options.blockM,
    stopRadiusM: options.stopRadiusM,
    cores,
    coresLearnt: options.coresPerStop,
    labVariance: study.belief.labVariance,
  });
  const onScreen = study.scale === 'log' ? (v: number) => 100 * Math.sqrt(Math.expm1(v)) : Math.sqrt;
  const means = members.map((m) => fieldMeanOf(m, study, fieldNodes));

  const truths = members.map((m) => blockVarianceInField(m, fieldNodes, options.blockM));
  const composites = members.map((m) => stopSamples(m, sampling(options.coresPerStop)));
  const errors: DesignError[] = [];
  const losses: Float64Array[] = [];
  for (const c of candidates) {
    const sampleZones =
      c.kind !== 'grid' && c.map.zones > 1 && study.sample
        ? zonesOfSamples(study.sample.xy, c.map)
        : undefined;
    const accuracies = members.map((m, i): DesignAccuracy => {
      if (c.kind === 'grid')
        return gridAccuracy(m, c.grid.xy, errorNodes, truths[i], sampling(c.cores), composites[i]);
      const efficacy =
        c.map.zones === 1 ? { logMean: 0, logSd: 0 } : zoneEfficacy(m, c.map, study.sample, sampleZones);
      const factor = Math.exp(efficacy.logMean + efficacy.logSd * efficacyDeviate[i]);
      return zoneAccuracy(m, fieldNodes, c.map.labels, c.map.zones, factor, truths[i], sampling(c.cores));
    });
    errors.push({
      typical: intervalOf(accuracies.map((a) => onScreen(a.median))),
      badSpot: intervalOf(accuracies.map((a) => onScreen(a.p90))).mid,
    });
    if (equation)
      losses.push(
        Float64Array.from(accuracies, (a, i) =>
          expectedLoss(
            equation,
            study.scale,
            means[i].mean,
            withMean(a, means[i].variance),
            options.yearsBetween,
          ),
        ),
      );
  }
  const singleRate = Float64Array.from(equation ? members : [], (_, i) =>
    bestSingleRateLoss(
      equation!,
      study.scale,
      means[i].mean + Math.sqrt(means[i].variance) * meanDeviate[i],
      truths[i],
      options.yearsBetween,
    ),
  );
  return { members, errors, losses, singleRate };
}

/** The field's mean under a member: kriged from the samples, or as the prior has it. */
function fieldMeanOf(member: Member, study: AnalyteStudy, fieldNodes: FlatPositions) {
  if (!study.sample) return { mean: member.mean, variance: member.meanSd ** 2 };
  const nugget = member.sill * member.nuggetShare;
  const { kind, effectiveRangeM, sill } = member;
  const cov = pointSamples({ kind, effectiveRangeM, nugget, partialSill: sill - nugget });
  return krigedFieldMean(study.sample.xy, study.sample.z, fieldNodes, cov);
}

/** What is not known of the field's mean is shared by truth and estimate before the samples are pulled. */
function withMean(a: DesignAccuracy, meanVariance: number) {
  return {
    truthVariance: a.truthVariance + meanVariance,
    estimateVariance: a.estimateVariance + meanVariance,
    covariance: a.covariance + meanVariance,
  };
}

function shuffled<T>(values: readonly T[], random: Random): readonly T[] {
  const out = [...values];
  for (let i = out.length - 1; i > 0; i--) {
    const j = Math.floor(random() * (i + 1));
    [out[i], out[j]] = [out[j], out[i]];
  }
  return out;
}
