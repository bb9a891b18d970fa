import type { Advice, InputReport } from '../../src/advise/advice.ts';
import { analyteCatalogue } from '../../src/read/analyteCatalogue.ts';
import { elevationUnits } from '../../src/read/elevation.ts';
import { sayProblem } from '../../src/read/problem.ts';
import type { ColumnUse } from '../../src/read/records.ts';
import { sayAside } from './choiceOptions.ts';

export interface ColumnModel {
  readonly header: string;
  readonly why: string;
  /** The select's value: a role, or `analyte:P`. */
  readonly use: string;
  readonly useLabel: string;
  readonly unit: string;
}

export interface ReadingModel {
  readonly file: string;
  readonly what: string;
  readonly counts: string;
  readonly notes: readonly string[];
  readonly columns: readonly ColumnModel[];
}

/** What a column can be taken for, in the trade's words. */
export const columnUses: readonly { readonly value: string; readonly label: string }[] = [
  { value: 'x', label: 'Longitude or easting' },
  { value: 'y', label: 'Latitude or northing' },
  { value: 'label', label: 'Sample or bag label' },
  ...analyteCatalogue.map((a) => ({ value: `analyte:${a.id}`, label: a.label })),
  { value: 'analyte:', label: 'Another soil measure' },
  { value: 'yield', label: 'Yield' },
  { value: 'moisture', label: 'Grain moisture' },
  { value: 'speed', label: 'Speed' },
  { value: 'time', label: 'Time' },
  { value: 'elevation', label: 'Elevation' },
  { value: 'ignored', label: 'Leave out' },
];

/** Units offered for correction; empty leaves the unit to the header. */
export const columnUnits: readonly string[] = [
  ...new Set([...analyteCatalogue.flatMap((a) => Object.keys(a.units)), ...elevationUnits]),
].filter((u) => u !== 'pH');

/** The select's value for a column as it was recognised. */
export function useOfColumn(column: Pick<ColumnUse, 'role' | 'analyte'>): string {
  if (column.role !== 'analyte') return column.role;
  const known = analyteCatalogue.find((a) => a.id === column.analyte);
  return known ? `analyte:${known.id}` : 'analyte:';
}

const rows = (n: number, word: string) => `${n.toLocaleString('en-US')} ${word}${n === 1 ? '' : 's'}`;

const countedAs: Readonly<Record<InputReport['what'], string>> = {
  'test points': 'point',
  boundary: 'area',
  'soil units': 'unit',
  yield: 'yield record',
  guidance: 'row',
  'ground to keep out of': 'shape',
  answers: 'answer',
  options: 'setting',
};

/** What was read of each file, what was set aside, and what each column was taken for. */
export function readingModels(advice: Advice): readonly ReadingModel[] {
  const byUser = advice.options.setAside.length;
  const aside = (input: InputReport) =>
    input.what === 'test points' && byUser > 0 ? `; ${sayAside(byUser)}` : '';
  return advice.inputs.map((input) => ({
    file: input.what === 'answers' ? 'Your answers' : input.file,
    what: input.what,
    counts: `${rows(input.read, countedAs[input.what])} read, ${input.setAside === 0 ? 'none' : input.setAside.toLocaleString('en-US')} set aside${aside(input)}`,
    notes: input.notes.map(sayProblem),
    columns: input.columns.map(columnModel),
  }));
}

function columnModel(column: ColumnUse): ColumnModel {
  const use = useOfColumn(column);
  return {
    header: column.header,
    why: column.why,
    use,
    useLabel: columnUses.find((u) => u.value === use)?.label ?? use,
    unit: column.unit ?? '',
  };
}
