import { acresToHa } from '../../src/units/index.ts';
import type { UnitSystem } from '../../views/format.ts';
import type { Typed } from '../../views/models/questionForm.ts';

const LONGEST = 200;
/** Ticks of one name gather under it: values set aside, some hundreds at most. */
const GATHERED = 'setAside';
const LONGEST_GATHERED = 20_000;

/**
 * A query or body as plain text by name: the last of repeated values, trimmed and no longer than a form sends. Values
 * set aside are all kept, a space between.
 */
export function typedFrom(source: unknown): Typed {
  if (typeof source !== 'object' || source === null) return {};
  const out: Record<string, string> = {};
  for (const [key, value] of Object.entries(source)) {
    if (key === GATHERED) {
      const all = [value].flat().filter((v): v is string => typeof v === 'string');
      out[key] = all.join(' ').trim().slice(0, LONGEST_GATHERED);
      continue;
    }
    const last: unknown = Array.isArray(value) ? value.at(-1) : value;
    if (typeof last === 'string' && key.length <= LONGEST) out[key] = last.trim().slice(0, LONGEST);
  }
  return out;
}

/**
 * A number as people type it: `1,200`, `27.5`, `27,5` (a comma before one or two last digits is a decimal one).
 * Undefined for anything else.
 */
export function typedNumber(text: string): number | undefined {
  const plain = text.replace(/[\s\u00a0$€]/g, '');
  const decimal = /^[+-]?\d+,\d{1,2}$/.test(plain)
    ? plain.replace(',', '.')
    : plain.replace(/,(?=\d{3}(?:\D|$))/g, '');
  return /^[+-]?(?:\d+\.?\d*|\.\d+)$/.test(decimal) ? Number(decimal) : undefined;
}

/** An area in hectares; a unit typed behind it (`160 acres`, `65 ha`) goes before the form's own. */
export function typedAreaHa(text: string, units: UnitSystem): number | undefined {
  const [, number, unit] = /^(.*?)\s*(ac|acres?|ha|hectares?)?\.?$/i.exec(text) ?? [];
  const value = typedNumber(number ?? '');
  const inAcres = unit ? /^a/i.test(unit) : units === 'us';
  return value !== undefined && inAcres ? acresToHa(value) : value;
}
