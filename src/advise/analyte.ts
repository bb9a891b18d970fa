import { findOutliers } from '../clean/index.ts';
import {
  cvInterval,
  cvIntervalLog,
  moments,
  moranTest,
  neighbourSpacingM,
  normalQuantile,
  seededRandom,
  structureTest,
  weightedQuantile,
  type CvInterval,
  type WorkingScale,
  type WorkingTransform,
} from '../describe/index.ts';
import { shownUnit } from '../read/index.ts';
import { overMembers, type Belief, type Sample } from '../prior/index.ts';
import {
  defaultCutoffM,
  experimentalVariogram,
  fitLeastSquares,
  restrictedLogLikelihood,
  semivariance,
  type Anisotropy,
  type LikelihoodFit,
  type ModelKind,
} from '../variogram/index.ts';
import { planeBasis } from '../variogram/planeMean.ts';
import type { AnalyteAdvice, VariogramChart } from './advice.ts';
import { FIT_FROM, type Formed } from './beliefs.ts';
import { LEAST_VALUES, type PreparedSeries } from './series.ts';
import type { TrendStudy } from './trend.ts';
import { inSentence } from './words.ts';

/** One property studied: what its chart shows and the belief that the designs are judged by. */
export interface AnalyteStudy {
  readonly id: string;
  readonly scale: WorkingScale;
  readonly working: WorkingTransform;
  readonly belief: Belief;
  /** Of the ground, when directions differ: the belief's ranges are those of its direction. */
  readonly anisotropy?: Anisotropy;
  /** Measured values on the working scale, when they could update the belief. */
  readonly sample?: Sample;
  /** What the belief's variogram is of: the sample, or what a trend leaves of it. */
  readonly residual?: Sample;
  /** The advice on this analyte but for what needs the designs. */
  readonly advice: Omit<AnalyteAdvice, 'lossPerHaYear' | 'rateSource'>;
}

/** Three or four values can leave the CV open above; nothing in a field varies ten times its mean. */
const MOST_CV = 10;
const capped = (i: CvInterval): CvInterval => ({ ...i, high: Math.min(i.high, MOST_CV) });

const kinds: readonly ModelKind[] = ['spherical', 'exponential'];

/**
 * Describes one property: its values, variogram, belief, structure, and the points that stand out.
 * @param rows row in the file of each test place
 */
export function studyAnalyte(
  series: PreparedSeries,
  { belief, fits }: Formed,
  rows: ArrayLike<number>,
  fieldLengthM: number,
  seed: number,
  anisotropy?: Anisotropy,
  trend?: TrendStudy,
): AnalyteStudy {
  const { scale, working, sample, values, summary } = series;
  const residual = sample && trend?.residual ? { xy: sample.xy, z: trend.residual } : sample;
  const restsOn = [
    ...(sample
      ? [
          `${sample.z.length} test points, by exact restricted likelihood${trend?.advice.used ? ' of what a linear trend leaves' : ''}, each sample taken as a composite (${Math.round(belief.effectiveSampleSize)} of ${belief.draws.toLocaleString('en')} draws carry the weight, after ${belief.rounds} round${belief.rounds > 1 ? 's' : ''}).`,
        ]
      : values.length > 0
        ? [
            values.length < LEAST_VALUES
              ? `${values.length} test point${values.length > 1 ? 's are' : ' is'} too few to move the belief.`
              : `All ${values.length} values are alike, which says nothing of how the field varies; check whether they are a default or a detection limit.`,
          ]
        : ['No test points for this property.']),
    ...series.prior.restsOn,
  ];
  // One deviate a member spreads what is not known of the mean over the ensemble.
  const deviate = (i: number) => normalQuantile(((i + 0.5) * 0.6180339887498949) % 1);
  const spread = new Map(belief.members.map((m, i) => [m, m.mean + m.meanSd * deviate(i)]));
  const meanOf = (m: Belief['members'][number]) =>
    working.meanOf(spread.get(m)!, m.sill + (m.plane?.variance ?? 0));
  const cv = () =>
    scale === 'log'
      ? cvIntervalLog(values.length, moments(values.map(Math.log)).sd)
      : cvInterval(values.length, summary!.mean, summary!.sd);
  return {
    id: series.id,
    scale,
    working,
    belief,
    anisotropy,
    sample,
    residual,
    advice: {
      id: series.id,
      label: series.label,
      unit: series.unit,
      scale,
      scaleWhy: series.scaleWhy,
      errorUnit: scale === 'log' ? '%' : series.unit,
      summary:
        summary && values.length > 1 && summary.mean > 0
          ? { ...summary, belowDetection: series.belowDetection, cv: capped(cv()) }
          : undefined,
      belief: {
        cv: overMembers(belief, (m) => m.cv),
        rangeM: overMembers(belief, (m) => m.effectiveRangeM),
        nuggetShare: overMembers(belief, (m) => m.nuggetShare),
        mean: overMembers(belief, meanOf),
        members: belief.members.length,
        effectiveSampleSize: belief.effectiveSampleSize,
        restsOn,
      },
      trend: trend?.advice,
      variogram: {
        ...variogramChart(belief, residual, fits, fieldLengthM),
        ...(trend?.advice.used && { withoutTrend: true }),
      },
      structure: structureOf(series.label, residual, belief, fits, seed, trend?.advice.used),
      standOut: standOut(series, rows, seed),
    },
  };
}

