/** From the answer to what each chart draws: units of the screen, and the sentence that is read out for each point. */
import type { Advice, AnalyteAdvice, DesignOutcome, VariogramModelSummary } from '../../src/advise/advice.ts';
import { semivariance } from '../../src/variogram/structure.ts';
import { feetToMetres } from '../../src/units/index.ts';
import type { CostChartData } from '../charts/costChart.ts';
import type { ErrorChartData } from '../charts/errorChart.ts';
import type { FieldMapData } from '../charts/fieldMap.ts';
import type { FitCurve, VariogramChartData } from '../charts/variogramChart.ts';
import {
  areaUnitShort,
  areaUnitWord,
  capital,
  fixed,
  formatDistance,
  formatNumber,
  lengthUnit,
  perArea,
  toAreaUnit,
  toLengthUnit,
  toPerArea,
} from '../format.ts';
import { formatError, formatErrorRange, errorUnitShown, worstDiffers } from './errorText.ts';

/** The advised design. */
export function chosenDesign(advice: Advice): DesignOutcome {
  return advice.designs.find((d) => d.id === advice.verdict.designId) ?? advice.designs[0];
}

/** Analytes with the one that decides first. */
export function leadFirst(advice: Advice): readonly AnalyteAdvice[] {
  const lead = advice.verdict.leadAnalyte;
  return [...advice.analytes].sort((a, b) => Number(b.id === lead) - Number(a.id === lead));
}

const finite = (...values: readonly number[]) => values.every((v) => Number.isFinite(v));

/** Error against density for one analyte; undefined when no design has a figure for it. */
export function errorChartData(advice: Advice, analyte: AnalyteAdvice): ErrorChartData | undefined {
  const units = advice.options.unitSystem;
  const points = advice.designs.flatMap((d) => {
    const e = d.errors[analyte.id];
    if (!e || !finite(e.typical.low, e.typical.mid, e.typical.high, e.badSpot, d.haPerSample)) return [];
    return [
      {
        id: d.id,
        kind: d.kind,
        label: d.label,
        samples: d.samples,
        areaPerSample: toAreaUnit(d.haPerSample, units),
        zonesFrom: d.zonesFrom,
        typical: e.typical,
        badSpot: e.badSpot,
        chosen: d.id === advice.verdict.designId,
        says: `${capital(d.label)} (${d.samples} ${d.samples === 1 ? 'sample' : 'samples'}): ${analyte.label} wrong by ${formatError(analyte, e.typical.mid, units)} in a typical place (80 % band ${formatErrorRange(analyte, e.typical, units)})${worstDiffers(analyte, e) ? `, ${formatError(analyte, e.badSpot, units)} in the worst tenth` : ''}.`,
      },
    ];
  });
  if (points.length === 0) return undefined;
  const unit = errorUnitShown(analyte, units);
  const block = formatDistance(advice.options.blockM, units);
  return {
    analyte: analyte.label,
    axisTitle: `Error of ${analyte.label} for one block ${block} square${unit ? `, ${unit}` : ''}`,
    shortAxisTitle: `Error of ${analyte.label}${unit ? `, ${unit}` : ''}`,
    description: `Error of ${analyte.label} against area per sample for ${points.length} designs. All figures are in the table of designs.`,
    areaUnit: areaUnitWord(units),
    fieldArea: toAreaUnit(advice.field.areaHa, units),
    advised: `advised: ${chosenDesign(advice).label}`,
    points,
    endless: analyte.endlessLattice
      ?.filter((p) => finite(p.haPerSample, p.typical))
      .map((p) => ({ areaPerSample: toAreaUnit(p.haPerSample, units), typical: p.typical })),
  };
}

/** What the plain line of the error chart is; empty where there is none. */
export function sayEndless(analyte: AnalyteAdvice | undefined): string {
  return analyte?.endlessLattice
    ? 'The plain thin line (no edges) is a square grid that never ends: what the points lie above it is what the field’s edges and shape cost.'
    : '';
}

