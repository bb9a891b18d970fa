import { readAngle } from './angle.ts';
import { coordinateName, type CoordinateName } from './columns.ts';
import { decideDecimal, type DecimalSign } from './number.ts';
import type { Problem } from './problem.ts';
import type { ColumnChoice, ColumnUse, CoordinateKind } from './records.ts';
import { columnCells, fileDecimal, type Table } from './table.ts';
import { M_PER_FOOT, M_PER_US_SURVEY_FOOT } from '../units/index.ts';
import { isDegrees, spanIsTooWideForDegrees } from './coordinateKind.ts';

/** A table's coordinates: which columns, which kind, and the rows that have both. */
export interface Located {
  readonly kind: CoordinateKind;
  readonly xColumn: number;
  readonly yColumn: number;
  /** Indices into `table.rows` of the rows with readable coordinates. */
  readonly keep: Uint32Array;
  /** x0, y0, x1, y1, … of the rows kept. */
  readonly world: Float64Array;
  readonly uses: readonly [x: ColumnUse, y: ColumnUse];
}

/** The user's corrections, by header in any case. */
export type Choices = Readonly<Record<string, ColumnChoice>>;

/** The user's choice for a header, if there is one. */
export function choiceFor(choices: Choices | undefined, header: string): ColumnChoice | undefined {
  const wanted = header.trim().toLowerCase();
  const key = Object.keys(choices ?? {}).find((k) => k.trim().toLowerCase() === wanted);
  return key === undefined ? undefined : choices?.[key];
}

/** Notes choices whose header the file doesn't have: a slip of spelling should not pass in silence. */
export function noteUnknownChoices(table: Table, choices: Choices | undefined): void {
  const headers = new Set(table.headers.map((h) => h.trim().toLowerCase()));
  for (const key of Object.keys(choices ?? {}))
    if (!headers.has(key.trim().toLowerCase()))
      table.notes.add('unknown choice', {
        column: key,
        problem: 'The file has no column of this name, so the correction was not used.',
        remedy: `The columns are: ${listHeaders(table.headers)}.`,
      });
}

/** Headers in a sentence, the first thirty at most. */
export function listHeaders(headers: readonly string[]): string {
  const shown = headers.slice(0, 30).join(', ');
  return headers.length > 30 ? `${shown} and ${headers.length - 30} more` : shown;
}

/**
 * Finds and reads the coordinate columns.
 * Rows without a readable coordinate are left out with a note; latitude and longitude under each other's header
 * are put right with a note; feet become metres.
 */
export function locate(table: Table, choices?: Choices): Located | Problem {
  const found = findColumns(table, choices);
  if (!found)
    return {
      file: table.file,
      problem: `No coordinate columns were found among: ${listHeaders(table.headers)}.`,
      remedy:
        'Name them longitude and latitude (degrees), or easting and northing or x and y (metres), or say which columns they are.',
    };
  let { x, y } = found;
  const hint = fileDecimal(table);
  let xs = readAxis(table, x, hint);
  let ys = readAxis(table, y, hint);
  const readable = countReadable(xs, ys);
  if (readable === 0)
    return {
      file: table.file,
      problem: `No row has readable coordinates in ${table.headers[x.index]} and ${table.headers[y.index]}.`,
      remedy: 'Give decimal degrees such as -93.1042 and 41.5203, or metres.',
    };
  if (areSwapped(x.name, y.name, xs, ys)) {
    [x, y] = [
      { ...y, name: x.name },
      { ...x, name: y.name },
    ];
    [xs, ys] = [ys, xs];
    table.notes.add('swapped', {
      column: table.headers[x.index],
      problem: 'Longitude and latitude stand under each other’s header; they were swapped back.',
      remedy: 'Correct the headers in the file.',
    });
  }
  const { kind, why } = decideKind(table, x.name, y.name, xs, ys);
  if (kind === 'projected') toMetres(table, x.name.lengthUnit ?? y.name.lengthUnit, xs, ys);
  const keep = keepReadable(table, kind, xs, ys, x.index, y.index);
  if (keep.length === 0)
    return {
      file: table.file,
      problem: 'No row has coordinates that can be used.',
      remedy: 'Give decimal degrees such as -93.1042 and 41.5203, or metres.',
    };
  const world = new Float64Array(2 * keep.length);
  keep.forEach((row, i) => {
    world[2 * i] = xs[row];
    world[2 * i + 1] = ys[row];
  });
  const use = (role: 'x' | 'y', index: number): ColumnUse => ({
    header: table.headers[index],
    role,
    unit: kind === 'lonlat' ? 'degrees' : 'm',
    why: choiceFor(choices, table.headers[index]) ? 'chosen by you' : why,
  });
  return {
    kind,
    xColumn: x.index,
    yColumn: y.index,
    keep,
    world,
    uses: [use('x', x.index), use('y', y.index)],
  };
}

