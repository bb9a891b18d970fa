import type { GivenFile } from '../src/advise/request.ts';
import { readTable } from '../src/read/index.ts';

/** Enough of a table for its first lines. */
const HEAD_BYTES = 64 * 1024;

export interface FileHeaders {
  readonly file: string;
  readonly headers: readonly string[];
}

/** The column names of the tables among files, for a user to say what they are; other files are left out. */
export function tableHeaders(files: readonly GivenFile[]): FileHeaders[] {
  return files
    .filter((f) => (f.role === 'points' || f.role === 'yield') && /\.(?:csv|tsv|txt)$/i.test(f.name))
    .flatMap((f) => {
      const table = readTable(f.name, firstLines(f.bytes));
      if (!('headers' in table)) return [];
      return { file: f.name, headers: table.headers.filter((h) => h !== '') };
    });
}

/** The head of a file up to the end of a line. */
function firstLines(bytes: Uint8Array): Uint8Array {
  if (bytes.length <= HEAD_BYTES) return bytes;
  const end = bytes.lastIndexOf(0x0a, HEAD_BYTES);
  return bytes.subarray(0, end > 0 ? end : HEAD_BYTES);
}