/** Totals of whole cells lie so close to those of grids that they stay out of the picture unless one is advised. */
const inCostChart = (advice: Advice) => {
  const cellsAdvised = chosenDesign(advice)?.kind === 'cells';
  return (d: DesignOutcome) => d.kind !== 'cells' || cellsAdvised;
};

/** Cost against density; undefined when no design has a total. */
export function costChartData(advice: Advice): CostChartData | undefined {
  const { unitSystem: units, currency } = advice.options;
  const money = (perHa: number) => perArea(perHa, units, currency);
  const points = advice.designs.filter(inCostChart(advice)).flatMap((d) => {
    const t = d.totalPerHaYear;
    if (!finite(t.low, t.mid, t.high, d.cost.perHaYear, d.lossPerHaYear.mid, d.haPerSample)) return [];
    return [
      {
        id: d.id,
        kind: d.kind,
        label: d.label,
        samples: d.samples,
        areaPerSample: toAreaUnit(d.haPerSample, units),
        sampling: toPerArea(d.cost.perHaYear, units),
        loss: toPerArea(d.lossPerHaYear.mid, units),
        total: {
          low: toPerArea(t.low, units),
          mid: toPerArea(t.mid, units),
          high: toPerArea(t.high, units),
        },
        chosen: d.id === advice.verdict.designId,
        nearBest: d.nearBest && d.admissible,
        says: `${capital(d.label)}: sampling ${money(d.cost.perHaYear)} and wrong rates ${money(d.lossPerHaYear.mid)}, together ${money(t.mid)} a year (80 % band ${fixed(toPerArea(t.low, units), 2)} to ${fixed(toPerArea(t.high, units), 2)}).`,
      },
    ];
  });
  if (points.length === 0) return undefined;
  const per = areaUnitShort(units) === 'ac' ? 'an acre' : 'a hectare';
  return {
    axisTitle: `${currency} ${per} and year`,
    shortAxisTitle: `${currency} ${per} and year`,
    description: `Yearly cost of sampling, expected cost of wrong rates and their sum for ${points.length} designs. All figures are in the table of designs.`,
    areaUnit: areaUnitWord(units),
    fieldArea: toAreaUnit(advice.field.areaHa, units),
    advised: `advised: ${chosenDesign(advice).label}`,
    points,
  };
}

/** Variogram of one analyte; undefined when there is neither a bin nor a belief to draw. */
export function variogramChartData(advice: Advice, analyte: AnalyteAdvice): VariogramChartData | undefined {
  const units = advice.options.unitSystem;
  const distance = (m: number) => toLengthUnit(m, units);
  const v = analyte.variogram;
  const bins = v.bins.filter((b) => finite(b.distanceM, b.gamma, b.pairs));
  const band = v.band.filter((b) => finite(b.distanceM, b.low, b.mid, b.high));
  if (bins.length === 0 && band.length === 0) return undefined;
  const unit = errorUnitShown(analyte, units);
  const squared = /^[a-z]+$/i.test(unit) ? `${unit}²` : `(${unit})²`;
  const raw = unit ? `${analyte.label}, ${squared}` : analyte.label;
  const of = {
    log: `ln ${analyte.label}`,
    normalScore: `normal scores of ${analyte.label}`,
    raw,
  }[analyte.scale];
  return {
    analyte: analyte.label,
    axisTitle: `Semivariance of ${of}`,
    shortAxisTitle: `Semivariance of ${analyte.scale === 'normalScore' ? 'normal scores' : of}`,
    distanceUnit: lengthUnit(units),
    description: `${bins.length} lag classes of the experimental variogram, the fitted models and the 80 % band of the belief.`,
    bins: bins.map((b) => ({
      distance: distance(b.distanceM),
      gamma: b.gamma,
      pairs: b.pairs,
      says: `Lag ${formatDistance(b.distanceM, units)}: semivariance ${formatNumber(b.gamma)} from ${b.pairs} pairs.`,
    })),
    fits: fits(analyte, units),
    band: band.map((b) => ({ distance: distance(b.distanceM), low: b.low, mid: b.mid, high: b.high })),
  };
}

