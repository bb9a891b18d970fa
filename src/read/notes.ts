import type { Problem } from './problem.ts';

/** More notes of one kind than this are folded into one with a count. */
export const FOLD_ABOVE = 20;
const ROWS_SHOWN = 5;

/** Notes gathered while a file is read; many of one kind become one with the count and the first rows. */
export interface NoteBook {
  /** Adds a note; notes of the same `kind` fold together once there are more than {@link FOLD_ABOVE}. */
  add(kind: string, note: Omit<Problem, 'file'>): void;
  /** How many notes of a kind were added. */
  count(kind: string): number;
  /** All notes in order of first appearance of their kind. */
  all(): Problem[];
}

/** An empty {@link NoteBook} for a file. Keeps no more than the notes it will show. */
export function noteBook(file: string): NoteBook {
  const kinds = new Map<string, { shown: Problem[]; count: number }>();
  return {
    add(kind, note) {
      const entry = kinds.get(kind) ?? { shown: [], count: 0 };
      if (entry.shown.length < FOLD_ABOVE) entry.shown.push({ file, ...note });
      entry.count++;
      kinds.set(kind, entry);
    },
    count: (kind) => kinds.get(kind)?.count ?? 0,
    all: () =>
      [...kinds.values()].flatMap(({ shown, count }) => (count > FOLD_ABOVE ? [fold(shown, count)] : shown)),
  };
}

function fold(shown: readonly Problem[], count: number): Problem {
  const first = shown[0];
  const rows = shown.flatMap((p) => (p.row === undefined ? [] : [p.row])).slice(0, ROWS_SHOWN);
  const where = rows.length > 0 ? ` The first are in rows ${rows.join(', ')}.` : '';
  return { ...first, problem: `${first.problem} ${count} rows are like this.${where}` };
}
