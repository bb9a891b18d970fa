import multer from 'multer';
import type { RequestHandler } from 'express';
import type { FileRole, GivenFile } from '../../src/advise/request.ts';
import { fileRoles, type Core } from '../core.ts';
import { HttpError } from '../httpError.ts';

export const MOST_BYTES = 60 * 1024 * 1024;
export const MOST_FILES = 12;

const receive = multer({
  storage: multer.memoryStorage(),
  defParamCharset: 'utf8',
  limits: { fileSize: MOST_BYTES, files: MOST_FILES, fields: 200, fieldSize: 20_000, parts: 220 },
}).fields([{ name: 'files' }, ...fileRoles.map((name) => ({ name }))]);

/** Receives a form with files into memory; a limit passed over becomes a clear sentence. */
export const receiveFiles: RequestHandler = (req, res, next) => {
  void receive(req, res, (error: unknown) => {
    if (error instanceof multer.MulterError) next(limitError(error));
    else if (error) next(new HttpError(400, 'The form arrived broken off. Please send it again.'));
    else next();
  });
};

function limitError(error: multer.MulterError): HttpError {
  if (error.code === 'LIMIT_FILE_SIZE')
    return new HttpError(
      413,
      `One of the files is larger than ${MOST_BYTES / 1024 / 1024} MB. Bring a part of it, or fewer columns.`,
    );
  if (error.code === 'LIMIT_FILE_COUNT')
    return new HttpError(
      413,
      `More than ${MOST_FILES} files were brought. One field needs fewer; bring the fields one by one.`,
    );
  if (error.code === 'LIMIT_UNEXPECTED_FILE')
    return new HttpError(
      400,
      'A file came under a name the form does not have. Please use the form on this page.',
    );
  return new HttpError(413, 'The form holds more than can be taken. Bring fewer files or shorter texts.');
}

/** The files of a form with their roles: from their own inputs, as the page says, or guessed. */
export function givenFiles(received: unknown, body: unknown, core: Core): GivenFile[] {
  const byField = (received ?? {}) as Record<string, Express.Multer.File[] | undefined>;
  const out: GivenFile[] = [];
  const dropped = byField.files ?? [];
  const said = [(body as Record<string, unknown> | undefined)?.roles ?? []].flat();
  for (const [i, file] of dropped.entries()) {
    if (isEmpty(file)) continue;
    const bytes = new Uint8Array(file.buffer);
    const name = cleanName(file.originalname);
    const role = fileRoles.find((r) => r === said[i]) ?? core.guessRole(name, bytes);
    out.push({ role, name, bytes });
  }
  for (const role of fileRoles)
    for (const file of byField[role] ?? [])
      if (!isEmpty(file))
        out.push({ role, name: cleanName(file.originalname), bytes: new Uint8Array(file.buffer) });
  return out;
}

/** An input left alone arrives as a file with neither name nor content. */
const isEmpty = (file: Express.Multer.File): boolean => file.originalname === '' && file.size === 0;

/** A name fit to show: no folders, no control characters, not too long. */
export function cleanName(name: string): string {
  const last = name.split(/[\\/]/).at(-1) ?? '';
  const plain = last.replace(/\p{Cc}/gu, '').slice(0, 120);
  return plain || 'unnamed file';
}

const labels: Readonly<Record<FileRole, string>> = {
  points: 'soil tests',
  boundary: 'boundary',
  soilUnits: 'soil units',
  yield: 'yield map',
  keepOut: 'ground to keep out of',
  guidance: 'rates of your region',
};

/** A role in words. */
export const roleLabel = (role: FileRole): string => labels[role];

/** Replaces files of the same name, keeps the others. */
export function mergeFiles(kept: readonly GivenFile[], added: readonly GivenFile[]): GivenFile[] {
  const names = new Set(added.map((f) => f.name));
  return [...kept.filter((f) => !names.has(f.name)), ...added];
}
