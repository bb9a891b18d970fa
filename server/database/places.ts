import { HttpError } from '../httpError.ts';
import { sweep } from './deletions.ts';
import type { Database } from './migration.ts';
import { newId } from './newId.ts';

/** The farm of a name, made if there is none; upper and lower case are the same. */
export function farmNamed(db: Database, name: string): string {
  const known = findFarm(db, name);
  if (known !== undefined) return known;
  const id = newId();
  db.prepare('INSERT INTO farms (id, name) VALUES (?, ?)').run(id, name);
  return id;
}

/** Compared here, since the database folds only plain letters. */
function findFarm(db: Database, name: string): string | undefined {
  const wanted = name.toLowerCase();
  const farms = db.prepare<[], { id: string; name: string }>('SELECT id, name FROM farms ORDER BY id').all();
  return farms.find((f) => f.name.toLowerCase() === wanted)?.id;
}

/** Names a field and puts it into a farm, made if need be; an empty name of the farm means none. */
export function placeField(db: Database, id: string, name: string, farm: string): void {
  db.transaction(() => {
    const farmId = farm === '' ? null : farmNamed(db, farm);
    const done = db.prepare('UPDATE fields SET name = ?, farm_id = ? WHERE id = ?').run(name, farmId, id);
    if (done.changes === 0)
      throw new HttpError(404, 'This field is no longer kept. It may have been deleted.');
    sweep(db);
  }).immediate();
}

/** @throws HttpError when another farm has the name */
export function renameFarm(db: Database, id: string, name: string): void {
  db.transaction(() => {
    const other = findFarm(db, name);
    if (other !== undefined && other !== id)
      throw new HttpError(422, `There is a farm “${name}” already: move the fields into it instead.`);
    const done = db.prepare('UPDATE farms SET name = ? WHERE id = ?').run(name, id);
    if (done.changes === 0) throw new HttpError(404, 'This farm is no longer kept.');
  }).immediate();
}

/** Gives a season its year and its field. */
export function placeSeason(db: Database, id: string, year: number, fieldId: string): void {
  db.transaction(() => {
    if (db.prepare('SELECT 1 FROM fields WHERE id = ?').get(fieldId) === undefined)
      throw new HttpError(404, 'The field it should belong to is no longer kept.');
    const done = db
      .prepare('UPDATE cases SET year = ?, field_id = ? WHERE id = ? AND deletion_id IS NULL')
      .run(year, fieldId, id);
    if (done.changes === 0)
      throw new HttpError(404, 'This season is no longer kept. It may have been deleted.');
    sweep(db);
  }).immediate();
}
