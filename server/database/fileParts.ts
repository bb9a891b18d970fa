import type { FileRole, GivenFile } from '../../src/advise/request.ts';
import type { Database } from './migration.ts';

/** Bytes of a part of a file: small against memory, large against the work for a row. */
export const PART_BYTES = 1024 * 1024;

export interface FileRow {
  readonly n: number;
  readonly name: string;
  readonly role: FileRole;
  /** JSON of corrected columns by header. */
  readonly columns: string | null;
  readonly size: number;
}

export function insertFiles(db: Database, caseId: string, files: readonly GivenFile[]): void {
  const file = db.prepare(
    'INSERT INTO files (case_id, n, name, role, columns, size) VALUES (?, ?, ?, ?, ?, ?)',
  );
  const part = db.prepare('INSERT INTO file_parts (case_id, n, part, bytes) VALUES (?, ?, ?, ?)');
  for (const [n, { name, role, columns, bytes }] of files.entries()) {
    file.run(caseId, n, name, role, columns ? JSON.stringify(columns) : null, bytes.length);
    for (let at = 0, i = 0; at < bytes.length; at += PART_BYTES, i++)
      part.run(caseId, n, i, view(bytes.subarray(at, at + PART_BYTES)));
  }
}

/** The same memory as a buffer, not a copy. */
const view = (bytes: Uint8Array) => Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);

export const fileRows = (db: Database, caseId: string): FileRow[] =>
  db
    .prepare<[string], FileRow>('SELECT n, name, role, columns, size FROM files WHERE case_id = ? ORDER BY n')
    .all(caseId);

/**
 * The whole contents of a file.
 * @throws RangeError if parts of it are missing
 */
export function readFileBytes(db: Database, caseId: string, { n, size, name }: FileRow): Uint8Array {
  const whole = new Uint8Array(size);
  const parts = db.prepare<[string, number], Buffer>(
    'SELECT bytes FROM file_parts WHERE case_id = ? AND n = ? ORDER BY part',
  );
  let at = 0;
  for (const bytes of parts.pluck().iterate(caseId, n)) {
    whole.set(bytes, at);
    at += bytes.length;
  }
  if (at !== size) throw new RangeError(`Of the file ${name} only ${at} of ${size} bytes are kept.`);
  return whole;
}
