import { meanCovariance } from '../krige/index.ts';
import { soilUnitZones, zonesOfSamples } from '../design/index.ts';
import { shownUnit } from '../read/index.ts';
import { correlationOf, prepareTrendLikelihood } from '../variogram/index.ts';
import { middleOf, planeVariance, spreadOf, type Slope } from '../variogram/planeMean.ts';
import { compareMeans, type MeanComparison, type MeanFit } from '../variogram/trendChoice.ts';
import type { FlatPositions } from '../field/index.ts';
import type { FieldInput } from './fieldInput.ts';
import type { AdviceOptions } from './options.ts';
import { withoutPlane } from './plane.ts';
import type { PreparedSeries } from './series.ts';
import { sayDistance, sayNumber, sayPercent } from './words.ts';

/** A linear trend in the coordinates held against a constant mean, for one property. */
export interface TrendAdvice {
  /** Linear only where AICc says so clearly ({@link CLEAR_DELTA}). */
  readonly preferred: 'constant' | 'linear';
  /** AICc of the constant mean less that of the linear trend, by full likelihood. */
  readonly deltaAicc: number;
  /** The same of a mean for each soil unit, where there are several: a trend is preferred only where it is better than those too. */
  readonly unitsDeltaAicc?: number;
  /** Where the trend rises to. */
  readonly risesToward: {
    /** One of eight winds, such as "north-east". */
    readonly words: string;
    /** Clockwise from north. */
    readonly degrees: number;
  };
  /** In the property's unit, from the lowest place of the field to the highest. */
  readonly changeAcrossField: number;
  /** Of the field's variance on the working scale, the share that the trend explains. */
  readonly shareOfVariance: number;
  /** Effective range of what the trend leaves, and of the values with a constant mean, in the best-fitting models; absent without pattern. */
  readonly rangeWithTrendM?: number;
  readonly rangeM?: number;
  /** What there is to say, or nothing. */
  readonly sentence: string;
  /** Where a clear trend is left out because a constant mean was asked for. */
  readonly warning?: string;
  /** Whether belief, variogram and errors rest on it. */
  readonly used: boolean;
}

/** A property's trend as the rest of the answer works with it. */
export interface TrendStudy {
  readonly advice: TrendAdvice;
  /** Generalised least-squares slope, working scale, and the variance it has over the field. */
  readonly slope: Slope;
  readonly variance: number;
  /**
   * The values with the trend taken out, at its level in the middle of the field, where it is used. Their experimental variogram
   * lies a little low at long lags, since the plane was fitted to them (Cressie 1993, sec. 3.4.3; from memory); the belief
   * and the fits, by restricted likelihood, do not.
   */
  readonly residual?: Float64Array;
}

/** Fewer values tell no trend from chance. Judgement of this project. */
export const LEAST_FOR_TREND = 20;
/**
 * AICc by which a trend must be better to be used of its own accord: models 4 to 7 behind have considerably less support
 * (Burnham & Anderson 2002, sec. 2.6; from memory). That it is 4 that counts is a judgement of this project.
 */
export const CLEAR_DELTA = 4;

/**
 * Compares a constant mean with a linear trend for each property with enough values; those measured at the same places
 * together.
 * @param fieldNodes places that stand for the field
 * @returns undefined for properties with too few values, or places on a line
 */
export function studyTrends(
  series: readonly PreparedSeries[],
  fieldNodes: FlatPositions,
  fieldLengthM: number,
  options: AdviceOptions,
  soilUnits: FieldInput['soilUnits'] = [],
): readonly (TrendStudy | undefined)[] {
  const units = soilUnits.length > 1 ? soilUnitZones(fieldNodes, soilUnits) : undefined;
  const out = new Array<TrendStudy | undefined>(series.length).fill(undefined);
  const groups = new Map<string, number[]>();
  series.forEach((s, i) => {
    if (!s.sample || s.sample.z.length < LEAST_FOR_TREND) return;
    const key = s.kept.join();
    groups.set(key, [...(groups.get(key) ?? []), i]);
  });
  for (const group of groups.values()) {
    const { xy } = series[group[0]].sample!;
    const comparisons = compareMeans(
      xy,
      group.map((i) => series[i].sample!.z),
      units && zonesOfSamples(xy, units),
    );
    comparisons?.forEach((c, k) => {
      const i = group[k];
      out[i] = studyTrend(series[i], c, fieldNodes, fieldLengthM, options);
    });
  }
  return out;
}

/** The properties with the trends used taken out of their values. */
export const withoutTrends = (
  series: readonly PreparedSeries[],
  trends: readonly (TrendStudy | undefined)[],
): readonly PreparedSeries[] =>
  series.map((s, i) => {
    const z = trends[i]?.residual;
    return s.sample && z ? { ...s, sample: { ...s.sample, z } } : s;
  });

