/**
 * Something in a user's input, said so that it can be mended: where (file, row, column), what, and what to do.
 * Errors at the edge are values of this type; exceptions are for our own mistakes.
 */
export interface Problem {
  readonly file: string;
  /** 1-based line of a table, the header being row 1; feature number for a GIS file. */
  readonly row?: number;
  readonly column?: string;
  /** One clear sentence. */
  readonly problem: string;
  /** What the user can do. */
  readonly remedy: string;
}

/** A reader's outcome: a value with what was set aside or assumed, or what stopped it. */
export type Read<T> =
  | { readonly ok: true; readonly value: T; readonly notes: readonly Problem[] }
  | { readonly ok: false; readonly problems: readonly Problem[] };

/** One line for a terminal or a page: `points.csv, row 14, column P: … …`. */
export function sayProblem(p: Problem): string {
  const where = [
    p.file,
    p.row === undefined ? '' : `row ${p.row}`,
    p.column === undefined ? '' : `column ${p.column}`,
  ];
  return `${where.filter(Boolean).join(', ')}: ${p.problem} ${p.remedy}`.trim();
}
