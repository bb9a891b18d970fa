import { decideDecimal, readCell, type Cell, type DecimalSign } from './number.ts';
import { unitFactor, type RecognisedAnalyte } from './recogniseAnalyte.ts';
import type { AnalyteColumn } from './records.ts';
import { unitLabel } from './unitText.ts';
import { columnCells, type Table } from './table.ts';

/**
 * Reads one analyte's column for the rows kept, in the analyte's inside unit.
 * Unreadable and impossible values become NaN with a note; "<5" keeps 5 and is flagged; undefined when the column
 * holds no readable value at all.
 * @param hint decimal sign of the file's other columns
 */
export function readAnalyteColumn(
  table: Table,
  column: number,
  analyte: RecognisedAnalyte,
  keep: Uint32Array,
  hint: DecimalSign | undefined,
): AnalyteColumn | undefined {
  const header = table.headers[column];
  const { decimal, from, open } = decideDecimal(columnCells(table, column), hint);
  if (open !== undefined) noteOpenNumber(table, header, open, decimal, from);
  const values = new Float64Array(keep.length).fill(NaN);
  const belowDetection = new Uint8Array(keep.length);
  let zeros = 0;
  keep.forEach((row, i) => {
    const text = table.rows[row][column] ?? '';
    const cell = readCell(text, decimal);
    const value = toInside(cell, analyte);
    if (cell.kind === 'missing') return;
    const at = { row: table.rowNumbers[row], column: header };
    if (value === undefined) {
      const why = cell.kind === 'bad' ? 'is not a number' : `has a unit that ${analyte.label} can’t be in`;
      table.notes.add(`unreadable ${header}`, {
        ...at,
        problem: `“${text.trim()}” ${why}; this value was left out.`,
        remedy: 'Correct the value or leave it empty.',
      });
      return;
    }
    if (cell.kind === 'below') belowDetection[i] = 1;
    if (cell.kind === 'above')
      table.notes.add(`above ${header}`, {
        ...at,
        problem: `“${text.trim()}” is above the laboratory’s upper limit; the limit was taken.`,
        remedy: 'The spread of this analyte will come out a little too small.',
      });
    if (cell.kind !== 'below' && isImpossible(value, analyte)) {
      const fix = likelyMeant(value, analyte);
      table.notes.add(`impossible ${header}`, {
        ...at,
        problem: `${analyte.label} ${text.trim()} can’t be real${fix === undefined ? '' : `, probably ${fix}`}; this value was left out.`,
        remedy: 'Correct the file.',
      });
      return;
    }
    values[i] = value;
    if (value === 0) zeros++;
  });
  fillUnknownLimits(table, header, values, belowDetection);
  if (values.every((v) => v !== v)) return undefined;
  if (zeros > 0)
    table.notes.add(`zero ${header}`, {
      column: header,
      problem: `${zeros} ${zeros === 1 ? 'value is' : 'values are'} exactly 0 and ${zeros === 1 ? 'was' : 'were'} kept.`,
      remedy: 'If 0 means that it was not tested, leave the cell empty.',
    });
  const { id, label, unit, extractant } = analyte;
  return { id, label, unit, values, belowDetection, extractant };
}

/** Value in the inside unit, NaN for "ND" without a limit; undefined when unreadable or in a unit that doesn't fit. */
function toInside(cell: Cell, analyte: RecognisedAnalyte): number | undefined {
  if (cell.kind === 'bad' || cell.kind === 'missing') return undefined;
  const value = cell.kind === 'number' ? cell.value : cell.limit;
  if (cell.unit === undefined || unitLabel(cell.unit, cell.oxide) === analyte.fileUnit)
    return value * analyte.factor;
  const factor = unitFactor(analyte.id, cell.unit, cell.oxide);
  return factor === undefined ? undefined : value * factor;
}

const isImpossible = (value: number, { plausible: [low, high] }: RecognisedAnalyte): boolean =>
  value < low || value > high;

/** pH 68 is 6.8 with its point lost: a tenth or a hundredth that would be possible, only where the range is narrow. */
function likelyMeant(value: number, { unit, plausible: [low, high] }: RecognisedAnalyte): number | undefined {
  if (unit !== 'pH') return undefined;
  return [value / 10, value / 100].find((v) => v >= low && v <= high);
}

/** "ND" says no limit: the column's smallest stated limit stands for it, or else its smallest value above 0. */
function fillUnknownLimits(table: Table, header: string, values: Float64Array, below: Uint8Array): void {
  let [limit, smallest, unknown] = [Infinity, Infinity, 0];
  values.forEach((v, i) => {
    if (below[i] && v !== v) unknown++;
    else if (below[i]) limit = Math.min(limit, v);
    else if (v > 0) smallest = Math.min(smallest, v);
  });
  if (unknown === 0) return;
  const stand = Number.isFinite(limit) ? limit : smallest;
  for (let i = 0; i < values.length; i++) {
    if (!below[i] || values[i] === values[i]) continue;
    if (Number.isFinite(stand)) values[i] = stand;
    else below[i] = 0;
  }
  table.notes.add(`limit ${header}`, {
    column: header,
    problem: Number.isFinite(stand)
      ? `${unknown} ${unknown === 1 ? 'value is' : 'values are'} below detection without a limit; ${Number(stand.toPrecision(4))} was taken as the limit.`
      : `All values are below detection and no limit is given.`,
    remedy: 'Write the laboratory’s limit, for example <5.',
  });
}

function noteOpenNumber(
  table: Table,
  header: string,
  open: string,
  decimal: DecimalSign,
  from: string,
): void {
  const cell = readCell(open, decimal);
  const read =
    cell.kind === 'number' ? cell.value : cell.kind === 'below' || cell.kind === 'above' ? cell.limit : NaN;
  if (read !== read) return;
  const because =
    from === 'own'
      ? 'as the column’s other values are written'
      : from === 'other'
        ? 'as the file’s other columns are written'
        : 'as no other value tells which it is';
  table.notes.add(`open ${header}`, {
    column: header,
    problem: `“${open}” could be thousands or decimals; it was read as ${read}, ${because}.`,
    remedy: 'If that is wrong, write the numbers without thousands separators.',
  });
}
