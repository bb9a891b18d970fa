import { normalQuantile, seededRandom, weightedQuantile, type Random } from '../describe/index.ts';
import {
  efficacyUnder,
  mapAccuracy,
  noiseRatio,
  zoneAccuracy,
  zonesOfSamples,
  type DesignAccuracy,
  type SamplingOptions,
} from '../design/index.ts';
import { stretched } from '../variogram/index.ts';
import { thin, type Member } from '../prior/index.ts';
import { expectedLossBy, tableLeastLoss, type LeastLoss, type RateEquation } from '../value/index.ts';
import type { DesignError, Interval } from './advice.ts';
import type { AnalyteStudy } from './analyte.ts';
import type { Candidate, ZoneCandidate } from './candidates.ts';
import type { FieldErrors } from './fieldErrors.ts';
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

/** How samples are pulled and read for one property. */
export const samplingOf =
  (labVariance: number, options: AdviceOptions) =>
  (cores: number): SamplingOptions => ({
    blockM: options.blockM,
    stopRadiusM: options.stopRadiusM,
    cores,
    coresLearnt: options.coresPerStop,
    labVariance,
  });

/** Reads off the error of every design, and works out what it costs in wrong rates, under each of `count` members. */
export function judge(
  study: AnalyteStudy,
  candidates: readonly Candidate[],
  fieldErrors: FieldErrors,
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
  const sampling = samplingOf(study.belief.labVariance, options);
  const toUser = study.working.inverse;
  const means = members.map((m) => m.target ?? { mean: m.mean, variance: m.meanSd ** 2 });
  const units = members.map(fieldErrors.variances);
  const truths = members.map((m, i) => m.sill * (1 - m.nuggetShare) * units[i].truth);

  const least = equation && leastLossOf(equation, toUser, means, truths, options.yearsBetween);
  const errors: DesignError[] = [];
  const losses: Float64Array[] = [];
  candidates.forEach((c, d) => {
    const of = fieldErrors.of[d];
    const own = sampling(c.cores);
    const onScreen = errorOnScreen(study);
    let ownCell: Interval | undefined;
    let accuracies: readonly DesignAccuracy[];
    if (of.kind === 'map') {
      const at = (m: Member, i: number, use: 'interpolated' | 'own cell') =>
        mapAccuracy(
          m,
          of.surfaces[use](m.kind, Math.log(m.effectiveRangeM), Math.log(noiseRatio(m, own))),
          truths[i],
        );
      accuracies = members.map((m, i) => at(m, i, 'interpolated'));
      ownCell = intervalOf(members.map((m, i) => onScreen(at(m, i, 'own cell').median)));
    } else {
      const efficacies = efficaciesOf(c as ZoneCandidate, study, members, efficacyDeviate);
      accuracies = members.map((m, i) =>
        zoneAccuracy(m, of.extents(m), units[i].block, efficacies[i], truths[i], own),
      );
    }
    errors.push({
      typical: intervalOf(accuracies.map((a) => onScreen(a.median))),
      badSpot: intervalOf(accuracies.map((a) => onScreen(a.p90))).mid,
      ownCell,
    });
    if (least)
      losses.push(
        Float64Array.from(accuracies, (a, i) =>
          expectedLossBy(least, means[i].mean, withMean(a, means[i].variance)),
        ),
      );
  });
  const singleRate = Float64Array.from(least ? members : [], (_, i) =>
    least!(means[i].mean + Math.sqrt(means[i].variance) * meanDeviate[i], Math.sqrt(truths[i])),
  );
  return { members, errors, losses, singleRate };
}

/** The table of least losses over all that members may ask of it. */
function leastLossOf(
  equation: RateEquation,
  toUser: (y: number) => number,
  means: readonly { readonly mean: number; readonly variance: number }[],
  truths: readonly number[],
  years: number,
): LeastLoss {
  // The outermost of the 32 estimates lies 2.2 standard deviations out.
  const sds = means.map((m, i) => Math.sqrt(truths[i] + m.variance));
  const low = Math.min(...means.map((m, i) => m.mean - 2.4 * sds[i]));
  const high = Math.max(...means.map((m, i) => m.mean + 2.4 * sds[i]));
  return tableLeastLoss(equation, toUser, years, [low, high], Math.max(...sds));
}

/** A squared error as shown: per cent on the log scale, in the unit otherwise (on normal scores about the median). */
function errorOnScreen(study: AnalyteStudy): (variance: number) => number {
  if (study.scale === 'log') return (v) => 100 * Math.sqrt(Math.expm1(v));
  if (study.scale === 'raw') return Math.sqrt;
  const { inverse } = study.working;
  return (v) => (inverse(Math.sqrt(v)) - inverse(-Math.sqrt(v))) / 2;
}

function efficaciesOf(
  { map }: ZoneCandidate,
  study: AnalyteStudy,
  members: readonly Member[],
  deviates: readonly number[],
): readonly number[] {
  if (map.zones === 1) return members.map(() => 1);
  const sampleZones = study.sample && zonesOfSamples(study.sample.xy, map);
  const onPlane = study.sample && { ...study.sample, xy: stretched(study.sample.xy, study.anisotropy) };
  const efficacy = efficacyUnder(map, onPlane, sampleZones);
  return members.map((m, i) => {
    const { logMean, logSd } = efficacy(m);
    return Math.exp(logMean + logSd * deviates[i]);
  });
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
