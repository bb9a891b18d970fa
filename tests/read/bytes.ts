import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import type { Read } from '../../src/read/problem.ts';

/** A text as UTF-8 bytes. */
export const bytesOf = (text: string): Uint8Array => new TextEncoder().encode(text);

/** A file beside the tests, as bytes. */
export const fixture = (path: string): Uint8Array =>
  new Uint8Array(readFileSync(fileURLToPath(new URL(path, import.meta.url))));

/** The value of a reading that must have succeeded. */
export function valueOf<T>(read: Read<T>): T {
  if (!read.ok) throw new Error(read.problems.map((p) => p.problem).join(' '));
  return read.value;
}

/** The sentences of what stopped a reading, or of its notes. */
export const sentences = <T>(read: Read<T>): string =>
  (read.ok ? read.notes : read.problems).map((p) => `${p.problem} ${p.remedy}`).join('\n');
