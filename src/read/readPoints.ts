import { readAnalyteColumn } from './analyteColumn.ts';
import { labelRank } from './columns.ts';
import { choiceFor, listHeaders, locate, noteUnknownChoices, type Choices } from './coordinates.ts';
import { elevationName, readElevations } from './elevation.ts';
import { decodeText, isProblem } from './fileText.ts';
import { parseHeader } from './header.ts';
import { readCell } from './number.ts';
import { tableFromPointGeoJson } from './pointGeoJson.ts';
import type { Problem, Read } from './problem.ts';
import { chosenAnalyte, recogniseAnalyte, type RecognisedAnalyte } from './recogniseAnalyte.ts';
import type { AnalyteColumn, ColumnUse, PointTable } from './records.ts';
import { columnCells, fileDecimal, readTable, type Table } from './table.ts';

/** How a table is to be read. */
export interface ReadTableOptions {
  /** The user's corrections by header, in any case. */
  readonly columns?: Choices;
}

/**
 * Reads soil-test points from delimited text or a GeoJSON FeatureCollection of points.
 * Rows and values that can't be used are set aside with notes; `ok: false` only when nothing is left to work with.
 *
 * @param file name for messages
 */
export function readPoints(
  file: string,
  bytes: Uint8Array,
  options: ReadTableOptions = {},
): Read<PointTable> {
  const table = looksLikeJson(bytes) ? jsonTable(file, bytes) : readTable(file, bytes);
  if (isProblem(table)) return { ok: false, problems: [table] };
  const choices = options.columns;
  noteUnknownChoices(table, choices);
  const located = locate(table, choices);
  if (isProblem(located)) return { ok: false, problems: [located, ...table.notes.all()] };
  const { keep, world, kind, xColumn, yColumn } = located;
  const labelColumn = findLabel(table, choices, [xColumn, yColumn]);
  const taken = new Set([xColumn, yColumn]);
  if (labelColumn !== undefined) taken.add(labelColumn);
  const heightColumn = findElevation(table, choices, taken);
  if (heightColumn !== undefined) taken.add(heightColumn);
  const picked = pickAnalytes(table, choices, taken);
  if (isProblem(picked)) return { ok: false, problems: [picked] };

  const hint = fileDecimal(table);
  const elevation =
    heightColumn === undefined
      ? undefined
      : readElevations(table, heightColumn, choiceFor(choices, table.headers[heightColumn]), keep, hint);
  if (elevation && isProblem(elevation)) return { ok: false, problems: [elevation] };
  const analytes: AnalyteColumn[] = [];
  const uses: ColumnUse[] = [];
  table.headers.forEach((header, column) => {
    const analyte = picked.analytes.get(column);
    if (column === xColumn) uses.push(located.uses[0]);
    else if (column === yColumn) uses.push(located.uses[1]);
    else if (column === labelColumn)
      uses.push({
        header,
        role: 'label',
        why: choiceFor(choices, header) ? 'chosen by you' : 'header names the samples',
      });
    else if (column === heightColumn)
      uses.push(elevation?.use ?? { header, role: 'ignored', why: 'elevation: no readable value in it' });
    else if (!analyte) uses.push({ header, role: 'ignored', why: picked.ignored.get(column) ?? 'not used' });
    else {
      const values = readAnalyteColumn(table, column, analyte, keep, hint);
      if (values) {
        analytes.push(values);
        uses.push({
          header,
          role: 'analyte',
          analyte: analyte.id,
          unit: analyte.fileUnit || undefined,
          why: analyte.why,
        });
      } else uses.push({ header, role: 'ignored', why: `${analyte.label}: no readable value in it` });
    }
  });
  if (analytes.length === 0)
    return {
      ok: false,
      problems: [
        {
          file,
          problem: `No soil measure was recognised among: ${listHeaders(table.headers)}.`,
          remedy: 'Name the columns P, K, pH, OM and so on, or choose by hand what each column is.',
        },
        ...table.notes.all(),
      ],
    };
  return {
    ok: true,
    value: {
      file,
      kind,
      world,
      labels: Array.from(
        keep,
        (row, i) =>
          (labelColumn === undefined ? '' : (table.rows[row][labelColumn] ?? '').trim()) || String(i + 1),
      ),
      rows: Uint32Array.from(keep, (row) => table.rowNumbers[row]),
      analytes: inCatalogueOrder(analytes),
      elevations: elevation?.values,
      columns: uses,
    },
    notes: table.notes.all(),
  };
}

function looksLikeJson(bytes: Uint8Array): boolean {
  const start = new TextDecoder()
    .decode(bytes.subarray(0, 64))
    .replace(/^\ufeff/, '')
    .trimStart();
  return start.startsWith('{') || start.startsWith('[');
}

function jsonTable(file: string, bytes: Uint8Array): Table | Problem {
  const decoded = decodeText(file, bytes);
  return isProblem(decoded) ? decoded : tableFromPointGeoJson(file, decoded.text.replace(/^\ufeff/, ''));
}

