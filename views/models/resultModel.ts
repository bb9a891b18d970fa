/** The result page as strings in the order they stand; the template only lays them out. */
import type { Advice, DesignOutcome } from '../../src/advise/advice.ts';
import {
  capital,
  formatArea,
  formatDistance,
  formatHours,
  formatMoney,
  formatWay,
  perArea,
} from '../format.ts';
import { analyteModels, errorFigures, type AnalyteModel, type Fact } from './analyteModel.ts';
import {
  chosenDesign,
  costChartData,
  fieldMapData,
  leadFirst,
  sayEndless,
  zonesToDraw,
} from './chartData.ts';
import { sayAside } from './choiceOptions.ts';
import { designTable, type DesignTable } from './designTable.ts';
import { sayOwnCell, sayPlacements, sayZones } from './designText.ts';
import { formatError, formatErrorRange, worstDiffers } from './errorText.ts';
import { figures, type Figure } from './figure.ts';
import { moneyForm, type MoneyForm } from './moneyForm.ts';
import { moneyModel, type MoneyModel } from './moneyModel.ts';
import { readingModels, type ReadingModel } from './readingModel.ts';

export interface ResultModel {
  readonly fieldName: string;
  readonly fieldLine: string;
  readonly headline: string;
  readonly why: readonly string[];
  readonly confidence: { readonly words: string; readonly sentence: string; readonly share: number };
  readonly review?: { readonly call: string; readonly sentence: string };
  readonly wouldChange: readonly string[];
  readonly nextTighter?: string;
  readonly plateau: readonly string[];
  readonly keyFigures: readonly Fact[];
  readonly errors: readonly (Figure & { readonly label: string })[];
  readonly errorCaption: string;
  /** Of maps: what it would be without interpolation. */
  readonly ownCell: string;
  readonly cost?: Figure;
  readonly costCaption: string;
  readonly money: MoneyModel;
  readonly moneyForm: MoneyForm;
  readonly table: DesignTable;
  readonly map: Figure;
  readonly mapCaption: string;
  /** Of grids: how the stops are laid. */
  readonly placements: string;
  /** What tests say of the zones compared. */
  readonly zoneEvidence: readonly string[];
  /** The map's legend: number and name of each zone, in the order of their shades. */
  readonly zones: readonly string[];
  readonly zonesToDraw: boolean;
  readonly analytes: readonly AnalyteModel[];
  readonly reading: readonly ReadingModel[];
  readonly cautions: readonly string[];
  readonly stops: number;
  readonly distanceUnit: string;
  readonly version: string;
}

/** Everything the result page shows. */
export function resultModel(advice: Advice): ResultModel {
  const { unitSystem: units } = advice.options;
  const cost = costChartData(advice);
  const map = fieldMapData(advice);
  const v = advice.verdict;
  return {
    fieldName: advice.field.name || 'Your field',
    fieldLine: fieldLine(advice),
    headline: v.headline,
    why: v.why,
    confidence: {
      words: v.confidence.words,
      sentence: v.confidence.sentence,
      share: Math.min(1, Math.max(0, v.confidence.share || 0)),
    },
    review: advice.review && { call: reviewCall[advice.review.call], sentence: advice.review.sentence },
    wouldChange: v.wouldChange,
    nextTighter: v.nextTighter?.sentence,
    plateau: advice.designs
      .filter((d) => d.nearBest && d.admissible && d.id !== v.designId)
      .map((d) => plateauLine(d, advice)),
    keyFigures: keyFigures(advice),
    errors: errorFigures(advice),
    errorCaption: errorCaption(advice),
    ownCell: sayOwnCell(advice, chosenDesign(advice)),
    cost: cost && figures.cost(cost, 'cost'),
    costCaption: costCaption(advice),
    money: moneyModel(advice),
    moneyForm: moneyForm(advice),
    table: designTable(advice),
    map: figures.map(map, 'map'),
    mapCaption: mapCaption(advice),
    placements: sayPlacements(chosenDesign(advice)),
    zoneEvidence: sayZones(advice),
    zones: map.zones.map(({ name }, i) => (/^zone/i.test(name) ? name : `Zone ${i + 1}: ${name}`)),
    zonesToDraw: zonesToDraw(advice),
    analytes: analyteModels(advice),
    reading: readingModels(advice),
    cautions: v.cautions,
    stops: advice.stops.length,
    distanceUnit: units === 'us' ? 'ft' : 'm',
    version: advice.tool.version,
  };
}

const reviewCall = { tighten: 'Tighten', keep: 'Keep', relax: 'Relax' } as const;

