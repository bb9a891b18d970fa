import type { Advice, AnalyteAdvice, Interval, VariogramModelSummary } from '../../src/advise/advice.ts';
import {
  DASH,
  fixed,
  formatDistance,
  formatNumber,
  formatPercent,
  formatTestUnit,
  withUnit,
  type UnitSystem,
} from '../format.ts';
import { scaleWords, scaleSelect, setAsideOf, type AsideValue, type ScaleSelect } from './choiceOptions.ts';
import { errorChartData, leadFirst, variogramChartData } from './chartData.ts';
import { figures, type Figure } from './figure.ts';

export interface Fact {
  readonly label: string;
  readonly value: string;
  readonly note?: string;
}

export interface AnalyteModel {
  readonly id: string;
  readonly label: string;
  readonly leads: boolean;
  readonly facts: readonly Fact[];
  readonly belief: readonly Fact[];
  readonly structure: string;
  readonly structureKind: string;
  /** What there is to say of a trend across the field, unless the verdict has said so. */
  readonly trend?: string;
  /** What to do next about it, unless the verdict has said so. */
  readonly next?: string;
  readonly scaleName: string;
  readonly scaleWhy: string;
  /** Only of what was measured. */
  readonly scale?: ScaleSelect;
  /** Points that ask for a second look: the first few, and those folded away. */
  readonly standOut: readonly LookAgain[];
  readonly standOutFolded: readonly LookAgain[];
  readonly aside: readonly AsideValue[];
  readonly moran?: string;
  readonly models: readonly { readonly name: string; readonly cells: readonly string[] }[];
  readonly variogram?: Figure;
  readonly variogramCaption: string;
  readonly restsOn: readonly string[];
  readonly rateSource?: string;
}

export interface LookAgain {
  readonly key: string;
  readonly row: number;
  readonly sentence: string;
}

/** Points that ask for a second look shown without unfolding. */
const LOOK_AGAIN_SHOWN = 6;

/** A section for each analyte, the one that decides first. */
export function analyteModels(advice: Advice): readonly AnalyteModel[] {
  return leadFirst(advice).map((a, i) => analyteModel(advice, a, i));
}

/** The error chart of each analyte: the deciding one large, the others in the small size. */
export function errorFigures(advice: Advice): readonly (Figure & { readonly label: string })[] {
  return leadFirst(advice).flatMap((a, i) => {
    const data = errorChartData(advice, a);
    return data ? [{ ...figures.error(data, `error-${i}`, i > 0), label: a.label }] : [];
  });
}

function analyteModel(advice: Advice, a: AnalyteAdvice, index: number): AnalyteModel {
  const units = advice.options.unitSystem;
  const data = variogramChartData(advice, a);
  const lookAgain = a.standOut.map(({ key, row, sentence }) => ({ key, row, sentence }));
  return {
    id: a.id,
    label: a.label,
    leads: a.id === advice.verdict.leadAnalyte,
    facts: summaryFacts(a, units),
    belief: beliefFacts(a, units),
    structure: a.structure.sentence,
    structureKind: a.structure.kind,
    trend: trendOf(a, advice.verdict.why),
    next: newHere(a.structure.next, [a.structure.sentence, ...advice.verdict.why]),
    scaleName: scaleWords[a.scale],
    scaleWhy: a.scaleWhy,
    scale: a.summary && scaleSelect(a, advice.options),
    standOut: lookAgain.slice(0, LOOK_AGAIN_SHOWN),
    standOutFolded: lookAgain.slice(LOOK_AGAIN_SHOWN),
    aside: setAsideOf(advice.options, a.id),
    moran: moran(a),
    models: modelRows(a, units),
    variogram: data && figures.variogram(data, `variogram-${index}`),
    variogramCaption: variogramCaption(a),
    restsOn: a.belief.restsOn,
    rateSource: a.rateSource,
  };
}

function trendOf({ trend }: AnalyteAdvice, said: readonly string[]): string | undefined {
  const parts = [trend?.sentence, trend?.warning].filter((s) => s && !said.includes(s));
  return parts.length === 0 ? undefined : parts.join(' ');
}

/** A sentence that none of those already said holds. */
function newHere(sentence: string, said: readonly string[]): string | undefined {
  return sentence === '' || said.some((s) => s.includes(sentence)) ? undefined : sentence;
}

