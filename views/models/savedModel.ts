import { formatArea } from '../format.ts';

/** A kept answer or question of a field. */
export interface SavedSeason {
  readonly id: string;
  readonly year: number;
  /** Milliseconds since 1970. */
  readonly changedAt: number;
  readonly fileCount: number;
  /** The present answer's verdict; null while there is none. */
  readonly headline: string | null;
  /** Whether something stood in the way of an answer. */
  readonly refused: boolean;
  readonly areaHa: number | null;
  readonly sample: boolean;
  readonly metric: boolean;
}

/** A field with its seasons, the latest first. */
export interface SavedField {
  readonly id: string;
  /** Empty if it was never named. */
  readonly name: string;
  readonly farm?: { readonly id: string; readonly name: string };
  readonly seasons: readonly SavedSeason[];
}

export interface SeasonModel {
  readonly href: string;
  readonly id: string;
  readonly year: number;
  readonly says: string;
  /** Whether `says` is a verdict rather than why there is none. */
  readonly answered: boolean;
  readonly note: string;
  /** What the season before or after this one within the year is told apart by. */
  readonly earlier: readonly Omit<SeasonModel, 'earlier'>[];
}

export interface FieldModel {
  readonly id: string;
  readonly name: string;
  readonly area: string;
  readonly seasons: readonly SeasonModel[];
}

export interface FarmModel {
  readonly id?: string;
  readonly name: string;
  readonly fields: readonly FieldModel[];
}

export interface SavedModel {
  readonly farms: readonly FarmModel[];
  readonly sentence: string;
  /** Whether a search is offered: not for a list that is seen at a glance. */
  readonly searchable: boolean;
  readonly query: string;
  readonly hasSample: boolean;
  readonly fieldCount: number;
}

/** Fields that are seen at a glance. */
const AT_A_GLANCE = 12;

export const shownName = (name: string): string => (name === '' ? 'Field without a name' : name);

/** The list of saved fields by farm, those of no farm last; `query` keeps what has all of its words. */
export function savedModel(fields: readonly SavedField[], query = ''): SavedModel {
  const found = fields.filter((field) => matches(field, query));
  const farms = new Map<string, FarmModel & { readonly fields: FieldModel[] }>();
  for (const field of found) {
    const key = field.farm?.id ?? '';
    let farm = farms.get(key);
    if (!farm) {
      const name = field.farm?.name ?? (farms.size > 0 || hasFarms(found) ? 'No farm' : 'Your fields');
      farms.set(key, (farm = { id: field.farm?.id, name, fields: [] }));
    }
    farm.fields.push(fieldModel(field));
  }
  const inOrder = [...farms.values()].sort(
    (a, b) => Number(a.id === undefined) - Number(b.id === undefined) || byName(a, b),
  );
  for (const farm of inOrder) farm.fields.sort(byName);
  return {
    farms: inOrder,
    sentence: sentenceOf(fields.length, found.length, query),
    searchable: fields.length > AT_A_GLANCE || query !== '',
    query,
    hasSample: fields.some((f) => f.seasons.some((s) => s.sample)),
    fieldCount: fields.length,
  };
}

const hasFarms = (fields: readonly SavedField[]): boolean => fields.some((f) => f.farm);

const byName = (a: { readonly name: string }, b: { readonly name: string }): number =>
  a.name.localeCompare(b.name, 'en', { numeric: true, sensitivity: 'base' });

function matches(field: SavedField, query: string): boolean {
  const text = [field.name, field.farm?.name, ...field.seasons.flatMap((s) => [s.year, s.headline])]
    .join(' ')
    .toLowerCase();
  return query
    .toLowerCase()
    .split(/\s+/)
    .every((word) => text.includes(word));
}

function sentenceOf(all: number, found: number, query: string): string {
  if (all === 0) return 'Nothing is saved yet.';
  if (query !== '')
    return found === 0 ? `No field has “${query}”.` : `${found} of ${all} fields have “${query}”.`;
  return all === 1 ? 'One field is saved on this computer.' : `${all} fields are saved on this computer.`;
}

export function fieldModel(field: SavedField): FieldModel {
  const latest = field.seasons.find((s) => s.areaHa !== null);
  const seasons: (SeasonModel & { readonly earlier: Omit<SeasonModel, 'earlier'>[] })[] = [];
  for (const season of field.seasons) {
    const last = seasons.at(-1);
    if (last?.year === season.year) last.earlier.push(seasonModel(season));
    else seasons.push({ ...seasonModel(season), earlier: [] });
  }
  return {
    id: field.id,
    name: shownName(field.name),
    area: latest ? formatArea(latest.areaHa ?? NaN, latest.metric ? 'metric' : 'us') : '',
    seasons,
  };
}

function seasonModel(season: SavedSeason): Omit<SeasonModel, 'earlier'> {
  return {
    id: season.id,
    href: `/cases/${season.id}`,
    year: season.year,
    says: saysOf(season),
    answered: season.headline !== null,
    note: `${broughtOf(season.fileCount)}, changed ${formatDay(season.changedAt)}`,
  };
}

function saysOf({ headline, refused }: SavedSeason): string {
  if (headline !== null) return headline;
  return refused
    ? 'Something is in the way of an answer: open it to see what.'
    : 'Worked out when you open it.';
}

const broughtOf = (files: number): string =>
  files === 0 ? 'From answers' : files === 1 ? 'From one file' : `From ${files} files`;

/** A day as people write it: `Nov 25, 2026`. */
export const formatDay = (at: number): string =>
  new Date(at).toLocaleDateString('en-US', { dateStyle: 'medium' });
