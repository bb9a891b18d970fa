import { HttpError } from '../httpError.ts';

const forbidden = ['EACCES', 'EPERM', 'EROFS', 'ENOTDIR', 'EEXIST', 'EISDIR', 'ENOENT', 'SQLITE_CANTOPEN'];

/** What keeps saved work from being read or written, in one sentence; any other error comes back as it is. */
export function storageTrouble(error: unknown, dataDir: string): unknown {
  const code = (error as { code?: unknown } | null)?.code;
  if (error instanceof HttpError || typeof code !== 'string') return error;
  const is = (...starts: readonly string[]) => starts.some((s) => code.startsWith(s));
  if (is('SQLITE_READONLY', ...forbidden))
    return new HttpError(
      503,
      `Nothing can be saved in the folder ${dataDir}: this account may not write there. Start Lagstep with LAGSTEP_DATA set to another folder.`,
    );
  if (is('SQLITE_FULL', 'ENOSPC', 'SQLITE_IOERR'))
    return new HttpError(
      503,
      `Nothing could be saved in the folder ${dataDir}: the disk is full or failing.`,
    );
  if (is('SQLITE_NOTADB', 'SQLITE_CORRUPT'))
    return new HttpError(
      503,
      `The file lagstep.db in the folder ${dataDir} is damaged or isn’t Lagstep’s. Move it away, or put a copy from the folder backups in its place.`,
    );
  if (is('SQLITE_BUSY', 'SQLITE_LOCKED'))
    return new HttpError(503, 'Another program is writing to the saved work. Try again in a moment.');
  return error;
}
