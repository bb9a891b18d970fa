import { normalQuantile, seededRandom, weightedQuantile, type Random } from '../describe/index.ts';
import { heldMoments, type HeldMoments } from '../design/efficacy.ts';
import {
  efficacyUnder,
  mapAccuracy,
  noiseRatio,
  zoneAccuracy,
  zonesOfSamples,
  type DesignAccuracy,
  type MapUse,
  type SamplingOptions,
  type ZoneExtent,
} from '../design/index.ts';
import type { FlatPositions } from '../field/index.ts';
import { stretched } from '../variogram/index.ts';
import { thin, type Member } from '../prior/index.ts';
import type { DesignError, Interval } from './advice.ts';
import type { AnalyteStudy } from './analyte.ts';
import { isMap, type Candidate, type MapCandidate, type ZoneCandidate } from './candidates.ts';
import type { FieldErrors } from './fieldErrors.ts';
import type { AdviceOptions } from './options.ts';
import {
  interpolatedWithPlane,
  ownCellWithPlane,
  planeAboutStops,
  planeCost,
  planeInZones,
  zonesWithPlane,
} from './plane.ts';

/** One analyte's errors: a row per design, a value per thinned member. */
export interface Judgement {
  readonly members: readonly Member[];
  /** What each member knows of the field's mean, on the working scale. */
  readonly means: readonly { readonly mean: number; readonly variance: number }[];
  /** Variance of the blocks about the field's mean, per member. */
  readonly truths: readonly number[];
  /** [design][member] */
  readonly accuracies: readonly (readonly DesignAccuracy[])[];
  readonly errors: readonly DesignError[];
  /** The accuracy of one design under the same members changed, one for one. */
  readonly again: (design: number, members: readonly Member[]) => readonly DesignAccuracy[];
}

export function intervalOf(values: ArrayLike<number>, mean = false): Interval {
  const even = new Float64Array(values.length).fill(1);
  const quantile = (share: number) => weightedQuantile(values, even, share);
  let sum = 0;
  if (mean) for (let i = 0; i < values.length; i++) sum += values[i];
  return { low: quantile(0.1), mid: mean ? sum / values.length : quantile(0.5), high: quantile(0.9) };
}

/** Moments of the tests in their zones, shared by the properties of a field. */
const momentsHeld = new WeakMap<FieldErrors, HeldMoments>();

/** Nodes that the cost of learning a plane is averaged over. */
const COST_NODES = 60;

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

/**
 * Reads off the error of every design under each of `count` members.
 * @param fieldNodes places that stand for the field, those that zones label
 */
