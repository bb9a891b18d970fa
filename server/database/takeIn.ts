import { existsSync, readFileSync, renameSync, rmdirSync, rmSync, statSync } from 'node:fs';
import path from 'node:path';
import type { AdviceReply } from '../../src/advise/request.ts';
import type { Case } from '../store.ts';
import { insertCase, insertReply } from './cases.ts';
import type { Database } from './migration.ts';
import { isId } from './newId.ts';
import { namesIn } from './openDatabase.ts';

/** A folder that was taken in and only waits to be removed: never read again. */
const GONE = 'gone-';

/**
 * Takes in cases kept as folders of files (`cases/<id>/case.json`, `files/<n>`, `result.json`), as an earlier Lagstep
 * did. A folder goes only once its case is in the database; broken off anywhere, the next call goes on. One that can't
 * be read stays where it is, and `warn` hears of it.
 */
export function takeInCases(db: Database, dataDir: string, warn: (sentence: string) => void): void {
  const cases = path.join(dataDir, 'cases');
  const names = namesIn(cases);
  for (const name of names.filter((n) => n.startsWith(GONE)))
    rmSync(path.join(cases, name), { recursive: true, force: true });
  for (const id of names.filter(isId)) {
    const folder = path.join(cases, id);
    try {
      takeIn(db, id, folder);
    } catch (error) {
      // Trouble with the database itself is not the folder's.
      if (String((error as { code?: unknown }).code).startsWith('SQLITE')) throw error;
      warn(`The field kept in ${folder} could not be read and stays there: ${(error as Error).message}`);
      continue;
    }
    // Renamed first: half a folder must not be taken for a case.
    const gone = path.join(cases, GONE + id);
    renameSync(folder, gone);
    rmSync(gone, { recursive: true, force: true });
  }
  if (names.length > 0 && namesIn(cases).length === 0) rmdirSync(cases);
}

function takeIn(db: Database, id: string, folder: string): void {
  if (db.prepare('SELECT 1 FROM cases WHERE id = ?').get(id) !== undefined) return;
  const file = path.join(folder, 'case.json');
  const kept = JSON.parse(readFileSync(file, 'utf8')) as Case;
  const files = kept.question.files.map((about, n) => ({
    ...about,
    bytes: new Uint8Array(readFileSync(path.join(folder, 'files', String(n)))),
  }));
  const answered = path.join(folder, 'result.json');
  const saved = existsSync(answered)
    ? (JSON.parse(readFileSync(answered, 'utf8')) as { revision: number; reply: AdviceReply })
    : undefined;
  const at = Math.round(statSync(file).mtimeMs);
  db.transaction(() => {
    insertCase(db, { ...kept, id, createdAt: at, changedAt: at }, files);
    if (saved) insertReply(db, id, saved.revision, saved.reply);
  }).immediate();
}
