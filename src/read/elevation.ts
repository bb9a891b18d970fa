import { median } from 'simple-statistics';
import { M_PER_FOOT } from '../units/index.ts';
import { decideDecimal, readCell, type DecimalSign } from './number.ts';
import type { Problem } from './problem.ts';
import type { ColumnChoice, ColumnUse } from './records.ts';
import { columnCells, type Table } from './table.ts';
import { plainText } from './unitText.ts';

export type ElevationUnit = 'm' | 'ft';

/** The height of the ground as a file has it. */
export interface ElevationColumn {
  /** One a row kept, m; NaN where missing. */
  readonly values: Float64Array;
  readonly use: ColumnUse;
}

const METRES: Readonly<Record<ElevationUnit, number>> = {
  m: 1,
  // A survey foot is two millionths longer, which no receiver tells.
  ft: M_PER_FOOT,
};

/** Units a column of elevations can be said to be in. */
export const elevationUnits: readonly string[] = Object.keys(METRES);

/** From the Dead Sea's shore to the highest summits, m. */
const PLAUSIBLE_M: readonly [low: number, high: number] = [-430, 9000];
/** An exact 0 is a receiver without a fix where the field lies higher or lower than this, m. Judgement of this project. */
const SEA_LEVEL_M = 10;

/** In the order of sureness. */
const NAMES =
  'elevation elev altitude alt gpselevation gpselev gpsaltitude gpsalt elevationmsl elevmsl altitudemsl altmsl elevasl altitudeasl msl gpsheight heightabovesealevel orthometricheight ellipsoidheight ellipsoidalheight dem zcoord zcoordinate coordz pointz geometryz posz z'.split(
    ' ',
  );

const UNIT_WORDS: readonly (readonly [unit: ElevationUnit, pattern: RegExp])[] = [
  ['ft', /(?<![a-z])(?:us[\s_-]*)?(?:survey[\s_-]*)?(?:ft|feet|foot)(?:us)?(?![a-z])/],
  ['m', /(?<![a-z])(?:m|metres?|meters?|masl)(?![a-z])/],
];

export interface ElevationName {
  /** Lower is surer, when several columns could be it. */
  readonly rank: number;
  /** Absent when the header names none. */
  readonly unit?: ElevationUnit;
}

/**
 * Whether a header names the height of the ground, and in which unit. "Height" alone is not taken: it may be a crop's.
 *
 * @example elevationName('Elevation(ft)') // { rank: 0, unit: 'ft' }
 */
export function elevationName(header: string): ElevationName | undefined {
  const { unit, rest } = unitOf(plainText(header));
  const rank = NAMES.indexOf(rest.replace(/\d+/g, '').replace(/[^\p{L}]+/gu, ''));
  return rank < 0 ? undefined : { rank, unit };
}

function unitOf(plain: string): { readonly unit?: ElevationUnit; readonly rest: string } {
  for (const [unit, pattern] of UNIT_WORDS)
    if (pattern.test(plain)) return { unit, rest: plain.replace(pattern, ' ') };
  return { rest: plain };
}

/**
 * Reads a column of elevations for the rows kept. Values missing, beyond what is on earth, or 0 amid higher ground are
 * left out with a note.
 * @param choice the user's, when the column was chosen by hand
 * @param hint decimal sign of the file's other columns
 * @returns undefined when no value is left
 */
export function readElevations(
  table: Table,
  column: number,
  choice: ColumnChoice | undefined,
  keep: Uint32Array,
  hint: DecimalSign | undefined,
): ElevationColumn | Problem | undefined {
  const header = table.headers[column];
  const asked = choice?.unit === undefined ? undefined : unitOf(plainText(choice.unit));
  if (asked && (asked.unit === undefined || asked.rest.trim() !== ''))
    return {
      file: table.file,
      column: header,
      problem: `The unit “${choice?.unit}” is not known; an elevation can be in ${elevationUnits.join(', ')}.`,
      remedy: 'Choose one of those units.',
    };
  const named = unitOf(plainText(header)).unit;
  const unit = asked?.unit ?? named ?? 'm';
  const { decimal } = decideDecimal(columnCells(table, column), hint);
  const [low, high] = PLAUSIBLE_M;
  let impossible = 0;
  const values = Float64Array.from(keep, (row) => {
    const cell = readCell((table.rows[row][column] ?? '').replace(/\s*(?:m|ft|feet)\s*$/i, ''), decimal);
    if (cell.kind !== 'number') return NaN;
    const metres = cell.value * METRES[unit];
    if (metres >= low && metres <= high) return metres;
    impossible++;
    return NaN;
  });
  const heights = values.filter((v) => v === v && v !== 0);
  if (heights.length > 0 && Math.abs(median(Array.from(heights))) > SEA_LEVEL_M)
    values.forEach((v, i) => {
      if (v !== 0) return;
      impossible++;
      values[i] = NaN;
    });
  if (impossible > 0)
    table.notes.add(`elevation ${header}`, {
      column: header,
      problem: `${impossible} of ${keep.length} elevations can’t be real (0 amid higher ground, or outside ${low} to ${high.toLocaleString('en')} m) and were left out.`,
      remedy: 'Check the unit of the column if that is more than a few.',
    });
  if (values.every((v) => v !== v)) return undefined;
  const why = choice
    ? 'chosen by you'
    : `header names the elevation${named ? '' : ', no unit named: taken as m'}`;
  return { values, use: { header, role: 'elevation', unit, why } };
}
