import { median } from 'd3';
import { shownUnit, type LabColumn, type LabResults, type LabRow, type LabValue } from '../read/index.ts';
import {
  expectedLevel,
  likeliestSlip,
  sizeOf,
  spreadLn,
  USUAL_SD_LN,
  type Level,
  type UnitSlip,
} from './unitSlip.ts';

/** What may be done about a finding; nothing is done until the user says so. */
export type LabSuggestion =
  /** Another value for one cell, in the column's inside unit. */
  | { readonly kind: 'value'; readonly value: number }
  /** Another unit for the whole column: its values times `factor`. */
  | { readonly kind: 'unit'; readonly unit: string; readonly factor: number };

/** Something in a laboratory's results that a person should look at. */
export interface LabFinding {
  readonly file: string;
  /** Bag and row of one cell; absent when the finding is about the whole column. */
  readonly bag?: string;
  readonly row?: number;
  readonly column: string;
  readonly analyte: string;
  readonly kind: 'impossible' | 'decimal point' | 'decimal comma' | 'unit' | 'percent';
  readonly strength: 'sure' | 'likely' | 'possible';
  /** One clear sentence with the figures. */
  readonly sentence: string;
  /** What the user can do. */
  readonly remedy: string;
  readonly suggestion?: LabSuggestion;
}

/** Robust standard deviations beyond which a value is asked about: Iglewicz & Hoaglin 1993. */
const FAR = 3.5;
/** A mended value has to lie this near. */
const NEAR = 2;
const FEW = 5;
/** Chances at which a unit is asked about, and called likely: judgement of this project. */
const [ASK, LIKELY] = [0.05, 0.5];
/** Times the usual level at which no soil is: below it only the field's own earlier results can call a slip likely. Judgement of this project. */
const BEYOND_NATURE = 50;

/**
 * Looks for values that can't be real and for slips of decimal sign and unit. Nothing is changed: see
 * {@link acceptSuggestion}.
 *
 * @param earlier the field's earlier results by analyte id, in the catalogue's units; without them the usual levels of
 * `prior` stand in, which tell only large slips
 */
export function labChecks(
  results: LabResults,
  earlier: Readonly<Record<string, ArrayLike<number>>> = {},
): readonly LabFinding[] {
  return results.columns.flatMap((column) => {
    const { analyte } = column;
    if (column.role !== 'analyte' || analyte === undefined) return [];
    const cells = results.rows.flatMap((row) =>
      Object.hasOwn(row.values, analyte) ? [{ row, value: row.values[analyte] }] : [],
    );
    const level = expectedLevel(analyte, Object.hasOwn(earlier, analyte) ? earlier[analyte] : undefined);
    const slip = level && findSlip(results.file, column, cells, level);
    return [...(slip ? [slip] : []), ...findInCells(results.file, column, cells, level)];
  });
}

interface LabCell {
  readonly row: LabRow;
  readonly value: LabValue;
}

function findSlip(
  file: string,
  column: LabColumn,
  cells: readonly LabCell[],
  level: Level,
): LabFinding | undefined {
  // A cell that names its own unit says nothing of the column's.
  const values = cells.filter(({ value }) => value.factor === column.factor).map(({ value }) => value.value);
  const slip = likeliestSlip(column, values, level);
  if (!slip || slip.probability < ASK) return undefined;
  const batch = median(values) ?? NaN;
  const { header, analyte = header, label = header } = column;
  const certain = level.from === 'earlier results' || sizeOf(slip.factor) >= BEYOND_NATURE;
  const likely = certain && slip.probability >= LIKELY;
  const unit = shownUnit(column.unit ?? '');
  const against =
    level.from === 'earlier results'
      ? `${sayTimes(slip.ratio)} the field’s earlier ${sayFigure(level.median)} ${unit}`
      : `${sayTimes(slip.ratio)} the usual ${sayFigure(level.median)} ${unit}`;
  const opening = `The middle ${inSentence(label)} of these results is ${sayFigure(batch)} ${unit}, ${against}, as it ${likely ? 'would' : 'could'} be`;
  const found = { file, column: header, analyte, strength: likely ? 'likely' : 'possible' } as const;
  if (slip.whose === 'earlier results')
    return {
      ...found,
      kind: 'unit',
      sentence: `${opening} if the earlier results were ${slip.unit} taken for ${unit}.`,
      remedy: 'Look which unit the earlier report was in, and correct it there.',
    };
  return {
    ...found,
    kind: slip.unit === '%' || column.fileUnit === '%' ? 'percent' : 'unit',
    sentence: `${opening} if the column were in ${slip.unit}, not ${column.fileUnit || 'as read'}; the middle would then be ${sayFigure(batch * slip.factor)} ${unit}.`,
    remedy: sayUnitRemedy(column, slip, likely),
    suggestion: { kind: 'unit', unit: slip.unit, factor: slip.factor },
  };
}