function fieldLine(advice: Advice): string {
  const source = {
    given: 'boundary as given',
    'drawn around the points': 'boundary drawn around the points',
    'a square of the stated area': 'taken as a square of the stated area',
  }[advice.field.boundarySource];
  const aside = sayAside(advice.options.setAside.length);
  return `${formatArea(advice.field.areaHa, advice.options.unitSystem)}, ${source}${aside && `; ${aside}`}`;
}

function plateauLine(d: DesignOutcome, advice: Advice): string {
  const samples = `${d.samples} ${d.samples === 1 ? 'sample' : 'samples'}`;
  return `${capital(d.label)}: ${samples}, ${formatMoney(d.cost.total, advice.options.currency)}`;
}

function keyFigures(advice: Advice): Fact[] {
  const { unitSystem: units, currency } = advice.options;
  const d = chosenDesign(advice);
  const lead = leadFirst(advice)[0];
  const e = lead && d.errors[lead.id];
  return [
    { label: 'Samples', value: String(d.samples), note: `${d.coresPerSample} cores in each` },
    {
      label: 'One sampling',
      value: formatMoney(d.cost.total, currency),
      note: `laboratory ${formatMoney(d.cost.laboratory, currency)}, ${restOfCost(d, currency)}`,
    },
    {
      label: units === 'us' ? 'Per acre' : 'Per hectare',
      value: perArea(d.cost.perHa, units, currency),
      note: `${perArea(d.cost.perHaYear, units, currency)} a year`,
    },
    {
      label: 'Work',
      value: formatHours(d.cost.hours),
      note: `${formatWay(d.cost.walkM, units)} between stops`,
    },
    ...(lead && e
      ? [
          {
            label: `${lead.label}, typical place`,
            value: `± ${formatError(lead, e.typical.mid, units)}`,
            note: `80 % band ${formatErrorRange(lead, e.typical, units)}`,
          },
          ...(worstDiffers(lead, e)
            ? [
                {
                  label: `${lead.label}, worst tenth`,
                  value: `± ${formatError(lead, e.badSpot, units)}`,
                  note: 'or more in a tenth of the field',
                },
              ]
            : []),
        ]
      : []),
  ];
}

/** What is paid beside the laboratory: the work where that is all, or everything else in one figure. */
function restOfCost({ cost }: DesignOutcome, currency: string): string {
  const rest = cost.total - cost.laboratory;
  return Math.abs(rest - cost.labour) < 0.005
    ? `work ${formatMoney(cost.labour, currency)}`
    : `all else ${formatMoney(rest, currency)}`;
}

function errorCaption(advice: Advice): string {
  const block = formatDistance(advice.options.blockM, advice.options.unitSystem);
  return `One standard error of the value used for a block ${block} square, the ground the spreader treats at one rate. Bands and bars hold 80 % of the belief; the dashed line and the short strokes are the worst tenth of the field. ${sayEndless(leadFirst(advice)[0])}`.trim();
}

function costCaption(advice: Advice): string {
  const { yearsBetween } = advice.options;
  const years = `${yearsBetween} ${yearsBetween === 1 ? 'year' : 'years'}`;
  return `What sampling costs, spread over ${years}, and what wrong rates are expected to cost. Where they add up to least is the cheapest density; the shaded grids and the filled marks are as good within the tolerance.`;
}

function mapCaption(advice: Advice): string {
  const n = advice.stops.length;
  const toDraw = zonesToDraw(advice);
  const parts = [
    toDraw
      ? 'These zones are not drawn yet: draw them by what you know of the field, and pull the cores spread over each.'
      : `${n} ${n === 1 ? 'stop' : 'stops'}, numbered in walking order from the filled one.`,
  ];
  const { kind } = chosenDesign(advice);
  if (advice.field.oldPoints.length > 0)
    parts.push(
      kind === 'infill'
        ? 'Crosses are last time’s points, which stay part of the map.'
        : 'Crosses are last time’s points.',
    );
  if (kind === 'cells') parts.push('Each stop is one core; all cores of a cell go into one bag.');
  if (advice.field.zoneCells?.length && !toDraw)
    parts.push('Shades are the zones; all stops of a zone go into one bag.');
  else if (advice.field.soilUnits.length > 0) parts.push('Shades are the soil units.');
  if (advice.field.boundarySource === 'a square of the stated area')
    parts.push(
      toDraw
        ? 'The square stands in for your field.'
        : 'The square stands in for your field: bring its boundary for stops you can walk to.',
    );
  return parts.join(' ');
}
