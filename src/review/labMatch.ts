import { readBagNumber, writeBagNumber } from '../plan/bagNumber.ts';
import type { Bag } from '../plan/bags.ts';
import type { LabResults, LabRow, Problem } from '../read/index.ts';

/** A bag with its results. */
export interface MatchedBag {
  readonly bag: Bag;
  readonly row: LabRow;
  /** `exact` when the text is the bag's own; `same` when only case, separators or leading zeros differ; `accepted` by the user. */
  readonly how: 'exact' | 'same' | 'accepted';
}

/** Results that came more than once for a bag: none is used until the user says which. */
export interface DoubledBag {
  readonly bag: Bag;
  readonly rows: readonly LabRow[];
  /** Whether all say the same. */
  readonly alike: boolean;
}

/** Results whose bag is none of those sent. */
export interface UnknownBag {
  readonly row: LabRow;
  /** Bags of this list that are one slip away: a wrong, missing or extra character, or two exchanged. Never matched by itself. */
  readonly nearest: readonly Bag[];
}

/** Laboratory rows held against the bags that were sent. */
export interface LabMatch {
  readonly matched: readonly MatchedBag[];
  /** Sent, and no result. */
  readonly missing: readonly Bag[];
  readonly doubled: readonly DoubledBag[];
  readonly unknown: readonly UnknownBag[];
  /** Everything that needs a person, each in one sentence with file, row and column. */
  readonly problems: readonly Problem[];
}

/**
 * Matches results to bags by their numbers: case, separators and lost leading zeros don't matter, check digits do.
 * A number that is one slip away from a bag is only suggested.
 *
 * @param accepted the user's decisions: row of the file to bag number, or to nothing for a row to leave out
 */
export function matchBags(
  results: LabResults,
  bags: readonly Bag[],
  accepted: ReadonlyMap<number, string | undefined> = new Map(),
): LabMatch {
  const byText = new Map(bags.map((bag) => [bag.bag, bag]));
  const byKey = uniqueByKey(bags);
  const rowsOf = new Map<Bag, { row: LabRow; how: MatchedBag['how'] }[]>();
  const strangers: LabRow[] = [];
  for (const row of results.rows) {
    const decided = accepted.has(row.row);
    const decision = accepted.get(row.row);
    if (decided && decision === undefined) continue;
    const own = decision === undefined ? byText.get(row.bag) : byText.get(decision);
    const bag = own ?? (decided ? undefined : byKey.get(keyOf(row.bag)));
    if (!bag) strangers.push(row);
    else
      rowsOf.set(bag, [
        ...(rowsOf.get(bag) ?? []),
        { row, how: decided ? 'accepted' : own ? 'exact' : 'same' },
      ]);
  }
  const matched: MatchedBag[] = [];
  const missing: Bag[] = [];
  const doubled: DoubledBag[] = [];
  for (const bag of bags) {
    const found = rowsOf.get(bag) ?? [];
    if (found.length === 0) missing.push(bag);
    else if (found.length === 1) matched.push({ bag, ...found[0] });
    else {
      const rows = found.map((f) => f.row);
      doubled.push({ bag, rows, alike: rows.every((row) => sayTheSame(row, rows[0])) });
    }
  }
  const open = new Set(missing);
  const unknown = strangers.map((row): UnknownBag => {
    const near = bags.filter((bag) => isOneSlip(bare(row.bag), bare(bag.bag)));
    // A bag without a result is the likelier one.
    const stillOpen = near.filter((bag) => open.has(bag));
    return { row, nearest: stillOpen.length > 0 ? stillOpen : near };
  });
  return { matched, missing, doubled, unknown, problems: sayAll(results, { missing, doubled, unknown }) };
}

/** Letters and digits alone, in capitals. */
const bare = (text: string): string =>
  text
    .normalize('NFKC')
    .toUpperCase()
    .replace(/[^\p{L}\p{N}]+/gu, '');

/**
 * What two writings of one bag's number share: our own numbers as they are printed; of others the letters and digits, in
 * capitals, each run of digits without its leading zeros.
 */
function keyOf(text: string): string {
  const own = readBagNumber(text);
  if (own) return writeBagNumber(own);
  return text
    .normalize('NFKC')
    .toUpperCase()
    .replace(/\d+/g, (digits) => digits.replace(/^0+(?=\d)/, ''))
    .replace(/[^\p{L}\p{N}]+/gu, '');
}

/** Bags by key; where two share one, only their exact text tells them apart. */
function uniqueByKey(bags: readonly Bag[]): ReadonlyMap<string, Bag> {
  const byKey = new Map<string, Bag>();
  const shared = new Set<string>();
  for (const bag of bags) {
    const key = keyOf(bag.bag);
    if (byKey.has(key)) shared.add(key);
    byKey.set(key, bag);
  }
  for (const key of shared) byKey.delete(key);
  return byKey;
}

/** Whether two texts are one wrong, missing or extra character or one exchange of neighbours apart (Damerau 1964), or the same. */
function isOneSlip(a: string, b: string): boolean {
  if (a === '' || Math.abs(a.length - b.length) > 1) return false;
  let from = 0;
  while (from < a.length && from < b.length && a[from] === b[from]) from++;
  const rest = (text: string, skip: number) => text.slice(from + skip);
  return (
    a === b ||
    rest(a, 1) === rest(b, 1) ||
    rest(a, 1) === rest(b, 0) ||
    rest(a, 0) === rest(b, 1) ||
    (a[from] === b[from + 1] && a[from + 1] === b[from] && rest(a, 2) === rest(b, 2))
  );
}

function sayTheSame(a: LabRow, b: LabRow): boolean {
  const keys = new Set([...Object.keys(a.values), ...Object.keys(b.values)]);
  return [...keys].every((key) => a.values[key]?.value === b.values[key]?.value);
}

function sayAll(
  { file, columns }: LabResults,
  { missing, doubled, unknown }: Pick<LabMatch, 'missing' | 'doubled' | 'unknown'>,
): Problem[] {
  const column = columns.find((c) => c.role === 'bag')?.header;
  return [
    ...unknown.map(({ row, nearest }): Problem => ({
      file,
      row: row.row,
      column,
      problem:
        nearest.length === 0
          ? `Bag ${row.bag} is none of those sent; its results were set aside.`
          : `Bag ${row.bag} is none of those sent, but ${nearest.map((b) => b.bag).join(' or ')} is one slip away; its results were set aside.`,
      remedy:
        nearest.length === 0
          ? 'Look whether the row belongs to another field, or say which bag it is.'
          : 'Confirm the bag if that is the one, after a look at the bag or a call to the laboratory.',
    })),
    ...doubled.map(({ bag, rows, alike }): Problem => ({
      file,
      row: rows[1].row,
      column,
      problem: `Bag ${bag.bag} comes ${rows.length} times, in rows ${rows.map((r) => r.row).join(', ')}, ${alike ? 'with the same results' : 'with different results'}; none was used yet.`,
      remedy: alike ? 'Choose one of the rows.' : 'Ask the laboratory which row is right, and choose it.',
    })),
    ...missing.map((bag): Problem => ({
      file,
      column,
      problem: `Bag ${bag.bag} was sent and has no result.`,
      remedy: 'Ask the laboratory for it; the map is made without it until then.',
    })),
  ];
}
