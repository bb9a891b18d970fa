import {
  chooseScale,
  cvInterval,
  cvIntervalLog,
  moments,
  moranTest,
  normalQuantile,
  seededRandom,
  weightedQuantile,
  type CvInterval,
  type Scale,
} from '../describe/index.ts';
import {
  makePrior,
  overMembers,
  priorBelief,
  priorOf,
  updateBelief,
  type Answers,
  type Belief,
  type RangeHint,
  type Sample,
} from '../prior/index.ts';
import {
  EXACT_POINTS,
  defaultCutoffM,
  experimentalVariogram,
  fitLeastSquares,
  fitLikelihood,
  prepareLikelihood,
  semivariance,
  type ModelKind,
} from '../variogram/index.ts';
import type { AnalyteAdvice, VariogramChart } from './advice.ts';
import type { TestSeries } from './fieldInput.ts';
import { inSentence } from './words.ts';

/** Fewest values an update of the belief is tried with. */
const LEAST_VALUES = 3;

/** One property studied: what its chart shows and the belief that the designs are judged by. */
export interface AnalyteStudy {
  readonly id: string;
  readonly scale: Scale;
  readonly belief: Belief;
  /** Measured values on the working scale, when they could update the belief. */
  readonly sample?: Sample;
  /** The advice on this analyte but for what needs the designs. */
  readonly advice: Omit<AnalyteAdvice, 'lossPerHaYear' | 'rateSource'>;
}

/** Three or four values can leave the CV open above; nothing in a field varies ten times its mean. */
const MOST_CV = 10;
const capped = (i: CvInterval): CvInterval => ({ ...i, high: Math.min(i.high, MOST_CV) });

const kinds: readonly ModelKind[] = ['spherical', 'exponential'];

/** Describes one property, fits its variogram and forms the belief about it. */
export function studyAnalyte(
  series: Pick<TestSeries, 'id' | 'label' | 'unit'> & Partial<TestSeries>,
  xy: Float64Array | undefined,
  answers: Answers,
  hints: readonly RangeHint[],
  fieldLengthM: number,
  seed: number,
): AnalyteStudy {
  const kept: number[] = [];
  if (series.values && xy) series.values.forEach((v, i) => Number.isFinite(v) && kept.push(i));
  const values = kept.map((i) => series.values![i]);
  const summary = values.length > 0 ? moments(values) : undefined;
  const varies =
    summary !== undefined && summary.max - summary.min > 1e-9 * Math.max(1, Math.abs(summary.mean));
  const usable = varies && values.length >= LEAST_VALUES;
  // Values that cannot update the belief have no say in its scale either.
  const { scale, why } = chooseScale(usable ? values : [], priorOf(series.id).usualScale);
  const sample: Sample | undefined = usable
    ? {
        xy: Float64Array.from(kept.flatMap((i) => [xy![2 * i], xy![2 * i + 1]])),
        z: Float64Array.from(values, scale === 'log' ? Math.log : (v) => v),
      }
    : undefined;

  const prior = makePrior(
    series.id,
    scale,
    answers,
    hints,
    usable && summary!.mean > 0 ? summary!.mean : undefined,
  );
  const belief = sample ? updateBelief(prior, scale, sample, { seed }) : priorBelief(prior, scale, { seed });
  const restsOn = [
    ...(sample
      ? [
          `${sample.z.length} test points, by restricted likelihood (${sample.z.length > EXACT_POINTS ? 'Vecchia’s approximation' : 'exact'}), each sample taken as a composite.`,
        ]
      : values.length > 0
        ? [
            values.length < LEAST_VALUES
              ? `${values.length} test point${values.length > 1 ? 's are' : ' is'} too few to move the belief.`
              : `All ${values.length} values are alike, which says nothing of how the field varies; check whether they are a default or a detection limit.`,
          ]
        : ['No test points for this property.']),
    ...prior.restsOn,
  ];
  // One deviate a member spreads what is not known of the mean over the ensemble.
  const deviate = (i: number) => normalQuantile(((i + 0.5) * 0.6180339887498949) % 1);
  const spread = new Map(belief.members.map((m, i) => [m, m.mean + m.meanSd * deviate(i)]));
  const meanOf = (m: Belief['members'][number]) =>
    scale === 'log' ? Math.exp(spread.get(m)! + m.sill / 2) : spread.get(m)!;
  const cv = () =>
    scale === 'log'
      ? cvIntervalLog(values.length, moments(values.map(Math.log)).sd)
      : cvInterval(values.length, summary!.mean, summary!.sd);
  return {
    id: series.id,
    scale,
    belief,
    sample,
    advice: {
      id: series.id,
      label: series.label,
      unit: series.unit,
      scale,
      scaleWhy: why,
      errorUnit: scale === 'log' ? '%' : series.unit,
      summary:
        summary && values.length > 1 && summary.mean > 0
          ? { ...summary, belowDetection: series.belowDetection ?? 0, cv: capped(cv()) }
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
      variogram: variogramChart(belief, sample, fieldLengthM),
      structure: structureOf(series.label, sample, seed),
    },
  };
}

function variogramChart(belief: Belief, sample: Sample | undefined, fieldLengthM: number): VariogramChart {
  const enough = sample !== undefined && sample.z.length >= 10;
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
  const likelihood = prepareLikelihood(sample.xy, sample.z);
  const scout =
    sample.z.length > 150
      ? prepareLikelihood(sample.xy, sample.z, { exactPoints: 0, neighbours: 15 })
      : likelihood;
  const likely = kinds
    .map((k) => fitLikelihood(likelihood, k, [cutoffM / 40, cutoffM * 6], { scout }))
    .filter((f) => f !== undefined);
  const best =
    likely.length > 0 ? likely.reduce((a, b) => (b.logLikelihood > a.logLikelihood ? b : a)) : undefined;
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

function structureOf(label: string, sample: Sample | undefined, seed: number): AnalyteAdvice['structure'] {
  if (!sample)
    return {
      kind: 'no points',
      sentence: `No test points tell how ${inSentence(label)} is laid out in this field.`,
    };
  const test = moranTest(sample.xy, sample.z, seededRandom(seed), {
    permutations: sample.z.length > 600 ? 99 : 499,
  });
  const n = sample.z.length;
  const figures = test ? { moranI: test.i, moranP: test.p } : {};
  if (!test || (n < 50 && test.p > 0.05))
    return {
      kind: 'too few to tell',
      sentence: `${n} points are too few to tell a pattern from chance${test ? ` (Moran’s I ${test.i.toFixed(2)}, p ${test.p.toFixed(2)})` : ''}; a dozen pairs of stops 20 to 40 m (65 to 130 ft) apart beside the next grid’s stops would show it.`,
      ...figures,
    };
  if (test.p <= 0.05)
    return {
      kind: 'structured',
      sentence: `Near points are alike (Moran’s I ${test.i.toFixed(2)}, p ${test.p.toFixed(3)} by permutation), so a grid can map it.`,
      ...figures,
    };
  return {
    kind: 'none at this spacing',
    sentence: `Neighbours at this spacing are no more alike than any two points (Moran’s I ${test.i.toFixed(2)}, p ${test.p.toFixed(2)}): this grid cannot map it; zones, or a few pairs of stops 20 to 40 m (65 to 130 ft) apart, can show more.`,
    ...figures,
  };
}
