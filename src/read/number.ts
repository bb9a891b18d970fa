import { findUnit, plainText, type Oxide } from './unitText.ts';

/** Which sign stands before the decimals in a column. */
export type DecimalSign = 'point' | 'comma';

/** What a cell holds. */
export type Cell =
  | { readonly kind: 'number'; readonly value: number; readonly unit?: string; readonly oxide?: Oxide }
  /** Below detection; `limit` is NaN when only "ND" is said. */
  | { readonly kind: 'below'; readonly limit: number; readonly unit?: string; readonly oxide?: Oxide }
  /** Above the laboratory's upper limit. */
  | { readonly kind: 'above'; readonly limit: number; readonly unit?: string; readonly oxide?: Oxide }
  | { readonly kind: 'missing' }
  | { readonly kind: 'bad' };

const MISSING = new Set([
  '',
  '-',
  '--',
  '---',
  '–',
  '—',
  '.',
  '*',
  '?',
  'n/a',
  'na',
  '#n/a',
  'nan',
  'null',
  'none',
  'missing',
  'nt',
  'not tested',
  'no data',
  'nodata',
]);
const BELOW =
  /^(?:nd|n\.d\.?|bdl|b\.d\.l\.?|bld|<?\s*(?:lod|loq|mdl|dl)|non[\s-]?detect(?:ed)?|not detected|below detection(?: limit)?|tr|trace)$/;
