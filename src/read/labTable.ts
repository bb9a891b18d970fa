import type { LongForm } from './labColumns.ts';
import { readCell } from './number.ts';
import type { Table } from './table.ts';
import { findUnit } from './unitText.ts';

/** A laboratory's results with a row for each bag and a column for each test. */
export interface LabTable {
  readonly table: Table;
  /** What each column's name and unit are read from; the header itself, with the unit of a row of units behind it. */
  readonly fullHeaders: readonly string[];
  /** 1-based row in the file of a cell. */
  readonly rowOf: (row: number, column: number) => number;
}

/** A file that is laid out by bag already; a row of units under the headers is taken into them. */
export function wideTable(table: Table): LabTable {
  const units = table.rows.length > 1 ? unitRow(table.rows[0]) : undefined;
  if (!units) return { table, fullHeaders: table.headers, rowOf: (row) => table.rowNumbers[row] };
  const rest: Table = { ...table, rows: table.rows.slice(1), rowNumbers: table.rowNumbers.subarray(1) };
  return {
    table: rest,
    fullHeaders: table.headers.map((header, column) =>
      units[column] ? `${header} (${units[column]})` : header,
    ),
    rowOf: (row) => rest.rowNumbers[row],
  };
}

/** The units of a row that holds no number and at least two units; undefined when it is an ordinary row. */
function unitRow(cells: readonly string[]): readonly string[] | undefined {
  if (cells.some((cell) => ['number', 'below', 'above'].includes(readCell(cell, 'point').kind)))
    return undefined;
  const units = cells.map((cell) => {
    const { unit, rest } = findUnit(cell);
    return unit && /^[()[\]\s]*$/.test(rest) ? cell.replace(/[()[\]]/g, '').trim() : '';
  });
  return units.filter(Boolean).length >= 2 ? units : undefined;
}

/**
 * A line for each test turned into a row for each bag: a column for each test and unit. Tests that come twice for a bag
 * open a second row of that bag.
 */
export function pivotLong(table: Table, bag: number, { test, result, unit }: LongForm): LabTable {
  const headers = [table.headers[bag]];
  const columnOf = new Map<string, number>();
  interface Record {
    readonly cells: string[];
    readonly rows: number[];
  }
  const records: Record[] = [];
  const ofBag = new Map<string, Record[]>();
  table.rows.forEach((row, i) => {
    const name = (row[test] ?? '').trim();
    if (name === '') return;
    const unitText = unit === undefined ? '' : (row[unit] ?? '').trim();
    const header = unitText === '' ? name : `${name} (${unitText})`;
    const column = columnOf.get(header) ?? headers.push(header) - 1;
    columnOf.set(header, column);
    const bagText = (row[bag] ?? '').trim();
    const own = ofBag.get(bagText) ?? [];
    let record = own.find((r) => r.cells[column] === undefined);
    if (!record) {
      record = { cells: [bagText], rows: [table.rowNumbers[i]] };
      own.push(record);
      records.push(record);
      ofBag.set(bagText, own);
    }
    record.cells[column] = row[result] ?? '';
    record.rows[column] = table.rowNumbers[i];
  });
  return {
    table: {
      ...table,
      headers,
      rows: records.map((r) => Array.from(headers, (_, column) => r.cells[column] ?? '')),
      rowNumbers: Uint32Array.from(records, (r) => r.rows[0]),
    },
    fullHeaders: headers,
    rowOf: (row, column) => records[row].rows[column] ?? records[row].rows[0],
  };
}
