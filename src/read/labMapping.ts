import { plainText } from './unitText.ts';

/** What a column of a laboratory's file is. `test`, `result` and `unit` are those of a file with a line for each test. */
export type LabRole = 'bag' | 'analyte' | 'lab number' | 'test' | 'result' | 'unit' | 'ignored';

/** One column's part, as it was recognised or corrected. */
export interface LabChoice {
  readonly role: LabRole;
  /** Catalogue id, for an analyte. */
  readonly analyte?: string;
  /** Unit the column is in (`ppm`, `lb/ac P2O5`), for an analyte. */
  readonly unit?: string;
}

/** How one laboratory's files are read: plain data that can be kept and used on its next file. */
export interface LabMapping {
  /** From `labSignature`: files with the same one have the same columns. */
  readonly signature: string;
  /** By header. */
  readonly columns: Readonly<Record<string, LabChoice>>;
}

/** What tells one laboratory's layout from another's: its headers in lower case, in the order of the alphabet. */
export const labSignature = (headers: readonly string[]): string =>
  headers
    .map((h) => plainText(h).replace(/\s+/g, ' '))
    .sort()
    .join(' | ');

/** A mapping with one column corrected; whoever held the bag's role before gives it up. */
export function correctMapping(mapping: LabMapping, header: string, choice: LabChoice): LabMapping {
  const columns = Object.fromEntries(
    Object.entries(mapping.columns).map(([key, old]): [string, LabChoice] =>
      choice.role === 'bag' && old.role === 'bag' ? [key, { role: 'ignored' }] : [key, old],
    ),
  );
  return { ...mapping, columns: { ...columns, [header]: choice } };
}

/** A mapping's choice for a header, in any case. */
export function labChoiceFor(mapping: LabMapping | undefined, header: string): LabChoice | undefined {
  const wanted = header.trim().toLowerCase();
  const key = Object.keys(mapping?.columns ?? {}).find((k) => k.trim().toLowerCase() === wanted);
  return key === undefined ? undefined : mapping?.columns[key];
}
