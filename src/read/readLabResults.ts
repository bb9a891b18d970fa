import { listHeaders } from './coordinates.ts';
import { isProblem } from './fileText.ts';
import { findBagColumn, findLongForm, isLabNumber, type LongForm } from './labColumns.ts';
import { labChoiceFor, labSignature, type LabChoice, type LabMapping, type LabRole } from './labMapping.ts';
import { pivotLong, wideTable, type LabTable } from './labTable.ts';
import { decideDecimal, readCell, type Cell, type DecimalSign } from './number.ts';
import type { Problem, Read } from './problem.ts';
import { chosenAnalyte, recogniseAnalyte, unitFactor, type RecognisedAnalyte } from './recogniseAnalyte.ts';
import { columnCells, fileDecimal, readTable, type Table } from './table.ts';
import { unitLabel } from './unitText.ts';

/** What one column was taken for. */
export interface LabColumn {
  readonly header: string;
  readonly role: LabRole;
  /** For an analyte: catalogue id, or the header of one the catalogue doesn't know. */
  readonly analyte?: string;
  readonly label?: string;
  /** Unit of the values given back. */
  readonly unit?: string;
  /** Unit in the file; empty when unknown. */
  readonly fileUnit?: string;
  /** Whether the header or the user named the unit. */
  readonly unitNamed?: boolean;
  /** File unit to `unit`. */
  readonly factor?: number;
  /** Values outside can't be real. */
  readonly plausible?: readonly [low: number, high: number];
  readonly extractant?: string;
  readonly why: string;
}

/** One result. */
export interface LabValue {
  /** In the column's `unit`; the limit itself when `below` or `above`. */
  readonly value: number;
  /** The laboratory reported "less than", or "more than". */
  readonly below: boolean;
  readonly above: boolean;
  /** The cell as it stands, its 1-based row and its column's header. */
  readonly text: string;
  readonly row: number;
  readonly column: string;
  /** Cell to `value`; another than the column's when the cell names its own unit. */
  readonly factor: number;
  /** What the cell says if its one comma or point is read the other way ("3,125"), in `unit`. */
  readonly otherReading?: number;
}

/** Results of one bag. */
export interface LabRow {
  /** 1-based row in the file, the first of the bag's. */
  readonly row: number;
  /** The bag's number as the laboratory wrote it. */
  readonly bag: string;
  /** By analyte id. Impossible values are kept: `labChecks` speaks of them. */
  readonly values: Readonly<Record<string, LabValue>>;
}

/** A laboratory's results as read. */
export interface LabResults {
  readonly file: string;
  readonly rows: readonly LabRow[];
  readonly columns: readonly LabColumn[];
  /** How the columns were read: keep it, and give it with the same laboratory's next file. */
  readonly mapping: LabMapping;
}

/**
 * Reads a laboratory's results from delimited text: a row for each bag or a line for each test of each bag; columns and
 * units recognised by their headers, a row of units under them included.
 *
 * @param file name for messages
 * @param content bytes, or text already decoded
 * @param mapping how to read it, where that is known: one, with the user's corrections, is used for all headers it names; a
 * list of remembered ones is searched for this file's columns
 */