function findLabel(
  table: Table,
  choices: Choices | undefined,
  coordinates: readonly number[],
): number | undefined {
  let best: { column: number; rank: number } | undefined;
  table.headers.forEach((header, column) => {
    if (coordinates.includes(column)) return;
    const choice = choiceFor(choices, header);
    const rank = choice ? (choice.role === 'label' ? -1 : undefined) : labelRank(header);
    if (rank !== undefined && (best === undefined || rank < best.rank)) best = { column, rank };
  });
  return best?.column;
}

/** The user's choice, else the surest name that the user has not taken for something else. */
function findElevation(
  table: Table,
  choices: Choices | undefined,
  taken: ReadonlySet<number>,
): number | undefined {
  let best: { column: number; rank: number } | undefined;
  table.headers.forEach((header, column) => {
    if (taken.has(column)) return;
    const choice = choiceFor(choices, header);
    const rank = choice ? (choice.role === 'elevation' ? -1 : undefined) : elevationName(header)?.rank;
    if (rank !== undefined && (best === undefined || rank < best.rank)) best = { column, rank };
  });
  return best?.column;
}

interface Picked {
  readonly analytes: ReadonlyMap<number, RecognisedAnalyte>;
  readonly ignored: ReadonlyMap<number, string>;
}

/** One column for each analyte: the user's choice first, else the first column that names it. */
function pickAnalytes(
  table: Table,
  choices: Choices | undefined,
  taken: ReadonlySet<number>,
): Picked | Problem {
  const analytes = new Map<number, RecognisedAnalyte>();
  const ignored = new Map<number, string>();
  const columnOf = new Map<string, number>();
  for (const [column, header] of table.headers.entries()) {
    const choice = choiceFor(choices, header);
    if (taken.has(column) || choice?.role !== 'analyte') continue;
    const chosen = chosenAnalyte(header, choice.analyte, choice.unit);
    if (typeof chosen === 'string')
      return { file: table.file, column: header, problem: chosen, remedy: 'Choose one of those units.' };
    const earlier = columnOf.get(chosen.id);
    if (earlier !== undefined)
      return {
        file: table.file,
        column: header,
        problem: `${chosen.label} was chosen for two columns, ${table.headers[earlier]} and ${header}.`,
        remedy: 'Choose one of them and ignore the other.',
      };
    analytes.set(column, chosen);
    columnOf.set(chosen.id, column);
  }
  for (const [column, header] of table.headers.entries()) {
    if (taken.has(column) || analytes.has(column)) continue;
    if (choiceFor(choices, header)) {
      ignored.set(column, 'set aside by you');
      continue;
    }
    const found = recogniseAnalyte(header);
    if (found.kind === 'ignored') {
      ignored.set(column, found.why);
      continue;
    }
    const earlier = columnOf.get(found.id);
    if (earlier !== undefined) {
      ignored.set(
        column,
        `${found.label} is taken from ${table.headers[earlier]}; choose this column instead if it is the better one`,
      );
      continue;
    }
    if (!hasNumber(table, column)) {
      ignored.set(column, `${found.label}: no readable value in it`);
      continue;
    }
    analytes.set(column, found);
    columnOf.set(found.id, column);
  }
  return { analytes: nameWeakBray(table, analytes), ignored };
}

function hasNumber(table: Table, column: number): boolean {
  for (const cell of columnCells(table, column)) {
    const { kind } = readCell(cell, 'point');
    if (kind === 'number' || kind === 'below' || kind === 'above') return true;
  }
  return false;
}

/**
 * Laboratories call the weak Bray test "P1" (common practice, no source); but in a table whose other measures
 * end in 1 too (OM1, PH1), the 1 is a layer.
 */
function nameWeakBray(
  table: Table,
  analytes: ReadonlyMap<number, RecognisedAnalyte>,
): ReadonlyMap<number, RecognisedAnalyte> {
  const columns = [...analytes.keys()];
  const endsIn1 = columns.filter((c) => parseHeader(table.headers[c]).suffix === 1);
  const only = endsIn1.length === 1 ? endsIn1[0] : undefined;
  const found = only === undefined ? undefined : analytes.get(only);
  if (
    only === undefined ||
    found?.id !== 'P' ||
    found.extractant ||
    !/^p[\s_-]*1\b/i.test(table.headers[only])
  )
    return analytes;
  return new Map(analytes).set(only, {
    ...found,
    extractant: 'Bray-P1',
    why: `${found.why}; P1 is the weak Bray test`,
  });
}

const CATALOGUE_FIRST = ['P', 'K', 'pH', 'bufferPH', 'OM', 'CEC'];

/** The usual six first, the others as in the file. */
function inCatalogueOrder(analytes: readonly AnalyteColumn[]): AnalyteColumn[] {
  const place = (a: AnalyteColumn): number => {
    const at = CATALOGUE_FIRST.indexOf(a.id);
    return at < 0 ? CATALOGUE_FIRST.length : at;
  };
  return [...analytes].sort((a, b) => place(a) - place(b));
}