/** Of many flags the oddest are shown: at most one point in twenty, or three. Judgement of this project. */
const mostFlags = (n: number) => Math.max(3, Math.ceil(n / 20));

/** Points that ask for a second look; none is set aside here. */
function standOut(series: PreparedSeries, rows: ArrayLike<number>, seed: number): AnalyteAdvice['standOut'] {
  if (!series.sample) return [];
  const { xy, z } = series.sample;
  return findOutliers(xy, z, seededRandom(seed), { values: series.values, unit: shownUnit(series.unit) })
    .sort((a, b) => Math.abs(b.score) - Math.abs(a.score))
    .slice(0, mostFlags(z.length))
    .sort((a, b) => a.index - b.index)
    .map(({ index, kind, value, sentence }) => ({
      key: `${series.id}:${rows[series.kept[index]]}`,
      row: rows[series.kept[index]],
      kind,
      value,
      xM: xy[2 * index],
      yM: xy[2 * index + 1],
      sentence,
    }));
}

function variogramChart(
  belief: Belief,
  sample: Sample | undefined,
  fits: readonly LikelihoodFit[],
  fieldLengthM: number,
): VariogramChart {
  const enough = sample !== undefined && sample.z.length >= FIT_FROM;
  const cutoffM = enough ? defaultCutoffM(sample.xy) * 1.5 : fieldLengthM / 2;
  const bins = enough ? experimentalVariogram(sample.xy, sample.z, { cutoffM, widthM: cutoffM / 12 }) : [];
  const even = belief.members.map(() => 1);
  const band = Array.from({ length: 41 }, (_, i) => {
    const distanceM = (cutoffM * Math.max(i, 0.02)) / 40;
    const at = belief.members.map((m) =>
      semivariance(
        {
          kind: m.kind,
          nugget: m.sill * m.nuggetShare,
          partialSill: m.sill * (1 - m.nuggetShare),
          effectiveRangeM: m.effectiveRangeM,
        },
        distanceM,
      ),
    );
    return {
      distanceM,
      low: weightedQuantile(at, even, 0.1),
      mid: weightedQuantile(at, even, 0.5),
      high: weightedQuantile(at, even, 0.9),
    };
  });
  if (!enough) return { bins, band };
  const squares = kinds.map((k) => fitLeastSquares(bins, k)).filter((f) => f !== undefined);
  const best = fits.at(0);
  return {
    bins: bins.map(({ distanceM, gamma, pairs }) => ({ distanceM, gamma, pairs })),
    band,
    weightedLeastSquares:
      squares.length > 0 ? squares.reduce((a, b) => (b.weightedSse < a.weightedSse ? b : a)) : undefined,
    reml: best && {
      kind: best.kind,
      nugget: best.sill * best.nuggetShare,
      partialSill: best.sill * (1 - best.nuggetShare),
      effectiveRangeM: best.effectiveRangeM,
      logLikelihood: best.logLikelihood,
    },
  };
}

function structureOf(
  label: string,
  sample: Sample | undefined,
  belief: Belief,
  fits: readonly LikelihoodFit[],
  seed: number,
  withoutTrend = false,
): AnalyteAdvice['structure'] {
  if (!sample)
    return {
      kind: 'no points',
      sentence: `No test points tell how ${inSentence(label)} is laid out in this field.`,
      next: 'Sample it once and give the results here: they say whether a grid can map it.',
    };
  const moran = moranTest(sample.xy, sample.z, seededRandom(seed));
  const pure = fits.length > 0 ? pureNuggetLogLikelihood(sample, withoutTrend) : undefined;
  const verdict = structureTest({
    n: sample.z.length,
    moran,
    nuggetShare: overMembers(belief, (m) => m.nuggetShare),
    rangeM: overMembers(belief, (m) => m.effectiveRangeM),
    neighbourSpacingM: neighbourSpacingM(sample.xy) ?? 1,
    logLikelihoodGain: pure === undefined ? undefined : Math.max(0, fits[0].logLikelihood - pure),
  });
  return {
    kind: verdict.kind,
    sentence: withoutTrend
      ? `Of what the trend leaves: ${verdict.sentence.replace(/^(Near|Neighbours)/, (w) => w.toLowerCase())}`
      : verdict.sentence,
    next:
      withoutTrend && verdict.kind === 'none at this spacing'
        ? ['A grid maps the trend, and at this spacing nothing finer.', verdict.nestedSample?.sentence ?? '']
            .join(' ')
            .trim()
        : verdict.next,
    nestedSample: verdict.nestedSample,
    moranI: moran?.i,
    moranP: moran?.p,
  };
}

/**
 * Restricted log-likelihood of values that are independent: the model without structure.
 * With the slopes of a plane unknown it is that of the n − 2 contrasts free of them (see `planeParts`).
 */
function pureNuggetLogLikelihood({ xy, z }: Sample, withPlane: boolean): number {
  const n = z.length;
  const mean = z.reduce((s, v) => s + v, 0) / n;
  const columns = (withPlane ? planeBasis(xy)?.columns : undefined) ?? [];
  const explained = columns.reduce((s, q) => s + q.reduce((d, v, i) => d + v * (z[i] - mean), 0) ** 2, 0);
  const residualSS = z.reduce((s, v) => s + (v - mean) ** 2, 0) - explained;
  const contrasts = n - columns.length;
  return restrictedLogLikelihood(
    { n: contrasts, logDet: 0, oneRone: n, mean, residualSS },
    residualSS / (contrasts - 1),
  );
}
