import type { z } from 'zod';
import type { Problem, Read } from '../read/problem.ts';
import { guidanceSchema, type Guidance } from './guidanceSchema.ts';
import iowa from './guidance/iowa-2013.json' with { type: 'json' };
import triState1995 from './guidance/tri-state-1995.json' with { type: 'json' };
import triState2020 from './guidance/tri-state-2020.json' with { type: 'json' };

export { guidanceSchema, type Guidance } from './guidanceSchema.ts';

/** The tables that come with the tool, the usual one first. */
export const guidanceTables: readonly Guidance[] = [triState2020, triState1995, iowa].map((json) =>
  guidanceSchema.parse(json),
);

/** The table of an id such as `tri-state-2020`, among `tables`; undefined when there is none. */
export function findGuidance(id: string, tables: readonly Guidance[] = guidanceTables): Guidance | undefined {
  return tables.find((g) => g.id === id);
}

/** Problems told at once. */
const MOST_PROBLEMS = 5;

/**
 * Reads a guidance table that the user gives.
 * @param json the file's text, or what it parses to
 * @returns the table, or what to mend: each problem names its place as a JSON path, `rows[2].equation.years.value`
 */
export function parseGuidance(file: string, json: unknown): Read<Guidance> {
  let given = json;
  if (typeof json === 'string') {
    try {
      given = JSON.parse(json);
    } catch (error) {
      const where = error instanceof Error ? ` (${error.message})` : '';
      return refused([
        {
          file,
          problem: `This is not JSON${where}.`,
          remedy:
            'Start from one of the tables that come with the tool, and check commas, quotes and brackets.',
        },
      ]);
    }
  }
  const parsed = guidanceSchema.safeParse(given);
  if (parsed.success) return { ok: true, value: parsed.data, notes: [] };
  return refused(
    parsed.error.issues.slice(0, MOST_PROBLEMS).map((issue) => ({ file, ...said(issue, given) })),
  );
}

const refused = (problems: readonly Problem[]): Read<Guidance> => ({ ok: false, problems });

/** One sentence on what is wrong where, and what to put there. */
function said(issue: z.core.$ZodIssue, root: unknown): Pick<Problem, 'problem' | 'remedy'> {
  const path = pathOf(issue.path);
  const value = valueAt(root, issue.path);
  const is = `${path} is ${value === undefined ? 'missing' : quoted(value)}`;
  switch (issue.code) {
    case 'invalid_type':
      return { problem: `${is}.`, remedy: `Give ${kinds[issue.expected] ?? `a ${issue.expected}`} there.` };
    case 'unrecognized_keys': {
      const keys = issue.keys.map((k) => pathOf([...issue.path, k])).join(', ');
      return {
        problem: `${keys} ${issue.keys.length > 1 ? 'are' : 'is'} not known in such a table.`,
        remedy: 'Mend the spelling or leave it out.',
      };
    }
    case 'invalid_value':
      return { problem: `${is}.`, remedy: `Give one of ${issue.values.join(', ')}.` };
    case 'invalid_union':
      return {
        problem: `${is}.`,
        remedy: `Give one of ${'options' in issue && Array.isArray(issue.options) ? issue.options.join(', ') : 'the known forms'}.`,
      };
    case 'too_small':
      return {
        problem: `${is}.`,
        remedy: sizeRemedy(issue.origin, 'least', Number(issue.minimum), issue.inclusive),
      };
    case 'too_big':
      return {
        problem: `${is}.`,
        remedy: sizeRemedy(issue.origin, 'most', Number(issue.maximum), issue.inclusive),
      };
    case 'custom':
      return { problem: `${path} ${issue.message}.`, remedy: 'Mend it in the file and give it again.' };
    default:
      return { problem: `${is}.`, remedy: `${issue.message[0].toUpperCase()}${issue.message.slice(1)}.` };
  }
}

const kinds: Readonly<Record<string, string>> = {
  number: 'a number',
  string: 'a text in quotes',
  array: 'a list in [ ]',
  tuple: 'a pair of numbers in [ ]',
  object: 'a block in { }',
  record: 'a block in { }',
  nullable: 'a number or null',
};

function sizeRemedy(of: string, end: 'least' | 'most', bound: number, inclusive?: boolean): string {
  if (of === 'string') return 'Give a text that is not empty.';
  if (of === 'array') return `Give at ${end} ${bound} of them.`;
  if (inclusive) return `Give a number of at ${end} ${bound}.`;
  return `Give a number ${end === 'least' ? 'above' : 'below'} ${bound}.`;
}

/** `rows[2].equation.years`; the whole file when the path is empty. */
function pathOf(path: readonly PropertyKey[]): string {
  if (path.length === 0) return 'The file as a whole';
  return path
    .map((key, i) =>
      typeof key === 'number'
        ? `[${key}]`
        : /^[A-Za-z_]\w*$/.test(String(key))
          ? `${i > 0 ? '.' : ''}${String(key)}`
          : `["${String(key)}"]`,
    )
    .join('');
}

function valueAt(root: unknown, path: readonly PropertyKey[]): unknown {
  let value = root;
  for (const key of path) {
    if (value === null || typeof value !== 'object') return undefined;
    value = (value as Readonly<Record<PropertyKey, unknown>>)[key];
  }
  return value;
}

/** A value as the user sees it in the file, shortened. */
function quoted(value: unknown): string {
  if (Array.isArray(value)) return value.length === 0 ? 'an empty list' : 'a list';
  if (typeof value === 'object' && value !== null) return 'a block';
  const written = JSON.stringify(value) ?? String(value);
  return written.length > 40 ? `${written.slice(0, 39)}…` : written;
}
