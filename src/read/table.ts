import Papa from 'papaparse';
import { decodeText, isProblem } from './fileText.ts';
import { noteBook, type NoteBook } from './notes.ts';
import { decideDecimal, readCell, type DecimalSign } from './number.ts';
import type { Problem } from './problem.ts';

/** A table of text: its headers and its rows, blank rows left out. */
export interface Table {
  readonly file: string;
  readonly headers: readonly string[];
  readonly rows: readonly (readonly string[])[];
  /** 1-based row in the file of each row, the header being counted. */
  readonly rowNumbers: Uint32Array;
  readonly delimiter: string;
  readonly notes: NoteBook;
}

/** More data rows than this are refused. */
export const MAX_ROWS = 2_000_000;

const DELIMITERS = ['\t', ';', ',', '|'] as const;
const LINES_LOOKED_AT = 10;

/** Reads delimited text (comma, semicolon, tab or bar; RFC 4180 quoting) into a {@link Table}. */
export function readTable(file: string, bytes: Uint8Array): Table | Problem {
  const decoded = decodeText(file, bytes);
  if (isProblem(decoded)) return decoded;
  const text = decoded.text.replace(/^\ufeff/, '');
  const tooMany = lineCount(text) > MAX_ROWS + 1;
  if (tooMany)
    return {
      file,
      problem: `The file has more than ${MAX_ROWS.toLocaleString('en')} rows.`,
      remedy: 'Cut it to one field, or thin it.',
    };
  const notes = noteBook(file);
  if (decoded.encoding === 'windows-1252')
    notes.add('encoding', {
      problem: 'The file is not UTF-8; it was read as windows-1252.',
      remedy: 'Check accented letters in the labels, or save the file as UTF-8.',
    });
  const delimiter = detectDelimiter(text);
  const parsed = Papa.parse<string[]>(text, { delimiter, skipEmptyLines: false });
  const open = parsed.errors.find((e) => e.type === 'Quotes' && e.code === 'MissingQuotes');
  if (open)
    return {
      file,
      row: (open.row ?? 0) + 1,
      problem: 'A quotation mark opens here and never closes.',
      remedy: 'Remove the mark or add the one that is missing.',
    };
  return toTable(file, parsed.data, delimiter, notes);
}

function toTable(
  file: string,
  records: readonly string[][],
  delimiter: string,
  notes: NoteBook,
): Table | Problem {
  const headerAt = findHeader(records);
  if (headerAt < 0)
    return {
      file,
      problem: 'The file holds only blank lines.',
      remedy: 'Export it again with its header and rows.',
    };
  for (let i = 0; i < headerAt; i++)
    if (!isBlank(records[i]))
      notes.add('title', {
        row: i + 1,
        problem: 'This line stands above the column names and was passed over.',
        remedy: 'Nothing to do if it is a title.',
      });
  const headers = nameHeaders(records[headerAt]);
  const filled = headers.filter((h) => h !== '');
  if (filled.length > 1 && filled.every((h) => readCell(h, 'point').kind === 'number'))
    return {
      file,
      row: headerAt + 1,
      problem: 'The first row holds numbers, not column names.',
      remedy: 'Add a first row that names the columns, for example longitude, latitude, P, K, pH.',
    };
  const rows: (readonly string[])[] = [];
  const numbers: number[] = [];
  let tooLong = 0;
  for (let i = headerAt + 1; i < records.length; i++) {
    const record = records[i];
    if (isBlank(record)) continue;
    if (hasMoreThan(record, headers.length)) {
      tooLong++;
      notes.add('long row', {
        row: i + 1,
        problem: `The row holds more values than there are column names (${headers.length}) and was set aside.`,
        remedy: 'Look for a stray separator, or put quotation marks around values that hold one.',
      });
      continue;
    }
    rows.push(record);
    numbers.push(i + 1);
  }
  if (tooLong > 0 && tooLong >= rows.length)
    return {
      file,
      problem: `Most rows hold more values than there are column names (${headers.length}).`,
      remedy: 'If numbers are written with a decimal comma, export with semicolons between the columns.',
    };
  if (rows.length === 0)
    return {
      file,
      problem: 'The file has column names but no rows.',
      remedy: 'Export it again with its rows.',
    };
  return { file, headers, rows, rowNumbers: Uint32Array.from(numbers), delimiter, notes };
}