const sayUnitRemedy = (column: LabColumn, slip: UnitSlip, likely: boolean): string =>
  [
    `Look at the unit on the laboratory’s report${column.unitNamed ? ', though the header names one' : ''}, and choose ${slip.unit} if that is it`,
    slip.alternatives.length > 0 ? `; ${slip.alternatives.join(' or ')} would look much the same` : '',
    likely ? '.' : '; a change of this size can also be real.',
  ].join('');

function findInCells(
  file: string,
  column: LabColumn,
  cells: readonly LabCell[],
  level: Level | undefined,
): LabFinding[] {
  const { header, analyte = header, label = header, plausible = [-Infinity, Infinity] } = column;
  const [low, high] = plausible;
  const isPossible = (v: number) => v >= low && v <= high;
  const spread = spreadOf(cells, isPossible, level);
  const unit = shownUnit(column.unit ?? '');
  const name = unit === '' ? '' : ` ${unit}`;
  return cells.flatMap(({ row, value: cell }): LabFinding[] => {
    const at = { file, bag: row.bag, row: cell.row, column: header, analyte };
    const { value, text } = cell;
    if (value !== 0 && !(value > 0) && low >= 0)
      return [
        {
          ...at,
          kind: 'impossible',
          strength: 'sure',
          sentence: `${label} “${text}” can’t be real: it is below 0.`,
          remedy: 'Ask the laboratory for the right value, or leave it out.',
        },
      ];
    const possible = isPossible(value);
    const far = spread !== undefined && spread.deviations(value) > FAR;
    if (possible && (!far || cell.below || cell.above)) return [];
    const fits = (v: number) =>
      isPossible(v) && (spread === undefined ? !possible : spread.deviations(v) <= NEAR);
    const { otherReading } = cell;
    const comma = otherReading !== undefined && fits(otherReading) ? otherReading : undefined;
    const shifted = [value / 10, value * 10, ...(possible ? [] : [value / 100])]
      .map((v) => Number(v.toPrecision(12)))
      .filter((v) => fits(v))
      .sort((a, b) => (spread ? spread.deviations(a) - spread.deviations(b) : 0));
    const mended = comma ?? (canShift(column, possible, spread) ? shifted.at(0) : undefined);
    if (mended === undefined)
      return possible
        ? []
        : [
            {
              ...at,
              kind: 'impossible',
              strength: 'sure',
              sentence: `${label} “${text}” can’t be real: it is outside ${sayFigure(low)} to ${sayFigure(high)}${name}.`,
              remedy: 'Ask the laboratory for the right value, or leave it out.',
            },
          ];
    const what = possible
      ? `is far from the other results, ${spread ? sayFigure(spread.middle) : ''}${name} in the middle`
      : 'can’t be real';
    return [
      {
        ...at,
        kind: comma === undefined ? 'decimal point' : 'decimal comma',
        strength: possible ? 'possible' : 'likely',
        sentence: `${label} “${text}” ${what}; with its decimal sign elsewhere it would be ${sayFigure(mended, 6)}${name}.`,
        remedy: possible
          ? 'Take that if the report says so; a spot that was manured, limed or built upon can also be real.'
          : 'Take that if the report says so, or ask the laboratory.',
        suggestion: { kind: 'value', value: mended },
      },
    ];
  });
}