function studyTrend(
  series: PreparedSeries,
  comparison: MeanComparison,
  fieldNodes: FlatPositions,
  fieldLengthM: number,
  options: AdviceOptions,
): TrendStudy | undefined {
  const { xy, z } = series.sample!;
  const { constant, linear, classes, deltaAicc } = comparison;
  const parts = prepareTrendLikelihood(
    xy,
    z,
    'linear',
  )({
    kind: linear.kind === 'nugget' ? 'exponential' : linear.kind,
    effectiveRangeM: Math.max(linear.effectiveRangeM, 1),
    nuggetShare: linear.nuggetShare,
  });
  if (!parts || parts.p < 3) return undefined;
  const slope: Slope = { eastPerM: parts.beta[1], northPerM: parts.beta[2] };
  const [mx, my] = middleOf(fieldNodes);
  const level = parts.beta[0] + slope.eastPerM * mx + slope.northPerM * my;
  const variance = planeVariance(spreadOf(fieldNodes), slope);
  const unitsDelta = classes && constant.aicc - classes.aicc;
  // Ground in steps looks like a slope from afar: where soil units tell the level better, they are what there is to see.
  const byUnits = unitsDelta !== undefined && unitsDelta > deltaAicc;
  const preferred = deltaAicc > CLEAR_DELTA && !byUnits ? 'linear' : 'constant';
  const used = options.mean === 'linear' || (options.mean === 'choose' && preferred === 'linear');
  const ends = endsOver(fieldNodes, slope, [mx, my]);
  const { inverse } = series.working;
  const degrees = ((((Math.atan2(slope.eastPerM, slope.northPerM) * 180) / Math.PI) % 360) + 360) % 360;
  const structured = (f: MeanFit) => (f.kind === 'nugget' ? undefined : f.effectiveRangeM);
  const figures = {
    preferred,
    deltaAicc,
    unitsDeltaAicc: unitsDelta,
    risesToward: { words: windOf(degrees), degrees },
    changeAcrossField: inverse(level + ends.high) - inverse(level + ends.low),
    shareOfVariance:
      variance / (variance + withinField(linear, parts.residualSS / (parts.n - parts.p), fieldNodes)),
    rangeWithTrendM: structured(linear),
    rangeM: structured(constant),
    used,
  } as const;
  return {
    advice: { ...figures, ...sayTrend(series, figures, fieldLengthM, options) },
    slope,
    variance,
    ...(used && { residual: withoutPlane(xy, z, slope, [mx, my]) }),
  };
}

/** Variance that single samples have within the field under a fit: its sill less what the field as a whole shares. */
function withinField(fit: MeanFit, sill: number, fieldNodes: FlatPositions): number {
  if (fit.kind === 'nugget') return sill;
  const shared = meanCovariance(
    fieldNodes,
    correlationOf({ kind: fit.kind, effectiveRangeM: fit.effectiveRangeM }),
  );
  return sill * (1 - (1 - fit.nuggetShare) * shared);
}

function endsOver(nodes: FlatPositions, { eastPerM, northPerM }: Slope, [mx, my]: readonly [number, number]) {
  let [low, high] = [Infinity, -Infinity];
  for (let i = 0; i < nodes.length; i += 2) {
    const rise = eastPerM * (nodes[i] - mx) + northPerM * (nodes[i + 1] - my);
    low = Math.min(low, rise);
    high = Math.max(high, rise);
  }
  return { low, high };
}

const WINDS = [
  'north',
  'north-east',
  'east',
  'south-east',
  'south',
  'south-west',
  'west',
  'north-west',
] as const;
const windOf = (degrees: number): string => WINDS[Math.round(degrees / 45) % 8];

function sayTrend(
  series: PreparedSeries,
  t: Omit<TrendAdvice, 'sentence' | 'warning'>,
  fieldLengthM: number,
  o: AdviceOptions,
): Pick<TrendAdvice, 'sentence' | 'warning'> {
  const to = t.risesToward.words;
  const from = windOf(t.risesToward.degrees + 180);
  const unit = shownUnit(series.unit);
  const change = `${sayNumber(t.changeAcrossField)}${unit === '' ? '' : ` ${unit}`}`;
  const rise = `${series.label} rises by about ${change} from the ${from} to the ${to} side`;
  const delta = `AICc ${Math.abs(t.deltaAicc).toFixed(1)} ${t.deltaAicc >= 0 ? 'better' : 'worse'} than with a constant mean`;
  if (t.used)
    return {
      sentence: `${rise}${t.preferred === 'linear' ? '' : `, as you asked to take for granted (${delta})`}; that trend explains ${sayPercent(t.shareOfVariance)} of its variance. ${sayLeft(t, fieldLengthM, o)}`,
    };
  if (t.preferred === 'linear')
    return {
      sentence: `${rise} (${delta}; the trend would explain ${sayPercent(t.shareOfVariance)} of its variance).`,
      warning: `${series.label} has a clear trend, and you asked for a constant mean: the rise counts as variation without direction here, ranges come out long, and composites look better or worse than they are. Set mean to “choose” to take it out.`,
    };
  const units = t.unitsDeltaAicc ?? -Infinity;
  if (t.deltaAicc > CLEAR_DELTA && units > t.deltaAicc)
    return {
      sentence: `${series.label} is higher towards the ${to}, but the soil units tell its level better than a trend does (AICc ${(units - t.deltaAicc).toFixed(1)} better), so none is used.`,
    };
  return {
    sentence:
      t.deltaAicc > 0
        ? `${series.label} may rise towards the ${to}, but a trend is not clearly better than a constant mean (AICc ${t.deltaAicc.toFixed(1)} better; more than ${CLEAR_DELTA} is asked), so none is used.`
        : '',
  };
}

function sayLeft(
  { rangeWithTrendM, rangeM }: Pick<TrendAdvice, 'rangeWithTrendM' | 'rangeM'>,
  fieldLengthM: number,
  o: AdviceOptions,
): string {
  if (rangeWithTrendM === undefined) return 'With it taken out the tests show no clear pattern in the rest.';
  const far = (m: number) => m > fieldLengthM;
  const said = (m: number) => (far(m) ? 'farther than the field is long' : `over about ${sayDistance(m, o)}`);
  const now = `With it taken out the rest is alike ${said(rangeWithTrendM)}`;
  if (rangeM === undefined) return `${now} in the best-fitting model.`;
  if (said(rangeM) === said(rangeWithTrendM)) return `${now} in the best-fitting model, as with it.`;
  return `${now} instead of ${said(rangeM).replace(/^over about /, '')}, in the best-fitting models.`;
}
