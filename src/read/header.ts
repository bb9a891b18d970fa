import { findUnit, type Oxide } from './unitText.ts';

/** A header taken apart: what it names, in which unit, by which extractant. */
export interface HeaderParts {
  /** Words left after unit, extractant and filler are gone, digits at their ends removed, joined: `phos`, `organicmatter`. */
  readonly key: string;
  /** All words of the header in lower case, digits at their ends removed. */
  readonly words: readonly string[];
  /** Number at the end of the name, as in `PHOS1`: a soil layer, or a numbering of the lab's. */
  readonly suffix?: number;
  readonly unit?: string;
  readonly oxide?: Oxide;
  readonly extractant?: string;
}

const EXTRACTANTS: readonly (readonly [name: string, pattern: RegExp])[] = [
  ['Bray-P2', /(?:strong[\s_-]*bray|bray[\s_-]*(?:kurtz[\s_-]*)?p?[\s_-]*(?:2|ii))(?![a-z0-9])/],
  ['Bray-P1', /(?:weak[\s_-]*)?bray(?:[\s_-]*(?:and|&)?[\s_-]*kurtz)?[\s_-]*p?[\s_-]*(?:1|i)?(?![a-z0-9])/],
  ['Mehlich-3', /mehlich[\s_-]*(?:3|iii)(?![0-9])/],
  ['Mehlich-1', /mehlich[\s_-]*(?:1|i)(?![0-9i])/],
  ['Mehlich-3', /(?<![a-z0-9])m3(?![0-9])/],
  ['Mehlich-1', /(?<![a-z0-9])m1(?![0-9])/],
  ['Mehlich', /mehlich/],
  ['Olsen', /olsen|(?:sodium[\s_-]*)?bicarb(?:onate)?/],
  ['ammonium acetate', /ammonium[\s_-]*acetate|nh4[\s_-]*oac/],
  ['DTPA', /dtpa/],
  // Bare, it is the usual tenth normal; another strength is another test, and is left in the name.
  [
    '0.1 N HCl',
    /(?:(?<![\d.,])(?:0[.,_]?|[.,])1[\s_-]*[nm]?[\s_-]*|(?<!(?<![a-z\d.,])[\d.,]+[\s_-]*[nm]?[\s_-]*))(?:hcl|hydrochloric(?:[\s_-]*acid)?)(?![a-z])/,
  ],
  ['hot water', /hot[\s_-]*water/],
  ['Morgan', /(?:modified[\s_-]*)?morgan/],
];

/** Buffers that lime is told by, each with its word: one of these beside at most `buffer` and `pH` is a buffer pH. */
const BUFFERS: readonly (readonly [name: string, word: string])[] = [
  ['SMP', 'shoemakermcleanpratt'],
  ['SMP', 'smp'],
  ['Sikora', 'sikora'],
  ['Mehlich buffer', 'mehlich'],
  ['Adams-Evans', 'adamsevans'],
  ['Woodruff', 'woodruff'],
];

/** Words that say nothing of what was measured. */
const FILLER = new Set(
  (
    'soil test value result results avg mean lab extractable extr available avail exch exchangeable conc ' +
    'concentration reported measured in inch inches cm water h2o cacl2 salt as of the by'
  ).split(' '),
);

/** Names that end in a digit of their own. */
const KEEPS_DIGIT = new Set(['no3', 'so4', 'nh4', 'h2o', 'cacl2', 'po4']);

/**
 * Takes a header apart.
 *
 * @example parseHeader('M3-P (ppm)') // { key: 'p', unit: 'ppm', extractant: 'Mehlich-3', … }
 */
export function parseHeader(header: string): HeaderParts {
  const { unit, oxide, rest } = findUnit(header);
  const words = rest
    .split(/[^\p{L}\p{N}]+/u)
    .filter(Boolean)
    .map(withoutSuffix);
  const extractant = EXTRACTANTS.find(([, pattern]) => pattern.test(rest));
  const parts = partsOf(extractant ? rest.replace(extractant[1], ' ') : rest);
  const suffix = parts.map(suffixOf).find((n) => n !== undefined);
  const buffer = bufferNamed(keyOf(partsOf(rest)));
  if (buffer !== undefined) return { key: 'bufferph', words, suffix, unit, oxide, extractant: buffer };
  return { key: keyOf(parts), words, suffix, unit, oxide, extractant: extractant?.[0] };
}

const partsOf = (name: string): string[] =>
  name.split(/[^\p{L}\p{N}]+/u).filter((w) => w !== '' && !/^\d+$/.test(w));

const keyOf = (parts: readonly string[]): string =>
  parts
    .map(withoutSuffix)
    .filter((w) => !FILLER.has(w))
    .join('');

/** The buffer that a key is about. `Mehlich` alone is an extractant: it takes `buffer` or `BpH` beside it. */
function bufferNamed(key: string): string | undefined {
  return BUFFERS.find(([, word]) => {
    const left = key.replace(word, '');
    if (left === key || !/^(?:buff?(?:er)?|b?ph|phb)*$/.test(left)) return false;
    return word !== 'mehlich' || left.includes('b');
  })?.[0];
}

function withoutSuffix(word: string): string {
  return KEEPS_DIGIT.has(word) ? word : word.replace(/(?<=^\p{L}+)\d+$/u, '');
}

function suffixOf(word: string): number | undefined {
  if (KEEPS_DIGIT.has(word)) return undefined;
  const match = /^\p{L}+(\d+)$/u.exec(word);
  return match ? Number(match[1]) : undefined;
}
