import type { Problem } from './problem.ts';

/** A file's text, and a note when its encoding had to be guessed. */
export interface FileText {
  readonly text: string;
  readonly encoding: 'utf-8' | 'utf-16' | 'windows-1252';
}

const MAGIC: readonly (readonly [bytes: readonly number[], what: string, remedy: string])[] = [
  [
    [0x50, 0x4b, 0x03, 0x04],
    'a zip archive or a spreadsheet workbook',
    'Save the sheet as CSV and give that file.',
  ],
  [[0xd0, 0xcf, 0x11, 0xe0], 'an old spreadsheet workbook', 'Save the sheet as CSV and give that file.'],
  [[0x89, 0x50, 0x4e, 0x47], 'a picture', 'Give the table itself as CSV.'],
  [[0xff, 0xd8, 0xff], 'a picture', 'Give the table itself as CSV.'],
  [[0x47, 0x49, 0x46, 0x38], 'a picture', 'Give the table itself as CSV.'],
  [[0x25, 0x50, 0x44, 0x46], 'a PDF document', 'Ask the laboratory for the results as CSV.'],
  [[0x1f, 0x8b], 'a gzip archive', 'Unpack it and give the file inside.'],
  [[0x00, 0x00, 0x27, 0x0a], 'a part of a shapefile', 'Zip the .shp with its .shx, .dbf and .prj.'],
];

/** Whether bytes begin with a signature. */
export const startsWith = (bytes: Uint8Array, signature: readonly number[]): boolean =>
  signature.every((b, i) => bytes[i] === b);

/**
 * Bytes to text: UTF-8, or UTF-16 when a byte-order mark says so, or windows-1252 when the bytes aren't valid UTF-8.
 * A file that isn't text comes back as the problem that says what it looks like.
 */
export function decodeText(file: string, bytes: Uint8Array): FileText | Problem {
  if (bytes.length === 0)
    return {
      file,
      problem: 'The file is empty.',
      remedy: 'Export it again and check that it opens in a text editor.',
    };
  const known = MAGIC.find(([signature]) => startsWith(bytes, signature));
  if (known) return { file, problem: `This is ${known[1]}, not a table of text.`, remedy: known[2] };
  if (startsWith(bytes, [0xff, 0xfe]))
    return { text: new TextDecoder('utf-16le').decode(bytes), encoding: 'utf-16' };
  if (startsWith(bytes, [0xfe, 0xff]))
    return { text: new TextDecoder('utf-16be').decode(bytes), encoding: 'utf-16' };
  if (looksBinary(bytes))
    return {
      file,
      problem: 'The file is not text.',
      remedy: 'Give a CSV file (comma, semicolon or tab separated text).',
    };
  try {
    return { text: new TextDecoder('utf-8', { fatal: true }).decode(bytes), encoding: 'utf-8' };
  } catch {
    return { text: new TextDecoder('windows-1252').decode(bytes), encoding: 'windows-1252' };
  }
}

/** NUL bytes, or many control characters, in the first part of the file. */
function looksBinary(bytes: Uint8Array): boolean {
  const length = Math.min(bytes.length, 65_536);
  let controls = 0;
  for (let i = 0; i < length; i++) {
    if (bytes[i] === 0) return true;
    if (bytes[i] < 32 && bytes[i] !== 9 && bytes[i] !== 10 && bytes[i] !== 13 && bytes[i] !== 12) controls++;
  }
  return controls > length / 100;
}

/** Narrows {@link decodeText}'s outcome. */
export const isProblem = (value: object): value is Problem => 'problem' in value && 'remedy' in value;