interface AxisColumn {
  readonly index: number;
  readonly name: CoordinateName;
}

function findColumns(table: Table, choices?: Choices): { x: AxisColumn; y: AxisColumn } | undefined {
  const chosen: Partial<Record<'x' | 'y', AxisColumn>> = {};
  const byRank: Record<'x' | 'y', AxisColumn[]> = { x: [], y: [] };
  table.headers.forEach((header, index) => {
    const choice = choiceFor(choices, header);
    const name = coordinateName(header);
    if (choice?.role === 'x' || choice?.role === 'y') {
      const axis = choice.role;
      // A choice against the header's own name (lat chosen as x) says that the header is not to be trusted.
      const trusted = name?.axis === axis ? name : { axis, sense: 'plain' as const, rank: 0 };
      chosen[axis] = { index, name: trusted };
    } else if (!choice && name) byRank[name.axis].push({ index, name });
  });
  if (chosen.x && chosen.y) return { x: chosen.x, y: chosen.y };
  // Both columns are to be of one sense (longitude with latitude, not with northing), the surest first.
  for (const x of chosen.x ? [chosen.x] : byRank.x.sort(bySureness)) {
    const partner =
      chosen.y ?? byRank.y.sort(bySureness).find((y) => chosen.x || y.name.sense === x.name.sense);
    if (partner) return { x, y: partner };
  }
  return undefined;
}

const bySureness = (a: AxisColumn, b: AxisColumn): number => a.name.rank - b.name.rank || a.index - b.index;

function readAxis(table: Table, { index, name }: AxisColumn, hint: DecimalSign | undefined): Float64Array {
  const choice = decideDecimal(columnCells(table, index), hint);
  // Degrees never reach thousands: whichever separator they have stands before the decimals.
  const degrees = name.sense === 'degrees' && choice.from !== 'own';
  const decimal = degrees
    ? decideDecimal(columnCells(table, index)).open
      ? 'comma'
      : 'point'
    : choice.decimal;
  return Float64Array.from(table.rows, (row) => readAngle(row[index] ?? '', decimal));
}

function countReadable(xs: Float64Array, ys: Float64Array): number {
  let n = 0;
  for (let i = 0; i < xs.length; i++) if (xs[i] === xs[i] && ys[i] === ys[i]) n++;
  return n;
}

/** Share of the readable pairs for which a test holds. */
function shareOf(xs: Float64Array, ys: Float64Array, test: (x: number, y: number) => boolean): number {
  let [n, yes] = [0, 0];
  for (let i = 0; i < xs.length; i++) {
    if (xs[i] !== xs[i] || ys[i] !== ys[i]) continue;
    n++;
    if (test(xs[i], ys[i])) yes++;
  }
  return n === 0 ? 0 : yes / n;
}

/** A few wild rows don't change what the column is. */
const MOST = 0.9;
/** In units of the file. A "projected" set of points within this is degrees in the wrong order. */
const TINY_SPAN = 2;

function areSwapped(
  xName: CoordinateName,
  yName: CoordinateName,
  xs: Float64Array,
  ys: Float64Array,
): boolean {
  if (xName.sense === 'metres' || yName.sense === 'metres') return false;
  const reversed =
    shareOf(xs, ys, (x, y) => Math.abs(y) > 90 && Math.abs(y) <= 180 && Math.abs(x) <= 90) >= MOST;
  if (!reversed) return false;
  if (xName.sense === 'degrees' && yName.sense === 'degrees') return true;
  // Plain x and y may be metres of a local grid: only points all within a few units can't be.
  return xs.length >= 3 && span(xs) < TINY_SPAN && span(ys) < TINY_SPAN;
}

