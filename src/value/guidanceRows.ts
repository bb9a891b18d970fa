import type { CropPlan, GrownCrop } from './crops.ts';
import type { Guidance, GuidanceRow } from './guidanceSchema.ts';

/** A test as a series of a field names it. */
export interface TestedSeries {
  /** Catalogue id. */
  readonly id: string;
  readonly extractant?: string;
}

export interface ChosenRows {
  readonly rows: readonly { readonly crop: GrownCrop; readonly row: GuidanceRow }[];
  /** Crops of the plan that the guidance has no row for. */
  readonly without: readonly GrownCrop[];
  /** Extractant or buffer that the rows are read for; undefined where there is no choice. */
  readonly extractant?: string;
  /** Whether it was taken because the test names none. */
  readonly extractantAssumed: boolean;
}

/**
 * The rows of a guidance for a test and a plan. Limits of one extractant never serve another; a test that names none takes
 * the first that has a row for one of the crops.
 * @param cec meq/100 g
 * @returns `missing`: one sentence on why there is no row
 */
export function chooseRows(
  guidance: Guidance,
  plan: CropPlan,
  { id, extractant: named }: TestedSeries,
  cec: number,
): ChosenRows | { readonly missing: string } {
  const { short } = guidance;
  const ofTest = guidance.rows.filter((r) => r.analyte === id);
  const why = reasonFor(guidance, plan, id, named);
  if (ofTest.length === 0) return { missing: sentence(`${short} gives no rates by ${id}`, why) };
  const choice = ofTest.some((r) => r.extractants.length > 0);
  const held = choice && named !== undefined ? ofTest.filter((r) => holdsFor(r, named)) : ofTest;
  if (held.length === 0) {
    const known = [...new Set(ofTest.flatMap((r) => r.extractants))];
    return {
      missing: sentence(
        `${short} gives no limits for ${id} by ${named}`,
        why ?? `it has those by ${joined(known)}`,
      ),
    };
  }
  const rowOf = (crop: string, extractant: string | undefined) =>
    held.find(
      (r) =>
        r.crops.includes(crop) &&
        (extractant === undefined || holdsFor(r, extractant)) &&
        cec > (r.cec?.above ?? -Infinity) &&
        cec <= (r.cec?.upTo ?? Infinity),
    );
  const first = plan.crops.map((c) => rowOf(c.crop, named)).find((r) => r !== undefined);
  const extractant = choice ? (named ?? first?.extractants[0]) : undefined;
  const found = plan.crops.map((crop) => ({ crop, row: rowOf(crop.crop, extractant) }));
  const rows = found.flatMap(({ crop, row }) => (row ? [{ crop, row }] : []));
  if (rows.length === 0)
    return {
      missing: sentence(
        `${short} gives no limits for ${id}${choice && named ? ` by ${named}` : ''} in ${plan.name}`,
        why,
      ),
    };
  return {
    rows,
    without: found.flatMap(({ crop, row }) => (row ? [] : [crop])),
    extractant,
    extractantAssumed: choice && named === undefined,
  };
}

const alike = (a: string, b: string) => a.toLowerCase() === b.toLowerCase();
const holdsFor = (row: GuidanceRow, extractant: string) => row.extractants.some((x) => alike(x, extractant));

/** What the guidance says of its own gap; the reason that fits most closely. */
function reasonFor(
  { notGiven }: Guidance,
  plan: CropPlan,
  id: string,
  extractant: string | undefined,
): string | undefined {
  const fits = notGiven.filter(
    (n) =>
      n.analyte === id &&
      (!n.extractants || (extractant !== undefined && n.extractants.some((x) => alike(x, extractant)))) &&
      (!n.crops || plan.crops.every((c) => n.crops!.includes(c.crop))),
  );
  const closeness = (n: (typeof fits)[number]) => (n.extractants ? 2 : 0) + (n.crops ? 1 : 0);
  return [...fits].sort((a, b) => closeness(b) - closeness(a))[0]?.why;
}

const sentence = (what: string, why?: string) => `${what}${why ? `: ${why}` : ''}.`;

/** `a, b and c` */
export function joined(words: readonly string[]): string {
  return words.length < 2
    ? words.join('')
    : `${words.slice(0, -1).join(', ')} and ${words[words.length - 1]}`;
}
