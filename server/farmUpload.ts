import path from 'node:path';
import multer from 'multer';
import type { Request, Response } from 'express';
import { MOST_BYTES } from './forms/upload.ts';
import { HttpError } from './httpError.ts';
import type { FarmDraft, FarmFile } from './farmStore.ts';

/** Most that is taken at once with a list, all files together. */
export const MOST_FARM_BYTES = 300 * 1024 * 1024;
/** Most files that come along with a list: a few for each of its fields. */
export const MOST_FARM_FILES = 2000;

/** What a farm's form brought; the files lie in the draft's folder under their numbers. */
export interface ReceivedFarm {
  readonly list?: FarmFile;
  readonly files: readonly FarmFile[];
}

/**
 * Receives the farm's form. Files go straight to disk, under numbers: neither their size nor their name matters to the
 * server's memory or paths.
 */
export function receiveFarm(req: Request, res: Response, draft: FarmDraft): Promise<ReceivedFarm> {
  const length = Number(req.headers['content-length']);
  if (!Number.isFinite(length))
    throw new HttpError(411, 'The form came without its length. Please send it from the page.');
  if (length > MOST_FARM_BYTES) {
    // Read to its end, or the browser shows a broken connection instead of the sentence.
    req.resume();
    throw new HttpError(
      413,
      `The files are more than ${MOST_FARM_BYTES / 1024 / 1024} MB together. Bring part of the farm, or leave out the yield maps.`,
    );
  }
  let next = 0;
  const receive = multer({
    storage: multer.diskStorage({
      destination: path.join(draft.folder, 'files'),
      filename: (_req, _file, done) => done(null, String(next++)),
    }),
    defParamCharset: 'utf8',
    preservePath: true,
    limits: { fileSize: MOST_BYTES, files: MOST_FARM_FILES, fields: 200, fieldSize: 20_000 },
  }).fields([{ name: 'list', maxCount: 1 }, { name: 'files' }, { name: 'folder' }]);
  return new Promise((done, fail) => {
    void receive(req, res, (error: unknown) => {
      if (error instanceof multer.MulterError) fail(limitError(error));
      else if (error) fail(new HttpError(400, 'The form arrived broken off. Please send it again.'));
      else done(receivedOf(req.files));
    });
  });
}

function limitError(error: multer.MulterError): HttpError {
  if (error.code === 'LIMIT_FILE_SIZE')
    return new HttpError(413, `One of the files is larger than ${MOST_BYTES / 1024 / 1024} MB.`);
  if (error.code === 'LIMIT_FILE_COUNT')
    return new HttpError(413, `More than ${MOST_FARM_FILES} files were brought.`);
  if (error.code === 'LIMIT_UNEXPECTED_FILE')
    return new HttpError(
      400,
      'A file came that the form has no place for. Please use the form on this page.',
    );
  return new HttpError(413, 'The form holds more than can be taken.');
}

function receivedOf(received: unknown): ReceivedFarm {
  const byField = (received ?? {}) as Record<string, Express.Multer.File[] | undefined>;
  // An input left alone arrives as a file with neither name nor content.
  const of = (field: string) =>
    (byField[field] ?? [])
      .filter((f) => f.originalname !== '' || f.size > 0)
      .map((f): FarmFile => ({ name: cleanPath(f.originalname), at: Number(f.filename) }));
  return { list: of('list').at(0), files: [...of('files'), ...of('folder')] };
}

/** A name with its folders, fit to show and to compare: it never becomes a path. */
export function cleanPath(name: string): string {
  const parts = name
    .normalize('NFC')
    .replace(/\p{Cc}/gu, '')
    .split(/[\\/]/)
    .filter((p) => p !== '' && p !== '.' && p !== '..')
    .map((p) => p.slice(0, 120));
  return parts.slice(-6).join('/') || 'unnamed file';
}

/**
 * The brought file that a list's path means: names must agree, and folders as far as both tell them. Where several do,
 * the one that agrees in most folders.
 * @returns undefined when none agrees, `several` when it can't be told which
 */
export function matchFile(wanted: string, files: readonly FarmFile[]): FarmFile | 'several' | undefined {
  const parts = partsOf(wanted);
  let [most, found]: [number, FarmFile[]] = [0, []];
  for (const file of files) {
    const own = partsOf(file.name);
    const both = Math.min(own.length, parts.length);
    let alike = 0;
    while (alike < both && own.at(-1 - alike) === parts.at(-1 - alike)) alike++;
    if (alike === 0 || alike < both || alike < most) continue;
    if (alike > most) [most, found] = [alike, []];
    found.push(file);
  }
  return found.length > 1 ? 'several' : found.at(0);
}

const partsOf = (name: string): readonly string[] => cleanPath(name).toLowerCase().split('/');
