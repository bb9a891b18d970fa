import papaparse from 'papaparse';
import { questions } from '../src/prior/questions.ts';

/** A column that a farm's list may have. */
export interface ListColumn {
  readonly name: string;
  readonly holds: string;
  readonly examples: readonly [string, string];
}

const asked: Readonly<Record<string, readonly [string, string]>> = {
  soilUnits: ['many', 'one'],
  slope: ['rolling', 'flat'],
  manure: ['regular', 'never'],
  merged: ['several', 'no'],
  fertiliser: ['uniform', 'variable'],
  yieldSpread: ['large', ''],
  phosphorus: ['low', 'right'],
  potassium: ['right', ''],
  crop: ['corn-soybean', 'wheat'],
};

/** Columns of a list of fields, as the form explains them and the template offers them. */
export const listColumns: readonly ListColumn[] = [
  { name: 'name', holds: 'What you call the field.', examples: ['Home Field', 'Lower Meadow'] },
  {
    name: 'area',
    holds: 'Its size. Without one, a boundary or points have to say it.',
    examples: ['74 ac', '38 ac'],
  },
  {
    name: 'last_sampled',
    holds: 'Year of the last sampling, or “never”.',
    examples: ['2023', 'never'],
  },
  {
    name: 'fixed',
    holds: '“sample” if it must be sampled this autumn, “leave out” if it must not be; empty: as pays best.',
    examples: ['', ''],
  },
  ...questions
    .filter((q) => q.id in asked)
    .map((q) => ({
      name: q.id,
      holds: `${q.ask} ${(q.choices ?? []).map((c) => c.value).join(', ')}.`,
      examples: asked[q.id],
    })),
  { name: 'points', holds: 'Name of a file with last time’s soil tests.', examples: ['', ''] },
  { name: 'boundary', holds: 'Name of a file with its outline.', examples: ['', ''] },
  { name: 'soils', holds: 'Name of a file with soil-map polygons.', examples: ['', ''] },
  {
    name: 'yield',
    holds: 'Names of files with yield points, a semicolon between.',
    examples: ['', ''],
  },
];

/** A list to fill in, with two invented rows. */
export const templateCsv = (): string =>
  `${papaparse.unparse({
    fields: listColumns.map((c) => c.name),
    data: [0, 1].map((row) => listColumns.map((c) => c.examples[row])),
  })}\r\n`;