export function readLabResults(
  file: string,
  content: Uint8Array | string,
  mapping?: LabMapping | readonly LabMapping[],
): Read<LabResults> {
  const bytes = typeof content === 'string' ? new TextEncoder().encode(content) : content;
  const table = readTable(file, bytes);
  if (isProblem(table)) return { ok: false, problems: [table] };
  const signature = labSignature(table.headers);
  const remembered = isList(mapping);
  const known = isList(mapping) ? mapping.find((m) => m.signature === signature) : mapping;
  const stop = (problem: Omit<Problem, 'file'>): Read<LabResults> => ({
    ok: false,
    problems: [{ file, ...problem }, ...table.notes.all()],
  });

  const bag = findBag(table, known);
  if (bag === undefined)
    return stop({
      problem: `No column with bag numbers was recognised among: ${listHeaders(table.headers)}.`,
      remedy: 'Choose by hand which column holds what was written on the bags.',
    });
  const long = chosenLongForm(table, known) ?? findLongForm(table);
  const laid: LaidOut = long ? { ...pivotLong(table, bag, long), bag: 0 } : { ...wideTable(table), bag };
  noteMissingHeaders(table, laid, known);
  const columns = pickColumns(
    laid,
    known,
    remembered ? 'as in this laboratory’s earlier file' : 'chosen by you',
  );
  if (isProblem(columns)) return { ok: false, problems: [columns] };
  if (!columns.some((c) => c.role === 'analyte'))
    return stop({
      problem: `No soil measure was recognised among: ${listHeaders(laid.fullHeaders)}.`,
      remedy:
        'Choose by hand which column holds which test, or ask the laboratory for the results as a table (CSV).',
    });
  const rows = readRows(laid, columns);
  if (rows.length === 0)
    return stop({
      column: table.headers[bag],
      problem: 'No row has both a bag number and a result that can be read.',
      remedy: 'Choose by hand which column holds the bag numbers, or ask the laboratory for the table again.',
    });
  const choices = { ...(long && longChoices(table, long)), ...choicesOf(columns) };
  return {
    ok: true,
    value: { file, rows, columns, mapping: { signature, columns: choices } },
    notes: table.notes.all(),
  };
}

const isList = (mapping: LabMapping | readonly LabMapping[] | undefined): mapping is readonly LabMapping[] =>
  Array.isArray(mapping);

interface LaidOut extends LabTable {
  /** Column of the bags' numbers. */
  readonly bag: number;
}

const columnWith = (table: Table, mapping: LabMapping | undefined, role: LabRole): number =>
  table.headers.findIndex((h) => labChoiceFor(mapping, h)?.role === role);

/** The column chosen, else the one whose header says so and that has not been chosen for something else. */
function findBag(table: Table, mapping: LabMapping | undefined): number | undefined {
  const chosen = columnWith(table, mapping, 'bag');
  if (chosen >= 0) return chosen;
  const taken = new Set(
    table.headers.flatMap((header, column) => (labChoiceFor(mapping, header) ? [column] : [])),
  );
  return findBagColumn(table, taken);
}

function chosenLongForm(table: Table, mapping: LabMapping | undefined): LongForm | undefined {
  const [test, result] = [columnWith(table, mapping, 'test'), columnWith(table, mapping, 'result')];
  const unit = columnWith(table, mapping, 'unit');
  return test < 0 || result < 0 ? undefined : { test, result, ...(unit >= 0 && { unit }) };
}

const longChoices = (table: Table, { test, result, unit }: LongForm): Record<string, LabChoice> => ({
  [table.headers[test]]: { role: 'test' },
  [table.headers[result]]: { role: 'result' },
  ...(unit !== undefined && { [table.headers[unit]]: { role: 'unit' } }),
});

const choicesOf = (columns: readonly LabColumn[]): Record<string, LabChoice> =>
  Object.fromEntries(
    columns.map(({ header, role, analyte, fileUnit }) => [
      header,
      { role, ...(analyte !== undefined && { analyte }), ...(fileUnit && { unit: fileUnit }) },
    ]),
  );

/** A column that a mapping speaks of and that this file lacks should not pass in silence, unless it was passed over anyway. */
function noteMissingHeaders(table: Table, laid: LaidOut, mapping: LabMapping | undefined): void {
  const headers = new Set([...table.headers, ...laid.table.headers].map((h) => h.trim().toLowerCase()));
  for (const [header, { role }] of Object.entries(mapping?.columns ?? {}))
    if (role !== 'ignored' && role !== 'lab number' && !headers.has(header.trim().toLowerCase()))
      table.notes.add('missing header', {
        column: header,
        problem: 'The file has no column of this name, so what is known of it was not used.',
        remedy: `The columns are: ${listHeaders(table.headers)}.`,
      });
}