function fits(analyte: AnalyteAdvice, units: 'us' | 'metric'): FitCurve[] {
  const of = (model: VariogramModelSummary): Pick<FitCurve, 'at' | 'range'> => ({
    at: (d) => semivariance(model, units === 'us' ? feetToMetres(d) : d),
    range: model.partialSill > 0 ? toLengthUnit(model.effectiveRangeM, units) : undefined,
  });
  const sound = (m: VariogramModelSummary | undefined): m is VariogramModelSummary =>
    m !== undefined && finite(m.nugget, m.partialSill, m.effectiveRangeM);
  const v = analyte.variogram;
  const out: FitCurve[] = [];
  if (sound(v.weightedLeastSquares))
    out.push({
      name: 'least squares',
      shortName: 'WLS',
      className: 'least-squares',
      ...of(v.weightedLeastSquares),
    });
  if (sound(v.reml)) out.push({ name: 'REML', shortName: 'REML', className: 'reml', ...of(v.reml) });
  return out;
}

/** Whether the advised zones are still to be drawn: then the map has none to show, nor stops within them. */
export function zonesToDraw(advice: Advice): boolean {
  const { kind, zonesFrom } = chosenDesign(advice);
  return kind === 'zones' && zonesFrom === 'not drawn yet';
}

/** The zones of the advised design, each named after the sample that the stops within it go into. */
function namedZones(advice: Advice): FieldMapData['zones'] {
  const cells = zonesToDraw(advice) ? [] : (advice.field.zoneCells ?? []);
  const ids = [...new Set(cells.map((c) => c.zone))].sort((a, b) => a - b);
  return ids.map((id, i) => {
    const own = cells.filter((c) => c.zone === id);
    const stop = advice.stops.find((s) =>
      own.some((c) => Math.abs(c.xM - s.xM) <= c.sizeM / 2 && Math.abs(c.yM - s.yM) <= c.sizeM / 2),
    );
    return { name: stop?.sample ?? `zone ${i + 1}`, cells: own };
  });
}

/** The field with the stops of the advised design. */
export function fieldMapData(advice: Advice): FieldMapData {
  const units = advice.options.unitSystem;
  const toDraw = zonesToDraw(advice);
  const stops = toDraw ? [] : advice.stops.filter((s) => finite(s.xM, s.yM));
  const lengths =
    units === 'us' ? [2000, 1000, 500, 300, 200, 100, 50, 20] : [1000, 500, 200, 100, 50, 20, 10];
  return {
    title: `Map of ${advice.field.name || 'the field'}${toDraw ? '' : ' with its stops'}`,
    description: toDraw
      ? 'The field without zones: they are not drawn yet.'
      : `${stops.length} stops numbered in walking order. Their coordinates are in the downloads.`,
    region: advice.field.region,
    soilUnits: advice.field.soilUnits,
    keepOut: advice.field.keepOut,
    oldPoints: advice.field.oldPoints,
    zones: namedZones(advice),
    stops: stops.map((s) => ({
      order: s.order,
      xM: s.xM,
      yM: s.yM,
      ...(s.pairOf !== undefined && { partner: true }),
      says: `Stop ${s.order}: ${s.cores} ${s.cores === 1 ? 'core' : 'cores'} into sample ${s.sample}, at ${s.world.map((w) => w.toFixed(advice.field.frame.kind === 'geographic' ? 6 : 1)).join(', ')}.`,
    })),
    scaleBars: lengths.map((length) => ({
      metres: units === 'us' ? feetToMetres(length) : length,
      name: `${length.toLocaleString('en-US')} ${lengthUnit(units)}`,
    })),
    north: advice.field.boundarySource !== 'a square of the stated area',
  };
}
