import { readFileSync } from 'node:fs';
import path from 'node:path';
import { parseArgs } from 'node:util';
import { adviceOptionsSchema, optionProblems } from '../src/advise/index.ts';
import type { Problem } from '../src/read/index.ts';
import { MOST_YEARS } from '../src/value/index.ts';
import type { Adviser } from './core.ts';
import { farmJson } from './farmData.ts';
import { answerFields, type FileTrouble } from './farmFields.ts';
import { planFarm, type Limits } from './farmPlan.ts';
import { farmText } from './farmText.ts';
import { readManifest } from './manifest.ts';

/** What the command needs of the terminal. */
export interface FarmFaces {
  readonly advise: Adviser;
  /** Fields worked on at a time. */
  readonly most: number;
  /** Checks `--set` pairs. */
  readonly setOptions: (pairs: readonly string[]) => Readonly<Record<string, string>>;
  /** A line on how far it is; each replaces the one before. */
  readonly progress: (line: string) => void;
  readonly thisYear: number;
}

/** The answer for a terminal, with what went wrong for single fields; or what stopped it all. */
export type FarmReply =
  | { readonly ok: true; readonly text: string; readonly problems: readonly Problem[] }
  | { readonly ok: false; readonly problems: readonly Problem[] };

/** Years planned for when nobody says. */
export const DEFAULT_YEARS = 4;

const refusal = (file: string, problem: string, remedy: string): FarmReply => ({
  ok: false,
  problems: [{ file, problem, remedy }],
});

/** `lagstep farm MANIFEST`: advice for each field of a farm, one budget over all, and the years. */
export async function farmCommand(args: readonly string[], faces: FarmFaces): Promise<FarmReply> {
  const asked = readArguments(args, faces.thisYear);
  if ('ok' in asked) return asked;
  const { manifestPath, year, years, budget, json } = asked;
  const options = faces.setOptions(asked.set);
  const checked = adviceOptionsSchema.safeParse(options);
  if (!checked.success) return { ok: false, problems: optionProblems(checked.error, options) };
  const bytes = readAt(manifestPath);
  if ('problem' in bytes) return { ok: false, problems: [{ ...bytes, file: manifestPath }] };
  const manifest = readManifest(path.basename(manifestPath), bytes, year);
  const folder = path.dirname(manifestPath);
  const { fields, problems } = await answerFields(manifest.fields, manifest.file, options, {
    advise: faces.advise,
    most: faces.most,
    progress: (done, all, name) => faces.progress(`${done} of ${all} fields: ${name}`),
    readFile: async (name) => {
      const found = readAt(path.resolve(folder, name));
      if (!('problem' in found)) return found;
      return { ...found, remedy: 'Give the path as seen from the folder of this list.' };
    },
  });
  const all = byRow([...manifest.problems, ...problems]);
  if (fields.length === 0) return { ok: false, problems: all };
  const plan = planFarm(fields, {
    file: manifest.file,
    year,
    years,
    budget,
    notes: manifest.notes,
    setAside: rowsIn(all),
  });
  return { ok: true, text: json ? farmJson(plan, all) : farmText(plan), problems: all };
}

/** Problems in the order of their rows. */
export const byRow = (problems: readonly Problem[]): readonly Problem[] =>
  [...problems].sort((a, b) => (a.row ?? 0) - (b.row ?? 0));

/** Rows that problems are about. */
export const rowsIn = (problems: readonly Problem[]): number => new Set(problems.map((p) => p.row)).size;

interface Asked {
  readonly manifestPath: string;
  readonly year: number;
  readonly years: number;
  readonly budget: Limits;
  readonly set: readonly string[];
  readonly json: boolean;
}

function readArguments(args: readonly string[], thisYear: number): Asked | FarmReply {
  let parsed;
  try {
    parsed = parseArgs({
      args: [...args],
      allowPositionals: true,
      options: {
        budget: { type: 'string' },
        samples: { type: 'string' },
        year: { type: 'string' },
        years: { type: 'string' },
        set: { type: 'string', multiple: true },
        json: { type: 'boolean' },
      },
    });
  } catch (error) {
    return refusal('lagstep farm', `${(error as Error).message.split('. ')[0]}.`, 'See lagstep --help.');
  }
  const { values, positionals } = parsed;
  if (positionals.length !== 1)
    return refusal(
      'lagstep farm',
      positionals.length === 0 ? 'No list of fields was given.' : 'More than one list of fields was given.',
      'Give one CSV file with a row for each field, such as demo-data/farm.csv.',
    );
  const problems: Problem[] = [];
  const number = (option: string, text: string | undefined, low: number, high: number, whole: boolean) => {
    if (text === undefined) return undefined;
    const value = Number(text);
    const good = text.trim() !== '' && value >= low && value <= high && (!whole || Number.isInteger(value));
    if (!good)
      problems.push({
        file: option,
        problem: `“${text}” will not do.`,
        remedy: `Give a ${whole ? 'whole ' : ''}number ${high < Infinity ? `from ${low} to ${high}` : `of at least ${low}`}.`,
      });
    return value;
  };
  const asked: Asked = {
    manifestPath: positionals[0],
    year: number('--year', values.year, 1950, 2200, true) ?? thisYear,
    years: number('--years', values.years, 1, MOST_YEARS, true) ?? DEFAULT_YEARS,
    budget: {
      money: number('--budget', values.budget, 0, Infinity, false),
      samples: number('--samples', values.samples, 0, Infinity, true),
    },
    set: values.set ?? [],
    json: values.json ?? false,
  };
  return problems.length > 0 ? { ok: false, problems: problems.slice(0, 1) } : asked;
}

function readAt(name: string): Uint8Array | FileTrouble {
  try {
    return readFileSync(name);
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    const problem =
      code === 'ENOENT'
        ? 'There is no such file.'
        : code === 'EISDIR'
          ? 'This is a folder, not a file.'
          : 'The file could not be read.';
    return { problem, remedy: 'Check the path and the right to read it.' };
  }
}