/** Each column's part: the mapping's first, else what its header says; one column for each analyte. */
function pickColumns(
  laid: LaidOut,
  mapping: LabMapping | undefined,
  whyMapped: string,
): readonly LabColumn[] | Problem {
  const { table, fullHeaders, bag } = laid;
  const picked = new Map<number, RecognisedAnalyte>();
  const columnOf = new Map<string, number>();
  for (const [column, header] of table.headers.entries()) {
    const choice = labChoiceFor(mapping, header);
    if (column === bag || choice?.role !== 'analyte') continue;
    const analyte = chosenAnalyte(fullHeaders[column], choice.analyte, choice.unit);
    if (typeof analyte === 'string')
      return { file: table.file, column: header, problem: analyte, remedy: 'Choose one of those units.' };
    const earlier = columnOf.get(analyte.id);
    if (earlier !== undefined)
      return {
        file: table.file,
        column: header,
        problem: `${analyte.label} was chosen for two columns, ${table.headers[earlier]} and ${header}.`,
        remedy: 'Choose one of them and ignore the other.',
      };
    picked.set(column, { ...analyte, why: whyMapped });
    columnOf.set(analyte.id, column);
  }
  return table.headers.map((header, column): LabColumn => {
    if (column === bag)
      return {
        header,
        role: 'bag',
        why: columnIsChosen(mapping, header) ? whyMapped : 'header names the bags',
      };
    const chosen = picked.get(column);
    if (chosen) return analyteColumn(header, chosen);
    const choice = labChoiceFor(mapping, header);
    if (choice) return { header, role: choice.role, why: whyMapped };
    if (isLabNumber(header)) return { header, role: 'lab number', why: 'the laboratory’s own number' };
    const found = recogniseAnalyte(fullHeaders[column]);
    if (found.kind === 'ignored') return { header, role: 'ignored', why: found.why };
    const earlier = columnOf.get(found.id);
    if (earlier !== undefined)
      return {
        header,
        role: 'ignored',
        why: `${found.label} is taken from ${table.headers[earlier]}; choose this column instead if it is the better one`,
      };
    if (!hasNumber(table, column))
      return { header, role: 'ignored', why: `${found.label}: no readable value in it` };
    columnOf.set(found.id, column);
    return analyteColumn(header, found);
  });
}

const columnIsChosen = (mapping: LabMapping | undefined, header: string): boolean =>
  labChoiceFor(mapping, header)?.role === 'bag';

const analyteColumn = (header: string, analyte: RecognisedAnalyte): LabColumn => ({
  header,
  role: 'analyte',
  analyte: analyte.id,
  label: analyte.label,
  unit: analyte.unit,
  fileUnit: analyte.fileUnit,
  unitNamed: analyte.unitNamed,
  factor: analyte.factor,
  plausible: analyte.plausible,
  ...(analyte.extractant && { extractant: analyte.extractant }),
  why: analyte.why,
});

function hasNumber(table: Table, column: number): boolean {
  for (const cell of columnCells(table, column))
    if (['number', 'below', 'above'].includes(readCell(cell, 'point').kind)) return true;
  return false;
}

/** Lines that sum the table up. */
const SUMMARY =
  /^(?:average|avg\.?|mean|median|min\.?|minimum|max\.?|maximum|total|sum|std\.?|st\.?\s*dev\.?|cv|count)$/i;

function readRows(laid: LaidOut, columns: readonly LabColumn[]): LabRow[] {
  const { table, bag, rowOf } = laid;
  const hint = fileDecimal(table);
  const read = columns.map((column, i) =>
    column.role === 'analyte' ? readColumn(laid, i, column, hint) : undefined,
  );
  const rows: LabRow[] = [];
  table.rows.forEach((cells, i) => {
    const text = (cells[bag] ?? '').trim();
    const values = Object.fromEntries(
      read.flatMap((column, c) => {
        const value = column?.[i];
        return value ? [[columns[c].analyte ?? '', value] as const] : [];
      }),
    );
    const at = { row: rowOf(i, bag), column: table.headers[bag] };
    if (SUMMARY.test(text))
      table.notes.add('summary', {
        ...at,
        problem: `“${text}” sums up the table and is no bag; the row was set aside.`,
        remedy: 'Nothing to do if that is so.',
      });
    else if (text === '' && Object.keys(values).length > 0)
      table.notes.add('no bag', {
        ...at,
        problem: 'The row has results but no bag number; it was set aside.',
        remedy: 'Ask the laboratory which bag it is, and fill it in.',
      });
    else if (text !== '' && Object.keys(values).length === 0)
      table.notes.add('no result', {
        ...at,
        problem: `Bag ${text} has no result that can be read; it was set aside.`,
        remedy: 'Ask the laboratory whether it is still to come.',
      });
    else if (text !== '') rows.push({ row: at.row, bag: text, values });
  });
  return rows;
}

