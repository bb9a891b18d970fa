import type { GivenFile } from '../../src/advise/request.ts';
import { elevationUnits } from '../../src/read/elevation.ts';
import type { ColumnChoice, ColumnUse } from '../../src/read/records.ts';
import type { Typed } from '../../views/models/questionForm.ts';

const roles: readonly ColumnUse['role'][] = [
  'x',
  'y',
  'label',
  'analyte',
  'yield',
  'moisture',
  'speed',
  'time',
  'elevation',
  'ignored',
];

interface Correction {
  readonly file: string;
  readonly header: string;
  readonly choice: ColumnChoice;
}

/** The columns a user took for something else than was recognised, from fields `c.<file>.<column>.…`. */
export function columnCorrections(typed: Typed): Correction[] {
  const out: Correction[] = [];
  for (const [key, use] of Object.entries(typed)) {
    const at = /^(c\.\d+\.\d+)\.use$/.exec(key)?.[1];
    if (at === undefined) continue;
    const unit = typed[`${at}.unit`] ?? '';
    const { [`${at}.file`]: file, [`${at}.header`]: header, [`${at}.was`]: was } = typed;
    if (file === undefined || header === undefined || was === `${use}|${unit}`) continue;
    const choice = choiceOf(use, unit);
    if (choice) out.push({ file, header, choice });
  }
  return out;
}

function choiceOf(use: string, unit: string): ColumnChoice | undefined {
  const [name, analyte] = use.split(':');
  const role = roles.find((r) => r === name);
  if (!role) return undefined;
  // A unit left over from what the column was taken for before does not fit.
  const takesUnit = elevationUnits.includes(unit) ? role === 'elevation' : role === 'analyte';
  return { role, analyte: analyte || undefined, unit: takesUnit && unit !== '' ? unit : undefined };
}

/** Files with their corrections added to those made before. */
export function withCorrections<F extends Pick<GivenFile, 'name' | 'columns'>>(
  files: readonly F[],
  corrections: readonly Correction[],
): F[] {
  return files.map((file) => {
    const own = corrections.filter((c) => c.file === file.name);
    if (own.length === 0) return file;
    return {
      ...file,
      columns: { ...file.columns, ...Object.fromEntries(own.map((c) => [c.header, c.choice])) },
    };
  });
}