/** A lost point is looked for where the value can't be real and the range is narrow, or where the others are many enough to tell. */
const canShift = (column: LabColumn, possible: boolean, spread: Spread | undefined): boolean =>
  possible ? spread?.from === 'the others' : column.unit === 'pH' || spread !== undefined;

interface Spread {
  readonly from: 'the others' | 'level';
  readonly middle: number;
  /** How far off a value is, in robust standard deviations of logs. */
  readonly deviations: (value: number) => number;
}

/** Least spread of logs that a column is taken to have, so that equal values don't make their neighbour stand out: judgement of this project. */
const LEAST_SD_LN = 0.05;

/** Middle and spread of a column's possible values that could be read one way only, else of all; of the expected level with few. */
function spreadOf(
  cells: readonly LabCell[],
  isPossible: (value: number) => boolean,
  level: Level | undefined,
): Spread | undefined {
  const usable = cells.filter(({ value: { value } }) => value > 0 && isPossible(value));
  const plain = usable.filter(({ value }) => value.otherReading === undefined);
  const logs = (plain.length >= FEW ? plain : usable).map(({ value }) => Math.log(value.value));
  if (logs.length < FEW || 2 * plain.length < usable.length) {
    if (!level) return undefined;
    const sd = Math.hypot(level.sdLn, USUAL_SD_LN);
    const center = Math.log(level.median);
    return {
      from: 'level',
      middle: level.median,
      deviations: (v) => (v > 0 ? Math.abs(Math.log(v) - center) / sd : Infinity),
    };
  }
  const center = median(logs) ?? 0;
  const sd = Math.max(LEAST_SD_LN, spreadLn(logs));
  return {
    from: 'the others',
    middle: Math.exp(center),
    deviations: (v) => (v > 0 ? Math.abs(Math.log(v) - center) / sd : Infinity),
  };
}

/** The results with a finding's suggestion taken, as the user decided; a unit is also kept in the mapping. */
export function acceptSuggestion(results: LabResults, finding: LabFinding): LabResults {
  const { suggestion, analyte, column } = finding;
  if (!suggestion) return results;
  const used = results.columns.find((c) => c.header === column);
  const change = (cell: LabValue): LabValue => {
    if (suggestion.kind === 'value')
      return cell.row === finding.row ? { ...cell, value: suggestion.value, otherReading: undefined } : cell;
    if (cell.factor !== used?.factor) return cell;
    const { factor } = suggestion;
    return {
      ...cell,
      value: cell.value * factor,
      factor: cell.factor * factor,
      ...(cell.otherReading !== undefined && { otherReading: cell.otherReading * factor }),
    };
  };
  const rows = results.rows.map((row) =>
    Object.hasOwn(row.values, analyte)
      ? { ...row, values: { ...row.values, [analyte]: change(row.values[analyte]) } }
      : row,
  );
  if (suggestion.kind === 'value') return { ...results, rows };
  const { unit, factor } = suggestion;
  const columns = results.columns.map((c) =>
    c.header === column
      ? { ...c, fileUnit: unit, factor: (c.factor ?? 1) * factor, unitNamed: true, why: 'chosen by you' }
      : c,
  );
  // Readers refuse a nutrient in percent, which is mostly a share of the exchange capacity, so that is not remembered.
  const mapping =
    finding.kind === 'percent' && unit === '%'
      ? results.mapping
      : {
          ...results.mapping,
          columns: { ...results.mapping.columns, [column]: { ...results.mapping.columns[column], unit } },
        };
  return { ...results, rows, columns, mapping };
}

const sayFigure = (value: number, figures = 3): string =>
  Number.isFinite(value) ? String(Number(value.toPrecision(figures))) : 'no limit';

const sayTimes = (ratio: number): string =>
  ratio >= 1 ? `${sayFigure(ratio)} times` : `${sayFigure(100 * ratio, 2)} % of`;

/** pH keeps its capital. */
const inSentence = (label: string): string =>
  /^.[A-Z]/.test(label) ? label : label.charAt(0).toLowerCase() + label.slice(1);
