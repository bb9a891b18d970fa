import { parseAnswers, questions, type Answers } from '../src/prior/index.ts';
import { readCell, readTable, type DecimalSign, type Problem, type Table } from '../src/read/index.ts';
import { cellAt, fileDecimal } from '../src/read/table.ts';
import { acresToHa } from '../src/units/index.ts';
import type { FileRole } from '../src/advise/index.ts';

/** One field of a farm, as its row says. */
export interface ManifestField {
  /** 1-based row of the file. */
  readonly row: number;
  readonly name: string;
  readonly answers: Answers;
  /** Files by path relative to the manifest, with the column that names each. */
  readonly files: readonly { readonly role: FileRole; readonly path: string; readonly column: string }[];
  /** Year of the last sampling; absent for never or unknown. */
  readonly lastSampled?: number;
  readonly fixed?: 'sample' | 'leave out';
}

export interface Manifest {
  readonly file: string;
  readonly fields: readonly ManifestField[];
  /** Rows set aside, each with why. */
  readonly problems: readonly Problem[];
  /** What was assumed or passed over. */
  readonly notes: readonly Problem[];
}

/** Most fields of one farm. */
export const MOST_FIELDS = 500;

/** What a column may hold, by its header without case, spaces and marks. */
const COLUMNS: Readonly<Record<string, Column>> = {
  ...Object.fromEntries(['name', 'field', 'fieldname'].map((h) => [h, { kind: 'name' } as const])),
  area: { kind: 'area' },
  ...Object.fromEntries(
    ['areaha', 'areahectares', 'hectares', 'ha'].map((h) => [h, { kind: 'area', unit: 'ha' } as const]),
  ),
  ...Object.fromEntries(
    ['areaac', 'areaacres', 'acres', 'ac'].map((h) => [h, { kind: 'area', unit: 'ac' } as const]),
  ),
  ...Object.fromEntries(
    questions
      .filter((q) => q.id !== 'area')
      .map((q) => [q.id.toLowerCase(), { kind: 'answer', question: q.id } as const]),
  ),
  fertilizer: { kind: 'answer', question: 'fertiliser' },
  points: { kind: 'file', role: 'points' },
  boundary: { kind: 'file', role: 'boundary' },
  soils: { kind: 'file', role: 'soilUnits' },
  yield: { kind: 'file', role: 'yield' },
  yields: { kind: 'file', role: 'yield' },
  lastsampled: { kind: 'lastSampled' },
  fixed: { kind: 'fixed' },
};

type Column =
  | { readonly kind: 'name' | 'lastSampled' | 'fixed' }
  | { readonly kind: 'area'; readonly unit?: AreaUnit }
  | { readonly kind: 'answer'; readonly question: string }
  | { readonly kind: 'file'; readonly role: FileRole };

type AreaUnit = 'ha' | 'ac';

const KNOWN =
  'name, area (with a unit, or area_ac), points, boundary, soils, yield, last_sampled, fixed, ' +
  questions
    .filter((q) => q.id !== 'area')
    .map((q) => q.id)
    .join(', ');

/**
 * Reads a farm's list of fields: CSV with one row a field. Columns: `name`; `area` ("65 ac", "26 ha"; bare numbers are
 * in `bareUnit`; `area_ac` and `area_ha` say it for all rows); the questionnaire's ids; paths in `points`, `boundary`, `soils`
 * and `yield` (several parted by `;`); `last_sampled`, a year or a date; `fixed`: "sample" or "leave out". A row that
 * can't be used is set aside with what to mend; the others stand.
 * @param year the year planned for: none may have been sampled after it
 * @param bareUnit what areas without a unit are in
 */
export function readManifest(
  file: string,
  bytes: Uint8Array,
  year: number,
  bareUnit: AreaUnit = 'ha',
): Manifest {
  const table = readTable(file, bytes);
  if ('problem' in table) return { file, fields: [], problems: [table], notes: [] };
  const columns = table.headers.map((h) => COLUMNS[plain(h)] as Column | undefined);
  const has = (kind: Column['kind']) => columns.some((c) => c?.kind === kind);
  if (!has('area') && !has('file'))
    return {
      file,
      fields: [],
      problems: [
        {
          file,
          problem: 'No column gives the area, the boundary or the points of a field.',
          remedy: `Name the columns among ${KNOWN}.`,
        },
      ],
      notes: [],
    };
  // A title above the column names is no slip; rows that were too long are.
  const read = table.notes.all().filter((n) => !n.remedy.startsWith('Nothing to do'));
  const notes: Problem[] = table.headers
    .filter((_, c) => columns[c] === undefined)
    .map((column) => ({
      file,
      column,
      problem: 'The column is not known and was passed over.',
      remedy: `Known are ${KNOWN}.`,
    }));
  const decimal = fileDecimal(table) ?? 'point';
  const fields: ManifestField[] = [];
  const problems: Problem[] = read.filter((n) => n.row !== undefined);
  notes.unshift(...read.filter((n) => n.row === undefined));
  const names = new Set<string>();
  let bare = 0;
  for (let r = 0; r < table.rows.length; r++) {
    const row = readRow(table, columns, r, decimal, year, bareUnit);
    if (fields.length >= MOST_FIELDS)
      row.problems.push({
        file,
        row: table.rowNumbers[r],
        problem: `Only ${MOST_FIELDS} fields are taken at a time.`,
        remedy: 'Divide the farm over several files.',
      });
    problems.push(...row.problems);
    if (row.problems.length > 0) continue;
    if (row.bareArea) bare++;
    const name = names.has(row.field.name) ? `${row.field.name} (row ${row.field.row})` : row.field.name;
    names.add(name);
    fields.push({ ...row.field, name });
  }
  if (bare > 0)
    notes.push({
      file,
      column: table.headers[columns.findIndex((c) => c?.kind === 'area')],
      problem: `${bare} area${bare === 1 ? ' has' : 's have'} no unit; taken as ${bareUnit === 'ac' ? 'acres' : 'hectares'}.`,
      remedy: 'Write “65 ac” or “26 ha”, or name the column area_ac or area_ha.',
    });
  return { file, fields, problems, notes };
}

