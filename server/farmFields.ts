import { createHash } from 'node:crypto';
import path from 'node:path';
import type { AdviceRequest, FileRole, GivenFile } from '../src/advise/index.ts';
import type { Problem } from '../src/read/index.ts';
import type { Adviser, Outcome } from './core.ts';
import { answerOf, type AnsweredField } from './farmPlan.ts';
import type { ManifestField } from './manifest.ts';

/** How fields are worked on. */
export interface FarmWork {
  readonly advise: Adviser;
  /** Fields worked on at a time. */
  readonly most: number;
  /** After each field: how many are done, of how many, and which it was. */
  readonly progress: (done: number, all: number, name: string) => void;
  /** A file that the list names, from wherever the face keeps them; or what is wrong and what to do. */
  readonly readFile: (name: string, role: FileRole) => Promise<Uint8Array | FileTrouble>;
}

export type FileTrouble = Pick<Problem, 'problem' | 'remedy'>;

export interface AnsweredFields {
  readonly fields: readonly AnsweredField[];
  /** Of fields that could not be worked out. */
  readonly problems: readonly Problem[];
}

type Answered = Omit<AnsweredField, 'row'>;
type FieldOutcome =
  | { readonly kind: 'answer'; readonly answered: Answered }
  | { readonly kind: 'refused'; readonly problems: readonly Problem[] }
  | { readonly kind: 'failed'; readonly sentence: string };

/**
 * Answers for all fields of a list, several at a time; those that bring the same are worked out once. Of each answer only
 * what the farm needs is kept, and files are read when their field's turn comes, so that a long list takes little memory.
 */
export async function answerFields(
  rows: readonly ManifestField[],
  list: string,
  options: Readonly<Record<string, unknown>>,
  { advise, most, progress, readFile }: FarmWork,
): Promise<AnsweredFields> {
  const known = new Map<string, Promise<FieldOutcome>>();
  const outcomes = new Array<Answered | readonly Problem[]>(rows.length).fill([]);
  let [next, done] = [0, 0];
  const work = async () => {
    while (next < rows.length) {
      const at = next++;
      const row = rows[at];
      const files = await filesOf(row, list, readFile);
      if ('problems' in files) outcomes[at] = files.problems;
      else {
        const key = keyOf(row, files.given);
        const request: AdviceRequest = {
          fieldName: row.name,
          files: files.given,
          answers: row.answers,
          options,
        };
        const outcome = known.get(key) ?? advise(request, () => undefined).then(essence);
        known.set(key, outcome);
        outcomes[at] = ofRow(await outcome, row, list);
      }
      progress(++done, rows.length, row.name);
    }
  };
  await Promise.all(Array.from({ length: Math.min(most, rows.length) }, work));
  const fields: AnsweredField[] = [];
  const problems: Problem[] = [];
  outcomes.forEach((o, i) => {
    if ('answer' in o) fields.push({ row: rows[i], ...o });
    else problems.push(...o);
  });
  return { fields, problems };
}

function essence(outcome: Outcome): FieldOutcome {
  if (outcome.kind === 'failed') return outcome;
  const { reply } = outcome;
  if (!reply.ok) return { kind: 'refused', problems: reply.problems };
  const { options, tool } = reply.advice;
  return { kind: 'answer', answered: { answer: answerOf(reply.advice), options, tool } };
}

function ofRow(outcome: FieldOutcome, row: ManifestField, list: string): Answered | readonly Problem[] {
  if (outcome.kind === 'answer') return outcome.answered;
  if (outcome.kind === 'failed')
    return [
      {
        file: list,
        row: row.row,
        problem: `${row.name}: ${outcome.sentence}`,
        remedy: 'The other fields stand without it.',
      },
    ];
  // The problem is in the field's own file; the row says whose.
  return outcome.problems.map((p) => {
    const used = row.files.find((f) => path.basename(f.path) === p.file);
    const where = [p.file, p.row === undefined ? '' : `row ${p.row}`, p.column ? `column ${p.column}` : ''];
    return {
      file: list,
      row: row.row,
      column: used?.column,
      problem: `${row.name}: ${where.filter(Boolean).join(', ')}: ${p.problem}`,
      remedy: p.remedy,
    };
  });
}

async function filesOf(
  row: ManifestField,
  list: string,
  readFile: FarmWork['readFile'],
): Promise<{ readonly given: readonly GivenFile[] } | { readonly problems: readonly Problem[] }> {
  const given: GivenFile[] = [];
  const problems: Problem[] = [];
  for (const { role, path: name, column } of row.files) {
    const bytes = await readFile(name, role);
    if ('problem' in bytes)
      problems.push({
        file: list,
        row: row.row,
        column,
        problem: `${name}: ${bytes.problem}`,
        remedy: bytes.remedy,
      });
    else given.push({ role, name: path.basename(name), bytes });
  }
  return problems.length > 0 ? { problems } : { given };
}

/** What an answer depends on besides the options: fields alike in all of it get the same one. */
function keyOf(row: ManifestField, files: readonly GivenFile[]): string {
  const hash = createHash('sha256');
  hash.update(JSON.stringify(Object.entries(row.answers).sort(([a], [b]) => (a < b ? -1 : 1))));
  for (const f of files) hash.update(`\0${f.role}\0${f.name}\0${f.bytes.length}\0`).update(f.bytes);
  return hash.digest('hex');
}
