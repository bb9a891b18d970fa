import { createReadStream, mkdirSync, rmSync } from 'node:fs';
import path from 'node:path';
import { sweep } from './deletions.ts';
import { incomingFolder, type Keeping } from './keeping.ts';
import type { Database } from './migration.ts';
import { newId } from './newId.ts';
import { stageLines } from './stageLines.ts';
import { openDatabase, DATABASE_FILE } from './openDatabase.ts';
import type { Counts } from './savedFile.ts';
import { storageTrouble } from './storageTrouble.ts';
import { unpackLines, type UnpackLimits } from './unpackLines.ts';

const LIMITS: UnpackLimits = { allBytes: 8 * 1024 ** 3, lineBytes: 128 * 1024 ** 2 };

export interface Imported extends Counts {
  /** The cases that came, of which earlier answers may be remembered elsewhere. */
  readonly cameIn: readonly { readonly id: string; readonly revision: number }[];
}

/**
 * Takes in a file of saved work: what has the id of something here takes its place, the rest is added. The file is
 * checked whole in a database of its own first, then copied in one transaction, so that all of it comes in or nothing.
 * @throws BadImport when the file is of no use
 */
export async function importAll(
  keeping: Keeping,
  file: string,
  limits: UnpackLimits = LIMITS,
): Promise<Imported> {
  const { dataDir } = keeping;
  const folder = path.join(incomingFolder(dataDir), `${Date.now()}-${newId()}`);
  try {
    mkdirSync(folder, { recursive: true });
    const staging = openDatabase(folder);
    let counts: Counts;
    try {
      counts = await stageLines(staging, unpackLines(createReadStream(file), limits));
    } finally {
      staging.close();
    }
    return keeping.use((db) => ({ ...counts, cameIn: copyIn(db, path.join(folder, DATABASE_FILE)) }));
  } catch (error) {
    throw storageTrouble(error, dataDir);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/**
 * Cases are replaced in place, so that whatever else refers to them stays. A walk's plan never changes and its marks are
 * only added.
 */
const COPY = `
  INSERT INTO farms (id, name) SELECT id, name FROM incoming.farms WHERE true
    ON CONFLICT (id) DO UPDATE SET name = excluded.name;
  INSERT INTO fields (id, farm_id, name) SELECT id, farm_id, name FROM incoming.fields WHERE true
    ON CONFLICT (id) DO UPDATE SET farm_id = excluded.farm_id, name = excluded.name;
  INSERT INTO cases
      (id, field_id, year, revision, question, typed, sample, created_at, changed_at, deletion_id)
    SELECT id, field_id, year, revision, question, typed, sample, created_at, changed_at, NULL
    FROM incoming.cases WHERE true
    ON CONFLICT (id) DO UPDATE SET field_id = excluded.field_id, year = excluded.year, revision = excluded.revision,
      question = excluded.question, typed = excluded.typed, sample = excluded.sample,
      created_at = excluded.created_at, changed_at = excluded.changed_at, deletion_id = NULL;
  DELETE FROM replies WHERE case_id IN (SELECT id FROM incoming.cases);
  DELETE FROM files WHERE case_id IN (SELECT id FROM incoming.cases);
  INSERT INTO files (case_id, n, name, role, columns, size)
    SELECT case_id, n, name, role, columns, size FROM incoming.files;
  INSERT INTO file_parts (case_id, n, part, bytes) SELECT case_id, n, part, bytes FROM incoming.file_parts;
  INSERT INTO replies (case_id, revision, headline, area_ha, reply)
    SELECT case_id, revision, headline, area_ha, reply FROM incoming.replies;
  INSERT INTO walks (id, created_at, plan) SELECT id, created_at, plan FROM incoming.walks WHERE true
    ON CONFLICT (id) DO NOTHING;
  INSERT INTO walk_events (walk_id, id, event)
    SELECT walk_id, id, event FROM incoming.walk_events WHERE true ORDER BY seq
    ON CONFLICT (walk_id, id) DO NOTHING;
`;

function copyIn(db: Database, file: string): Imported['cameIn'] {
  db.prepare('ATTACH ? AS incoming').run(file);
  try {
    return db
      .transaction(() => {
        const came = db
          .prepare<[], Imported['cameIn'][number]>(
            `SELECT id, revision FROM incoming.cases
             UNION SELECT id, revision FROM main.cases WHERE id IN (SELECT id FROM incoming.cases)`,
          )
          .all();
        db.exec(COPY);
        sweep(db);
        return came;
      })
      .immediate();
  } finally {
    db.exec('DETACH incoming');
  }
}