export function judge(
  study: AnalyteStudy,
  candidates: readonly Candidate[],
  fieldErrors: FieldErrors,
  options: AdviceOptions,
  count: number,
  seed: number,
  fieldNodes: FlatPositions,
): Judgement {
  const random = seededRandom(seed ^ 0x27d4eb2f);
  // Members are held by range; shuffled, those of two analytes meet independently when their losses are added.
  const members = shuffled(thin(study.belief, count), random);
  const efficacyDeviate = members.map(() => normalQuantile(random()));
  const sampling = samplingOf(study.belief.labVariance, options);
  const sloping = members.some((m) => m.plane);
  const middle = sloping ? middleByRange(members) : undefined;
  // The nodes' sequence covers the field with any number of its first.
  const someNodes = fieldNodes.slice(0, 2 * COST_NODES);
  const residualTruth = (m: Member) => m.sill * (1 - m.nuggetShare) * fieldErrors.variances(m).truth;

  const moments = momentsHeld.get(fieldErrors) ?? heldMoments();
  momentsHeld.set(fieldErrors, moments);
  const accuracyBy = candidates.map((c, d): AccuracyBy => {
    const of = fieldErrors.of[d];
    const own = sampling(c.cores);
    if (of.kind === 'map') {
      const { pulled, grid } = c as MapCandidate;
      const [xy, radiusM] =
        pulled.kind === 'stops' ? [pulled.xy, pulled.radiusM] : [grid.xy, grid.spacingM / 2];
      const about = sloping ? planeAboutStops(fieldNodes, xy) : undefined;
      const cost =
        middle && planeCost(middle, xy, someNodes, { radiusM, cores: c.cores }, own, study.anisotropy);
      return (m, _, use = 'interpolated') => {
        const residual = mapAccuracy(
          m,
          of.surfaces[use](m.kind, Math.log(m.effectiveRangeM), Math.log(noiseRatio(m, own))),
          residualTruth(m),
        );
        if (!m.plane || !about) return residual;
        return use === 'interpolated' && cost
          ? interpolatedWithPlane(residual, m.plane, cost)
          : ownCellWithPlane(residual, about, m.plane);
      };
    }
    const { map } = c as ZoneCandidate;
    const efficacyOf = efficacyBy(c as ZoneCandidate, study, moments);
    const geometry = sloping ? planeInZones(fieldNodes, map.labels, map.zones) : undefined;
    return (m, i) => {
      const extents = of.extents(m);
      const { block } = fieldErrors.variances(m);
      const efficacy = efficacyOf(m, efficacyDeviate[i]);
      const accuracy = (of: readonly ZoneExtent[]) =>
        zoneAccuracy(m, of, block, efficacy, residualTruth(m), own);
      if (!m.plane || !geometry) return accuracy(extents);
      const ofZones = extents.map((e) => accuracy([{ ...e, share: 1 }]).meanSquaredError);
      return zonesWithPlane(accuracy(extents), ofZones, geometry, m.plane, c.cores);
    };
  });

  const onScreen = errorOnScreen(study);
  const accuracies = accuracyBy.map((by) => members.map((m, i) => by(m, i)));
  const errors = candidates.map((c, d): DesignError => ({
    typical: intervalOf(accuracies[d].map((a) => onScreen(a.median))),
    badSpot: intervalOf(accuracies[d].map((a) => onScreen(a.p90))).mid,
    ...(isMap(c) && {
      ownCell: intervalOf(members.map((m, i) => onScreen(accuracyBy[d](m, i, 'own cell').median))),
    }),
  }));
  return {
    members,
    means: members.map((m) => m.target ?? { mean: m.mean, variance: m.meanSd ** 2 }),
    truths: members.map((m) => residualTruth(m) + (m.plane?.variance ?? 0)),
    accuracies,
    errors,
    again: (design, changed) => changed.map((m, i) => accuracyBy[design](m, i)),
  };
}

/** A design's accuracy under a member, given with its index. */
type AccuracyBy = (member: Member, index: number, use?: MapUse) => DesignAccuracy;

const middleByRange = (members: readonly Member[]): Member =>
  [...members].sort((p, q) => p.effectiveRangeM - q.effectiveRangeM)[members.length >> 1];

/** A squared error as shown: per cent on the log scale, in the unit otherwise (on normal scores about the median). */
export function errorOnScreen(study: Pick<AnalyteStudy, 'scale' | 'working'>): (variance: number) => number {
  if (study.scale === 'log') return (v) => 100 * Math.sqrt(Math.expm1(v));
  if (study.scale === 'raw') return Math.sqrt;
  const { inverse } = study.working;
  return (v) => (inverse(Math.sqrt(v)) - inverse(-Math.sqrt(v))) / 2;
}

/** How well a candidate's zones part the ground under a member, given a normal deviate of what is not known of it. */
function efficacyBy(
  { map }: ZoneCandidate,
  { residual, anisotropy }: AnalyteStudy,
  moments: HeldMoments,
): (member: Member, deviate: number) => number {
  if (map.zones === 1) return () => 1;
  const sampleZones = residual && zonesOfSamples(residual.xy, map);
  const onPlane = residual && { ...residual, xy: stretched(residual.xy, anisotropy) };
  const efficacy = efficacyUnder(map, onPlane, sampleZones, moments);
  return (m, deviate) => {
    const { logMean, logSd } = efficacy(m);
    return Math.exp(logMean + logSd * deviate);
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