const plain = (header: string): string => header.toLowerCase().replace(/[^a-z0-9]/g, '');

function readRow(
  table: Table,
  columns: readonly (Column | undefined)[],
  r: number,
  decimal: DecimalSign,
  year: number,
  bareUnit: AreaUnit,
): { readonly field: ManifestField; readonly problems: Problem[]; readonly bareArea: boolean } {
  const row = table.rowNumbers[r];
  const problems: Problem[] = [];
  const answers: Record<string, unknown> = {};
  const headerOf = new Map<string, string>();
  const files: { role: FileRole; path: string; column: string }[] = [];
  let name = '';
  let lastSampled: number | undefined;
  let fixed: ManifestField['fixed'];
  let bareArea = false;
  columns.forEach((column, c) => {
    const text = cellAt(table, r, c).trim();
    const header = table.headers[c];
    if (column === undefined || text === '') return;
    const refuse = (problem: string, remedy: string) =>
      problems.push({ file: table.file, row, column: header, problem, remedy });
    if (column.kind === 'name') name ||= text;
    else if (column.kind === 'file') files.push(...filesIn(text, column.role, header));
    else if (readCell(text, decimal).kind === 'missing') return;
    else if (column.kind === 'area') {
      const area = readArea(text, decimal, column.unit, bareUnit);
      if (area === undefined) refuse(`“${text}” is not an area.`, 'Write it as 65 ac or 26 ha.');
      else {
        answers.areaHa = area.ha;
        bareArea = area.bare;
      }
      headerOf.set('areaHa', header);
    } else if (column.kind === 'answer') {
      headerOf.set(column.question, header);
      answers[column.question] = answerOf(column.question, text, decimal);
    } else if (column.kind === 'lastSampled') {
      const said = readYear(text);
      if (said === undefined) refuse(`“${text}” is not a year.`, 'Write a year such as 2023, or never.');
      else if (said !== 'never' && said > year)
        refuse(`${said} is after the year planned for, ${year}.`, 'Correct it, or plan for another year.');
      else if (said !== 'never') lastSampled = said;
    } else {
      const said = /^(sample|must|yes)$/i.test(text)
        ? 'sample'
        : /^(leave out|leave|no)$/i.test(text)
          ? 'leave out'
          : undefined;
      if (said === undefined) refuse(`“${text}” is not known here.`, 'Write sample, leave out, or nothing.');
      else fixed = said;
    }
  });
  const parsed = parseAnswers(table.file, answers);
  if (!parsed.ok)
    for (const p of parsed.problems)
      problems.push({ ...p, row, column: headerOf.get(p.column ?? '') ?? p.column });
  if (
    problems.length === 0 &&
    answers.areaHa === undefined &&
    !files.some((f) => f.role === 'points' || f.role === 'boundary')
  )
    problems.push({
      file: table.file,
      row,
      problem: 'Nothing says how large the field is.',
      remedy: 'Give its area, a boundary or test points.',
    });
  return {
    field: {
      row,
      name: name || `Field in row ${row}`,
      answers: parsed.ok ? parsed.value : {},
      files,
      lastSampled,
      fixed,
    },
    problems,
    bareArea,
  };
}

/** Paths of a cell, parted by semicolons. */
const filesIn = (text: string, role: FileRole, column: string): ManifestField['files'] =>
  text
    .split(';')
    .map((p) => p.trim())
    .filter((p) => p !== '')
    .map((path) => ({ role, path, column }));

/** A choice in the questionnaire's own spelling, a number as a number; anything else as it stands, to be refused. */
function answerOf(id: string, text: string, decimal: DecimalSign): unknown {
  const question = questions.find((q) => q.id === id);
  if (question?.kind === 'number') {
    const cell = readCell(text.replace(/^[$€£]\s*/, ''), decimal);
    return cell.kind === 'number' ? cell.value : text;
  }
  if (/^(i )?(don.?t know|not sure|unsure)$/i.test(text)) return 'unknown';
  return text.toLowerCase();
}

/** "65 ac", "26,3 ha", "160 acres", "26". */
function readArea(
  text: string,
  decimal: DecimalSign,
  columnUnit: AreaUnit | undefined,
  bareUnit: AreaUnit,
): { readonly ha: number; readonly bare: boolean } | undefined {
  const match = /^([^a-z]*\d[^a-z]*?)\s*(ac|acres?|ha|hectares?)?\.?$/i.exec(text);
  if (!match) return undefined;
  const cell = readCell(match[1], decimal);
  if (cell.kind !== 'number' || !(cell.value > 0)) return undefined;
  const said = match[2] === undefined ? columnUnit : /^a/i.test(match[2]) ? 'ac' : 'ha';
  return {
    ha: (said ?? bareUnit) === 'ac' ? acresToHa(cell.value) : cell.value,
    bare: said === undefined,
  };
}

function readYear(text: string): number | 'never' | undefined {
  if (/^(never|no|unknown)$/i.test(text)) return 'never';
  const match =
    /^((?:19|20)\d\d)(?:[-/.]\d{1,2}(?:[-/.]\d{1,2})?)?$/.exec(text) ??
    /^\d{1,2}[-/.]\d{1,2}[-/.]((?:19|20)\d\d)$/.exec(text);
  return match ? Number(match[1]) : undefined;
}