function summaryFacts(a: AnalyteAdvice, units: UnitSystem): Fact[] {
  const s = a.summary;
  if (!s) return [];
  const unit = formatTestUnit(a.unit, units);
  const value = (v: number) => withUnit(formatNumber(v), unit);
  return [
    {
      label: 'Tests',
      value: String(s.n),
      note: s.belowDetection > 0 ? `${s.belowDetection} below detection` : undefined,
    },
    { label: 'Mean', value: value(s.mean), note: `median ${value(s.median)}` },
    { label: 'Lowest to highest', value: withUnit(`${formatNumber(s.min)} to ${formatNumber(s.max)}`, unit) },
    { label: 'Standard deviation', value: value(s.sd), note: `skewness ${fixed(s.skewness, 2)}` },
    {
      label: 'Coefficient of variation of the samples',
      value: formatPercent(s.cv.mid),
      note: `80 % interval ${percentRange(s.cv)}`,
    },
  ];
}

function beliefFacts(a: AnalyteAdvice, units: UnitSystem): Fact[] {
  const b = a.belief;
  return [
    {
      label: 'Coefficient of variation of the field, with what is published',
      value: formatPercent(b.cv.mid),
      note: percentRange(b.cv),
    },
    {
      label: a.trend?.used ? 'Range of what the trend leaves' : 'Range',
      value: formatDistance(b.rangeM.mid, units),
      note: `${formatDistance(b.rangeM.low, units)} to ${formatDistance(b.rangeM.high, units)}`,
    },
    { label: 'Nugget share', value: formatPercent(b.nuggetShare.mid), note: percentRange(b.nuggetShare) },
    {
      label: 'Members',
      value: String(b.members),
      note: `effective size ${formatNumber(Math.round(b.effectiveSampleSize))}`,
    },
  ];
}

const percentRange = (i: Interval): string => `${formatPercent(i.low)} to ${formatPercent(i.high)}`;

function moran(a: AnalyteAdvice): string | undefined {
  const { moranI, moranP } = a.structure;
  if (moranI === undefined || !Number.isFinite(moranI) || a.structure.sentence.includes('Moran'))
    return undefined;
  const p = moranP === undefined ? '' : `, p ${moranP < 0.001 ? '< 0.001' : `= ${fixed(moranP, 3)}`}`;
  return `Moran’s I = ${fixed(moranI, 2)}${p}`;
}

/** As far as the chart reaches. */
const farthestLagM = (a: AnalyteAdvice): number =>
  1.08 * Math.max(0, ...a.variogram.bins.map((b) => b.distanceM));

function variogramCaption(a: AnalyteAdvice): string {
  const { weightedLeastSquares, reml } = a.variogram;
  const fits = [weightedLeastSquares, reml].filter((m) => m !== undefined);
  if (fits.length === 0)
    return 'No points to draw: the shaded band holds 80 % of the models believed for a field like this.';
  const ranges = fits.filter((m) => m.partialSill > 0).map((m) => m.effectiveRangeM);
  const parts = [
    ...(a.variogram.withoutTrend
      ? [
          'Points, fits and band are of what the linear trend leaves (residuals by generalised least squares).',
        ]
      : []),
    'Discs are lag classes, their area the number of pairs.',
  ];
  if (ranges.some((r) => r <= farthestLagM(a)))
    parts.push('Short strokes on the axis mark the effective ranges of the fits.');
  else if (ranges.length > 0)
    parts.push(
      `${ranges.length > 1 ? 'Both ranges lie' : 'The range lies'} beyond the lags: the sill was not reached inside this field, so the range rests mostly on what is published.`,
    );
  parts.push('The shaded band holds 80 % of the models still believed.');
  return parts.join(' ');
}

function modelRows(a: AnalyteAdvice, units: UnitSystem): AnalyteModel['models'] {
  const farthestM = farthestLagM(a);
  const row = (name: string, m: VariogramModelSummary, extra: string) => {
    const sill = m.nugget + m.partialSill;
    return {
      name,
      cells: [
        m.kind,
        figure3(m.nugget),
        figure3(m.partialSill),
        sill > 0 ? formatPercent(m.nugget / sill) : '–',
        rangeText(m, farthestM, units),
        extra,
      ],
    };
  };
  const { weightedLeastSquares: wls, reml } = a.variogram;
  return [
    ...(wls ? [row('Weighted least squares', wls, '–')] : []),
    ...(reml ? [row('REML', reml, fixed(reml.logLikelihood, 2))] : []),
  ];
}

/** A range is only a range with a structured part, and only seen if lags reach that far. */
function rangeText(m: VariogramModelSummary, farthestM: number, units: UnitSystem): string {
  if (!(m.partialSill > 0)) return DASH;
  return (
    formatDistance(m.effectiveRangeM, units) + (m.effectiveRangeM > farthestM ? ' (beyond the lags)' : '')
  );
}

/** Three significant figures, for variances of any size. */
function figure3(value: number): string {
  if (!Number.isFinite(value)) return '–';
  return value === 0
    ? '0'
    : Number(value.toPrecision(3)).toLocaleString('en-US', { maximumSignificantDigits: 3 });
}
