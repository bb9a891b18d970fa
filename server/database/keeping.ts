import { rmSync } from 'node:fs';
import path from 'node:path';
import { dropBackups, namesIn, openDatabase } from './openDatabase.ts';
import { KEPT_DAYS, purgeBefore } from './deletions.ts';
import type { Database } from './migration.ts';
import { storageTrouble } from './storageTrouble.ts';
import { takeInCases } from './takeIn.ts';

/** The saved work of a data folder, opened when it is first needed and then kept open. */
export interface Keeping {
  readonly dataDir: string;
  /**
   * Works with the database.
   * @throws HttpError with a sentence for the user when the folder or the disk won't have it
   */
  use<T>(work: (db: Database) => T): T;
  /** Opens at once, so that no page waits for what an opening has to tidy; trouble is told to `warn`. */
  start(): void;
  close(): void;
}

const DAY_MS = 24 * 3600 * 1000;

/** Nothing is opened yet; an opening that fails is tried again at the next use. */
export function createKeeping(dataDir: string, warn: (sentence: string) => void = console.warn): Keeping {
  let open: Database | undefined;
  const use: Keeping['use'] = (work) => {
    try {
      open ??= openAndTidy(dataDir, warn);
      return work(open);
    } catch (error) {
      throw storageTrouble(error, dataDir);
    }
  };
  return {
    dataDir,
    use,
    start() {
      try {
        use(() => undefined);
      } catch (error) {
        warn((error as Error).message);
      }
    },
    close() {
      open?.close();
      open = undefined;
    },
  };
}

/** Opens, takes in what an earlier Lagstep kept, and removes what its time is over for. */
function openAndTidy(dataDir: string, warn: (sentence: string) => void): Database {
  const db = openDatabase(dataDir);
  try {
    takeInCases(db, dataDir, warn);
    const before = Date.now() - KEPT_DAYS * DAY_MS;
    if (db.prepare('SELECT 1 FROM deletions WHERE at < ?').get(before) !== undefined) purgeBefore(db, before);
    dropBackups(dataDir, before);
    dropLeftovers(dataDir);
    return db;
  } catch (error) {
    db.close();
    throw error;
  }
}

/** Where a file to import is received and unpacked. */
export const incomingFolder = (dataDir: string): string => path.join(dataDir, 'incoming');

/** Imports that were broken off; one under way in another program is younger. */
function dropLeftovers(dataDir: string): void {
  const folder = incomingFolder(dataDir);
  for (const name of namesIn(folder)) {
    const age = Date.now() - Number(/^(\d+)-/.exec(name)?.[1] ?? 0);
    if (age > DAY_MS) rmSync(path.join(folder, name), { recursive: true, force: true });
  }
}