/** Extent of the middle nine tenths of the readable values, so that a wild row or a row at 0, 0 does not stretch it. */
function span(values: Float64Array): number {
  const sorted = values.filter((v) => v === v).sort();
  const cut = Math.floor(sorted.length / 20);
  return sorted.length === 0 ? 0 : sorted[sorted.length - 1 - cut] - sorted[cut];
}

function decideKind(
  table: Table,
  x: CoordinateName,
  y: CoordinateName,
  xs: Float64Array,
  ys: Float64Array,
): { kind: CoordinateKind; why: string } {
  const promised = x.sense === 'metres' || y.sense === 'metres' ? 'metres' : x.sense;
  if (promised === 'metres') return { kind: 'projected', why: 'header names a map grid; metres' };
  const inRange = shareOf(xs, ys, isDegrees) >= MOST;
  if (promised === 'degrees') {
    if (inRange) return { kind: 'lonlat', why: 'header names degrees and the values fit' };
    table.notes.add('not degrees', {
      problem:
        'The headers say longitude and latitude but the values go beyond 180 and 90; they were taken as metres.',
      remedy: 'Check the columns, or name them easting and northing.',
    });
    return { kind: 'projected', why: 'values go beyond degrees; taken as metres' };
  }
  if (inRange && spanIsTooWideForDegrees(span(xs), span(ys)))
    return {
      kind: 'projected',
      why: 'as degrees the points would span hundreds of kilometres; taken as metres',
    };
  return inRange
    ? { kind: 'lonlat', why: 'values within 180 and 90: taken as degrees' }
    : { kind: 'projected', why: 'values go beyond degrees; taken as metres' };
}

function toMetres(
  table: Table,
  unit: CoordinateName['lengthUnit'],
  xs: Float64Array,
  ys: Float64Array,
): void {
  if (unit === undefined) return;
  const factor = unit === 'us-ft' ? M_PER_US_SURVEY_FOOT : M_PER_FOOT;
  for (let i = 0; i < xs.length; i++) {
    xs[i] *= factor;
    ys[i] *= factor;
  }
  table.notes.add('feet', {
    problem: 'The headers say feet; coordinates were turned into metres.',
    remedy: 'Nothing to do if that is so.',
  });
}

function keepReadable(
  table: Table,
  kind: CoordinateKind,
  xs: Float64Array,
  ys: Float64Array,
  xColumn: number,
  yColumn: number,
): Uint32Array {
  const keep: number[] = [];
  for (let i = 0; i < xs.length; i++) {
    const bad = xs[i] !== xs[i] ? xColumn : ys[i] !== ys[i] ? yColumn : -1;
    if (bad >= 0) {
      const text = (table.rows[i][bad] ?? '').trim();
      table.notes.add('unreadable coordinate', {
        row: table.rowNumbers[i],
        column: table.headers[bad],
        problem: `${text === '' ? 'The coordinate is missing' : `“${text}” is not a coordinate`}; the row was set aside.`,
        remedy: 'Fill in or correct the coordinate.',
      });
    } else if (kind === 'lonlat' && !isDegrees(xs[i], ys[i]))
      table.notes.add('off the globe', {
        row: table.rowNumbers[i],
        column: table.headers[Math.abs(ys[i]) > 90 ? yColumn : xColumn],
        problem: `${xs[i]}, ${ys[i]} is not a longitude and latitude; the row was set aside.`,
        remedy: 'Correct the coordinate.',
      });
    else if (kind === 'lonlat' && xs[i] === 0 && ys[i] === 0)
      table.notes.add('no fix', {
        row: table.rowNumbers[i],
        column: table.headers[xColumn],
        problem:
          'Longitude and latitude are both 0, which a receiver writes when it has no position; the row was set aside.',
        remedy: 'Fill in the coordinate.',
      });
    else keep.push(i);
  }
  return Uint32Array.from(keep);
}
