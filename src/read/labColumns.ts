import type { LabRole } from './labMapping.ts';
import { recogniseAnalyte } from './recogniseAnalyte.ts';
import { columnCells, type Table } from './table.ts';
import { plainText } from './unitText.ts';

const names = (list: string): readonly string[] => list.split(' ');

/** Headers of the bag's own number, the surest first. */
const BAG_NAMES = names(
  'bagnumber bagno bagnr bagid baglabel bagcode bag sampleid samplenumber sampleno samplenr samplename samplelabel ' +
    'clientsampleid clientsample customersampleid customersample growersampleid growersample yoursampleid yoursample ' +
    'fieldsampleid sampleidentification sampledescription sampleident sample sampid smpid smpl clientid customerid ' +
    'identification description ident id label name',
);
/** Numbers that the laboratory gives for itself. */
const LAB_NUMBER_NAMES = new Set(
  names(
    'lab labno labnr labnumber labid labsampleid labsample labsamplenumber labsampleno laboratorynumber laboratoryno ' +
      'laboratoryid accession accessionnumber reportnumber reportno report order orderno ordernumber job jobno ' +
      'jobnumber batch batchno workorder barcode',
  ),
);
const TEST_NAMES = new Set(
  names(
    'test testname testcode analyte analytename parameter parametername determination determinand element component analysis measurement property',
  ),
);
const RESULT_NAMES = new Set(
  names(
    'result results resultvalue testresult value values finalresult reportedresult reportedvalue concentration amount',
  ),
);
const UNIT_NAMES = new Set(
  names('unit units uom resultunit resultunits unitofmeasure reportingunit reportingunits'),
);

const keyOf = (header: string): string =>
  plainText(header)
    .replace(/#/g, ' number')
    .replace(/[^\p{L}]+/gu, '');

/** What a header says beside soil measures; undefined when it says nothing of the kind. */
function roleOf(header: string): Exclude<LabRole, 'analyte' | 'ignored'> | undefined {
  const key = keyOf(header);
  if (LAB_NUMBER_NAMES.has(key)) return 'lab number';
  if (BAG_NAMES.includes(key)) return 'bag';
  if (TEST_NAMES.has(key)) return 'test';
  if (RESULT_NAMES.has(key)) return 'result';
  return UNIT_NAMES.has(key) ? 'unit' : undefined;
}

/** The column with the bags' numbers by its header: the surest name that has a text in most rows. */
export function findBagColumn(table: Table, taken: ReadonlySet<number>): number | undefined {
  let best: { column: number; rank: number } | undefined;
  table.headers.forEach((header, column) => {
    const rank = BAG_NAMES.indexOf(keyOf(header));
    if (taken.has(column) || rank < 0 || roleOf(header) !== 'bag' || !isMostlyFilled(table, column)) return;
    if (best === undefined || rank < best.rank) best = { column, rank };
  });
  return best?.column;
}

/** Whether a header names the laboratory's own number. */
export const isLabNumber = (header: string): boolean => roleOf(header) === 'lab number';

function isMostlyFilled(table: Table, column: number): boolean {
  let filled = 0;
  for (const cell of columnCells(table, column)) if (cell.trim() !== '') filled++;
  return 2 * filled >= table.rows.length;
}

/** Columns of a file that has a line for each test of each bag. */
export interface LongForm {
  readonly test: number;
  readonly result: number;
  readonly unit?: number;
}

/** The columns of test and result, when the cells under the first name soil measures in most rows. */
export function findLongForm(table: Table): LongForm | undefined {
  const column = (role: LabRole) => table.headers.findIndex((h) => roleOf(h) === role);
  const [test, result, unit] = [column('test'), column('result'), column('unit')];
  if (test < 0 || result < 0) return undefined;
  let known = 0;
  for (const cell of columnCells(table, test)) if (recogniseAnalyte(cell).kind === 'analyte') known++;
  return 2 * known >= table.rows.length ? { test, result, ...(unit >= 0 && { unit }) } : undefined;
}