/** The first row with at least two filled cells, among the first lines; else the first that isn't blank. */
function findHeader(records: readonly string[][]): number {
  const first = records.findIndex((r) => !isBlank(r));
  const last = Math.min(records.length, LINES_LOOKED_AT);
  for (let i = Math.max(first, 0); i < last; i++)
    if (records[i].filter((c) => c.trim() !== '').length > 1) return i;
  return first;
}

/** Headers trimmed; an empty one is named by its place, a repeated one by its count. */
function nameHeaders(record: readonly string[]): string[] {
  const seen = new Map<string, number>();
  let width = record.length;
  while (width > 0 && record[width - 1].trim() === '') width--;
  return record.slice(0, width).map((cell, i) => {
    const name = cell.trim().replace(/\s+/g, ' ') || `column ${i + 1}`;
    const times = (seen.get(name) ?? 0) + 1;
    seen.set(name, times);
    return times === 1 ? name : `${name} (${times})`;
  });
}

const isBlank = (record: readonly string[]): boolean => record.every((c) => c.trim() === '');

function hasMoreThan(record: readonly string[], width: number): boolean {
  for (let i = width; i < record.length; i++) if (record[i].trim() !== '') return true;
  return false;
}

function lineCount(text: string): number {
  let lines = 1;
  for (let at = text.indexOf('\n'); at >= 0; at = text.indexOf('\n', at + 1)) lines++;
  return lines;
}

/**
 * The separator whose count is the same in most of the first lines; more of it a line wins a tie.
 * A decimal comma varies from line to line and is missing from the header, so it loses to the semicolon.
 */
export function detectDelimiter(text: string): string {
  const lines = text
    .slice(0, 100_000)
    .split(/\r\n|\n|\r/)
    .filter((l) => l.trim() !== '')
    .slice(0, LINES_LOOKED_AT);
  let best = { delimiter: ',', agreeing: 0, perLine: 0 };
  for (const delimiter of DELIMITERS) {
    const counts = lines.map((line) => countOutsideQuotes(line, delimiter));
    const perLine = modeOfPositive(counts);
    const agreeing = perLine === 0 ? 0 : counts.filter((c) => c === perLine).length;
    if (agreeing > best.agreeing || (agreeing === best.agreeing && perLine > best.perLine))
      best = { delimiter, agreeing, perLine };
  }
  return best.delimiter;
}

function countOutsideQuotes(line: string, delimiter: string): number {
  let [count, quoted] = [0, false];
  for (const c of line) {
    if (c === '"') quoted = !quoted;
    else if (c === delimiter && !quoted) count++;
  }
  return count;
}

function modeOfPositive(counts: readonly number[]): number {
  const times = new Map<number, number>();
  for (const c of counts) if (c > 0) times.set(c, (times.get(c) ?? 0) + 1);
  return [...times].reduce((best, entry) => (entry[1] > best[1] ? entry : best), [0, 0])[0];
}

/** A cell's text; empty when the row is shorter. */
export const cellAt = (table: Table, row: number, column: number): string => table.rows[row][column] ?? '';

/** All cells of a column. */
export function* columnCells(table: Table, column: number): Generator<string> {
  for (const row of table.rows) yield row[column] ?? '';
}

const ROWS_FOR_DECIMAL = 2000;

/** The decimal sign that most columns show beyond doubt in the first rows; with none, semicolons between columns hint at the comma. */
export function fileDecimal(table: Table): DecimalSign | undefined {
  let [point, comma] = [0, 0];
  const rows = table.rows.slice(0, ROWS_FOR_DECIMAL);
  table.headers.forEach((_, column) => {
    const { decimal, from } = decideDecimal(rows.map((row) => row[column] ?? ''));
    if (from === 'own' && decimal === 'point') point++;
    else if (from === 'own') comma++;
  });
  if (point !== comma) return point > comma ? 'point' : 'comma';
  return table.delimiter === ';' ? 'comma' : undefined;
}
