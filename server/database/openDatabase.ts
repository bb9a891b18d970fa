import { mkdirSync, readdirSync, rmSync, statSync } from 'node:fs';
import path from 'node:path';
import BetterSqlite3 from 'better-sqlite3';
import { migrate } from './migrate.ts';
import type { Database, Migration } from './migration.ts';
import { migrations } from './migrations.ts';
import { storageTrouble } from './storageTrouble.ts';

export const DATABASE_FILE = 'lagstep.db';
const BACKUPS = 'backups';
/** How long one program waits for another's write, ms. */
const PATIENCE_MS = 5000;

/**
 * Opens the database of saved work, made and brought up to date where needed. What it acknowledges is on the disk
 * (`synchronous = FULL`). Only the main thread opens it.
 * @throws HttpError with a sentence for the user when the folder or the file is of no use
 */
export function openDatabase(dataDir: string, steps: readonly Migration[] = migrations): Database {
  try {
    mkdirSync(dataDir, { recursive: true });
    const db = new BetterSqlite3(path.join(dataDir, DATABASE_FILE), { timeout: PATIENCE_MS });
    try {
      // Takes hold only while the database is empty: what is deleted gives its room back.
      db.pragma('auto_vacuum = INCREMENTAL');
      toWriteAheadLog(db);
      db.pragma('synchronous = FULL');
      db.pragma('foreign_keys = ON');
      migrate(db, steps, () => backUp(db, dataDir));
      return db;
    } catch (error) {
      db.close();
      throw error;
    }
  } catch (error) {
    throw storageTrouble(error, dataDir);
  }
}

/** A second, reading handle: what it reads within a transaction stays the same while others write. */
export function openReading(dataDir: string): Database {
  return new BetterSqlite3(path.join(dataDir, DATABASE_FILE), { readonly: true, timeout: PATIENCE_MS });
}

/** The change of mode doesn't wait for others that open at the same moment, so it is tried again. */
function toWriteAheadLog(db: Database): void {
  const pause = new Int32Array(new SharedArrayBuffer(4));
  for (let left = 100; ; left--)
    try {
      db.pragma('journal_mode = WAL');
      return;
    } catch (error) {
      if (left === 0 || !String((error as { code?: unknown }).code).startsWith('SQLITE_BUSY')) throw error;
      Atomics.wait(pause, 0, 0, 20);
    }
}

/** A whole copy of the database as it stands, in the folder `backups`. */
function backUp(db: Database, dataDir: string): void {
  const folder = path.join(dataDir, BACKUPS);
  mkdirSync(folder, { recursive: true });
  const stamp = new Date().toISOString().replace(/[:.]/g, '-');
  db.prepare('VACUUM INTO ?').run(path.join(folder, `lagstep-${stamp}-${process.pid}.db`));
}

/** Removes copies made before a time (ms): they hold what was deleted since. */
export function dropBackups(dataDir: string, before: number): void {
  const folder = path.join(dataDir, BACKUPS);
  for (const name of namesIn(folder)) {
    const file = path.join(folder, name);
    if (/^lagstep-.*\.db$/.test(name) && statSync(file).mtimeMs < before) rmSync(file, { force: true });
  }
}

export function namesIn(folder: string): string[] {
  try {
    return readdirSync(folder);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return [];
    throw error;
  }
}