/** One analyte's results by row; unreadable cells are left out with a note. */
function readColumn(
  { table, rowOf }: LaidOut,
  column: number,
  use: LabColumn,
  hint: DecimalSign | undefined,
): (LabValue | undefined)[] {
  const { header, analyte = header, label = header, fileUnit, factor: usual = 1 } = use;
  const { decimal } = decideDecimal(columnCells(table, column), hint);
  const values = table.rows.map((cells, i): LabValue | undefined => {
    const text = (cells[column] ?? '').trim();
    const cell = readCell(text, decimal);
    if (cell.kind === 'missing') return undefined;
    const at = { row: rowOf(i, column), column: header };
    const factor = cell.kind === 'bad' ? undefined : factorOf(cell, analyte, fileUnit, usual);
    if (cell.kind === 'bad' || factor === undefined) {
      table.notes.add(`unreadable ${header}`, {
        ...at,
        problem: `“${text}” ${cell.kind === 'bad' ? 'is not a number' : `has a unit that ${label} can’t be in`}; this result was left out.`,
        remedy: 'Correct the cell, or ask the laboratory.',
      });
      return undefined;
    }
    const number = cell.kind === 'number' ? cell.value : cell.limit;
    const other = readCell(text, decimal === 'point' ? 'comma' : 'point');
    const otherNumber = other.kind === 'number' ? other.value : undefined;
    return {
      value: number * factor,
      below: cell.kind === 'below',
      above: cell.kind === 'above',
      text,
      ...at,
      factor,
      ...(otherNumber !== undefined && otherNumber !== number && { otherReading: otherNumber * factor }),
    };
  });
  return withLimits(table, header, values);
}

/** Factor to the inside unit for a cell, which may name its own unit; undefined for a unit that doesn't fit. */
function factorOf(
  cell: Exclude<Cell, { kind: 'bad' | 'missing' }>,
  analyte: string,
  fileUnit: string | undefined,
  usual: number,
): number | undefined {
  if (cell.unit === undefined || unitLabel(cell.unit, cell.oxide) === fileUnit) return usual;
  return unitFactor(analyte, cell.unit, cell.oxide);
}

/** "ND" says no limit: the column's smallest stated limit stands for it, else its smallest value above 0. */
function withLimits(
  table: Table,
  header: string,
  values: readonly (LabValue | undefined)[],
): (LabValue | undefined)[] {
  const unknown = values.filter((v) => v?.below && Number.isNaN(v.value));
  if (unknown.length === 0) return [...values];
  const stated = values.flatMap((v) => (v?.below && !Number.isNaN(v.value) ? [v.value] : []));
  const measured = values.flatMap((v) => (v && !v.below && v.value > 0 ? [v.value] : []));
  const stand = Math.min(...(stated.length > 0 ? stated : measured));
  const found = Number.isFinite(stand);
  table.notes.add(`limit ${header}`, {
    row: unknown[0]?.row,
    column: header,
    problem: found
      ? `${unknown.length} ${unknown.length === 1 ? 'result is' : 'results are'} below detection without a limit; ${Number(stand.toPrecision(4))} was taken as the limit.`
      : 'All results are below detection and no limit is given; they were left out.',
    remedy: 'Ask the laboratory for its limit and write it, for example <5.',
  });
  return values.map((v) =>
    v?.below && Number.isNaN(v.value) ? (found ? { ...v, value: stand } : undefined) : v,
  );
}
