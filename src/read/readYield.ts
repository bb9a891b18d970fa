import {
  choiceFor,
  listHeaders,
  locate,
  noteUnknownChoices,
  type Choices,
  type Located,
} from './coordinates.ts';
import { readElevations } from './elevation.ts';
import { isProblem } from './fileText.ts';
import { decideDecimal, readCell, type DecimalSign } from './number.ts';
import type { Problem, Read } from './problem.ts';
import type { ReadTableOptions } from './readPoints.ts';
import type { ColumnUse, YieldTable } from './records.ts';
import { columnCells, fileDecimal, readTable, type Table } from './table.ts';
import { yieldColumn, type YieldColumn } from './yieldColumns.ts';

type Role = YieldColumn['role'];

/**
 * Reads yield-monitor points from delimited text. Yield stays in the file's own unit: only its pattern is used.
 * Rows without a yield above 0 are set aside with a count.
 *
 * @param file name for messages
 */
export function readYield(file: string, bytes: Uint8Array, options: ReadTableOptions = {}): Read<YieldTable> {
  const table = readTable(file, bytes);
  if (isProblem(table)) return { ok: false, problems: [table] };
  noteUnknownChoices(table, options.columns);
  const located = locate(table, options.columns);
  if (isProblem(located)) return { ok: false, problems: [located, ...table.notes.all()] };
  const columns = pickColumns(table, options.columns, [located.xColumn, located.yColumn]);
  const chosen = columns.get('yield');
  if (chosen === undefined) return { ok: false, problems: [noYield(table)] };

  const hint = fileDecimal(table);
  const all = readNumbers(table, chosen.column, hint);
  const positions = [...located.keep.keys()].filter((k) => all[located.keep[k]] > 0);
  noteSetAside(table, chosen.column, located.keep, all);
  if (positions.length === 0)
    return {
      ok: false,
      problems: [
        {
          file,
          column: table.headers[chosen.column],
          problem: 'No row has a yield above 0.',
          remedy: 'Check that this is the yield column, or choose another by hand.',
        },
      ],
    };
  const rows = Uint32Array.from(positions, (k) => located.keep[k]);
  const world = new Float64Array(2 * positions.length);
  positions.forEach((k, i) => world.set(located.world.subarray(2 * k, 2 * k + 2), 2 * i));
  const pick = (role: Role): Float64Array | undefined => {
    const found = columns.get(role);
    if (!found) return undefined;
    const values = readNumbers(table, found.column, hint);
    return Float64Array.from(rows, (row) => values[row]);
  };
  const height = columns.get('elevation')?.column;
  const elevation =
    height === undefined
      ? undefined
      : readElevations(table, height, choiceFor(options.columns, table.headers[height]), rows, hint);
  if (elevation && isProblem(elevation)) return { ok: false, problems: [elevation] };
  return {
    ok: true,
    value: {
      file,
      kind: located.kind,
      world,
      rows: Uint32Array.from(rows, (row) => table.rowNumbers[row]),
      yields: Float64Array.from(rows, (row) => all[row]),
      unit: chosen.unit ?? '',
      speeds: pick('speed'),
      moistures: pick('moisture'),
      elevations: elevation?.values,
      columns: table.headers.map((header, column): ColumnUse => {
        if (column !== height) return useOf(table, column, located, columns, options.columns);
        return elevation?.use ?? { header, role: 'ignored', why: 'elevation: no readable value in it' };
      }),
    },
    notes: table.notes.all(),
  };
}

interface PickedColumn {
  readonly column: number;
  readonly unit?: string;
}

/** The best column for each role: the user's choice, else the highest score, else the first. */
function pickColumns(
  table: Table,
  choices: Choices | undefined,
  coordinates: readonly number[],
): ReadonlyMap<Role, PickedColumn> {
  const best = new Map<Role, PickedColumn & { score: number }>();
  table.headers.forEach((header, column) => {
    if (coordinates.includes(column)) return;
    const choice = choiceFor(choices, header);
    const named = yieldColumn(header);
    const role = choice ? roleOf(choice.role) : named?.role;
    if (!role) return;
    const score = choice ? Infinity : (named?.score ?? 0);
    const earlier = best.get(role);
    if (!earlier || score > earlier.score)
      best.set(role, {
        column,
        score,
        unit: choice?.unit ?? (named?.role === role ? named.unit : undefined),
      });
  });
  return best;
}

const YIELD_ROLES: readonly Role[] = ['yield', 'moisture', 'speed', 'time', 'elevation'];

const roleOf = (role: ColumnUse['role']): Role | undefined => YIELD_ROLES.find((r) => r === role);

function readNumbers(table: Table, column: number, hint: DecimalSign | undefined): Float64Array {
  const { decimal } = decideDecimal(columnCells(table, column), hint);
  return Float64Array.from(table.rows, (row) => {
    const cell = readCell(stripUnit(row[column] ?? ''), decimal);
    return cell.kind === 'number' ? cell.value : NaN;
  });
}

/** Yield cells carry units the soil-test reader doesn't know ("182 bu/ac"). */
const stripUnit = (text: string): string =>
  text.replace(/\s*(?:bu\s*\/\s*ac|t\s*\/\s*ha|mph|km\s*\/\s*h)\s*$/i, '');

function noteSetAside(table: Table, column: number, keep: Uint32Array, yields: Float64Array): void {
  let [notPositive, unreadable] = [0, 0];
  for (const row of keep) {
    if (yields[row] <= 0) notPositive++;
    else if (yields[row] !== yields[row]) unreadable++;
  }
  const header = table.headers[column];
  if (notPositive > 0)
    table.notes.add('not positive', {
      column: header,
      problem: `${notPositive} of ${keep.length} points have a yield of 0 or less and were set aside.`,
      remedy: 'Nothing to do: the header was up or the flow had not begun.',
    });
  if (unreadable > 0)
    table.notes.add('unreadable yield', {
      column: header,
      problem: `${unreadable} of ${keep.length} points have no readable yield and were set aside.`,
      remedy: 'Check the column if that is more than a few.',
    });
}

function noYield(table: Table): Problem {
  return {
    file: table.file,
    problem: `No yield column was found among: ${listHeaders(table.headers)}.`,
    remedy: 'Name it yield, for example “dry yield (bu/ac)”, or choose it by hand.',
  };
}

function useOf(
  table: Table,
  column: number,
  located: Located,
  columns: ReadonlyMap<Role, PickedColumn>,
  choices: Choices | undefined,
): ColumnUse {
  const header = table.headers[column];
  if (column === located.xColumn) return located.uses[0];
  if (column === located.yColumn) return located.uses[1];
  const chosen = choiceFor(choices, header) !== undefined;
  for (const [role, picked] of columns)
    if (picked.column === column)
      return { header, role, unit: picked.unit, why: chosen ? 'chosen by you' : `header names the ${role}` };
  const also = yieldColumn(header);
  const better = also && columns.get(also.role);
  const why = better ? `the ${also.role} is taken from ${table.headers[better.column]}` : 'not needed';
  return { header, role: 'ignored', why: chosen ? 'set aside by you' : why };
}