const LESS = /^(?:<=?|≤|lt\.?(?=[\s\d])|less than)\s*/;
const MORE = /^(?:>=?|≥|gt\.?(?=[\s\d])|more than|over)\s*/;
/** Interpretation classes that laboratories print behind the value. */
const RATING = /^\(?(?:vl|l|m|o|h|vh|e|very low|low|medium|optimum|high|very high|excessive)\)?$/;
const NUMERAL = /^([+-]?)(\d[\d.,' ]*|[.,]\d+)(e[+-]?\d+)?/;

/** Codes that stand for a missing value in many exports. */
const MISSING_CODE = /^-9{3,5}(?:\.0*)?$/;
const PLAIN = /^(?!-9{3,5}\.0*$)(?:\d{1,9}|-?\d{1,9}\.\d+)$/;
const PLAIN_POINT = /^-?\d*\.(?:\d{1,2}|\d{4,})$/;

const MISSING_CELL: Cell = { kind: 'missing' };
const BAD_CELL: Cell = { kind: 'bad' };

/**
 * Reads a cell as people write numbers: decimal point or comma, thousands set apart by comma, point, space or
 * apostrophe, "<5", "ND", "n/a", and a unit or a rating behind the number.
 * The column's `decimal` sign only matters where the cell's own shape leaves it open ("1,234").
 */
export function readCell(text: string, decimal: DecimalSign): Cell {
  // Most cells are plain, and under a decimal point they read as they stand; codes such as -999 have no point.
  if (decimal === 'point' && PLAIN.test(text)) return { kind: 'number', value: Number(text) };
  const plain = plainText(text).replace(/[\u2212\u2010]/g, '-');
  if (MISSING.has(plain) || MISSING_CODE.test(plain)) return MISSING_CELL;
  if (BELOW.test(plain)) return { kind: 'below', limit: NaN };
  if (LESS.test(plain)) return limited('below', plain.replace(LESS, ''), decimal);
  if (MORE.test(plain)) return limited('above', plain.replace(MORE, ''), decimal);
  return readNumeral(plain, decimal);
}

function limited(kind: 'below' | 'above', text: string, decimal: DecimalSign): Cell {
  const cell = readNumeral(text, decimal);
  return cell.kind === 'number' ? { kind, limit: cell.value, unit: cell.unit, oxide: cell.oxide } : BAD_CELL;
}

function readNumeral(plain: string, decimal: DecimalSign): Cell {
  const match = NUMERAL.exec(plain);
  if (!match) return BAD_CELL;
  const [all, sign, digits, exponent] = match;
  const tail = plain.slice(all.length).trim();
  const mantissa = readMantissa(digits.trim(), decimal);
  if (Number.isNaN(mantissa)) return BAD_CELL;
  const value = Number(`${sign}${mantissa}`) * (exponent ? Number(`1${exponent}`) : 1);
  const exact = exponent && /^\d+(?:\.\d*)?$/.test(digits) ? Number(`${sign}${digits}${exponent}`) : value;
  if (!Number.isFinite(exact)) return BAD_CELL;
  if (tail === '' || RATING.test(tail)) return { kind: 'number', value: exact };
  const { unit, oxide, rest } = findUnit(tail);
  return unit && (rest === '' || RATING.test(rest))
    ? { kind: 'number', value: exact, unit, oxide }
    : BAD_CELL;
}

/** Digits with separators to a number; NaN when the separators make no sense. */
function readMantissa(digits: string, decimal: DecimalSign): number {
  const shape = separators(digits);
  if (shape === 'bad') return NaN;
  const sign = shape === 'open' ? decimal : shape === 'none' ? 'point' : shape;
  const grouped =
    sign === 'point' ? /^\d{1,3}(?:([, '])\d{3})+(?:\.\d*)?$/ : /^\d{1,3}(?:([. '])\d{3})+(?:,\d*)?$/;
  const match = grouped.exec(digits);
  if (match && new Set(digits.match(/[ ']/g) ?? []).size <= 1) {
    const bare = sign === 'point' ? digits.replace(/[, ']/g, '') : digits.replace(/[. ']/g, '');
    return Number(bare.replace(',', '.'));
  }
  const simple = sign === 'point' ? /^\d*(?:\.\d*)?$/ : /^\d*(?:,\d*)?$/;
  return simple.test(digits) && /\d/.test(digits) ? Number(digits.replace(',', '.')) : NaN;
}

/**
 * What the cell's own shape says of the decimal sign: `open` for one comma or point with exactly three digits
 * behind it and one to three before ("1,234"), which may be thousands or decimals.
 */
function separators(digits: string): DecimalSign | 'none' | 'open' | 'bad' {
  const commas = digits.split(',').length - 1;
  const points = digits.split('.').length - 1;
  if (commas === 0 && points === 0) return 'none';
  if (commas > 0 && points > 0) {
    if (commas > 1 && points > 1) return 'bad';
    return digits.lastIndexOf(',') > digits.lastIndexOf('.') ? 'comma' : 'point';
  }
  // Several of one kind can only be thousands, so the other kind is the decimal sign.
  if (commas > 1) return 'point';
  if (points > 1) return 'comma';
  const open = /^(?!0)\d{1,3}[.,]\d{3}$/.test(digits);
  if (open) return 'open';
  return commas === 1 ? 'comma' : 'point';
}

/** A column's decimal sign, and whether its cells leave any doubt. */
export interface DecimalChoice {
  readonly decimal: DecimalSign;
  /** `own`: a cell of the column tells. `other`: taken from the file's other columns or its separator. `usual`: the usual reading. */
  readonly from: 'own' | 'other' | 'usual';
  /** A cell whose reading hung on the choice: "1,234". */
  readonly open?: string;
}

/**
 * Decides a column's decimal sign from its unambiguous cells; the majority wins.
 * @param hint sign used by the rest of the file, for a column whose cells don't tell
 */
export function decideDecimal(cells: Iterable<string>, hint?: DecimalSign): DecimalChoice {
  let [point, comma] = [0, 0];
  let open: string | undefined;
  let openPoint: string | undefined;
  for (const cell of cells) {
    if (!cell.includes('.') && !cell.includes(',')) continue;
    if (PLAIN_POINT.test(cell)) {
      point++;
      continue;
    }
    const plain = plainText(cell).replace(LESS, '').replace(MORE, '');
    const digits = NUMERAL.exec(plain.replace(/\u2212/g, '-'))?.[2]?.trim();
    if (!digits) continue;
    const shape = separators(digits);
    // Dates (01.02.2026) and versions have separators too, but are no numbers.
    if (shape === 'bad' || Number.isNaN(readMantissa(digits, shape === 'comma' ? 'comma' : 'point')))
      continue;
    if (shape === 'point') point++;
    else if (shape === 'comma') comma++;
    else if (shape === 'open' && digits.includes(',')) open ??= cell.trim();
    else if (shape === 'open') openPoint ??= cell.trim();
  }
  if (point + comma > 0) {
    const decimal = comma > point ? 'comma' : 'point';
    return { decimal, from: 'own', open: open ?? (decimal === 'comma' ? openPoint : undefined) };
  }
  if (hint) return { decimal: hint, from: 'other', open: open ?? (hint === 'comma' ? openPoint : undefined) };
  return { decimal: 'point', from: 'usual', open };
}
