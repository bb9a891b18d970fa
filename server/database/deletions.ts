import type { Database } from './migration.ts';
import { newId } from './newId.ts';

/** Days that what was deleted can be brought back. */
export const KEPT_DAYS = 30;

/** What was deleted at one time and comes back together. */
export interface Deletion {
  readonly id: string;
  readonly at: number;
  readonly what: string;
}

/** Which seasons to delete: one, all of a field, all of a farm, or the sample data. */
export type Which =
  { readonly kind: 'season' | 'field' | 'farm'; readonly id: string } | { readonly kind: 'sample' };

const chosen: Readonly<Record<Which['kind'], string>> = {
  season: 'id = @id',
  field: 'field_id = @id',
  farm: 'field_id IN (SELECT id FROM fields WHERE farm_id = @id)',
  sample: 'sample = 1',
};

/** Deletes so that it can be undone; undefined if there was nothing to delete. */
export function deleteCases(db: Database, which: Which, at: number): Deletion | undefined {
  return db
    .transaction((): Deletion | undefined => {
      const named = { id: 'id' in which ? which.id : '' };
      const where = `${chosen[which.kind]} AND deletion_id IS NULL`;
      const ids = db
        .prepare<[typeof named], string>(`SELECT id FROM cases WHERE ${where}`)
        .pluck()
        .all(named);
      if (ids.length === 0) return undefined;
      const made = { id: newId(), at, what: inWords(db, which, ids) };
      db.prepare('INSERT INTO deletions (id, at, what) VALUES (@id, @at, @what)').run(made);
      const mark = db.prepare('UPDATE cases SET deletion_id = ? WHERE id = ?');
      for (const id of ids) mark.run(made.id, id);
      return made;
    })
    .immediate();
}

function inWords(db: Database, which: Which, ids: readonly string[]): string {
  if (which.kind === 'sample') return 'the sample data';
  const { field, farm, year } = db
    .prepare<[string], { field: string; farm: string | null; year: number }>(
      `SELECT fields.name AS field, farms.name AS farm, year FROM cases
       JOIN fields ON fields.id = field_id LEFT JOIN farms ON farms.id = farm_id WHERE cases.id = ?`,
    )
    .get(ids[0])!;
  const name = field === '' ? 'a field without a name' : `“${field}”`;
  if (which.kind === 'season') return `${name}, ${year}`;
  if (which.kind === 'field')
    return `${name} with ${ids.length === 1 ? 'its answer' : `its ${ids.length} answers`}`;
  return `the farm “${farm}” with ${ids.length === 1 ? 'one answer' : `${ids.length} answers`}`;
}

/** Brings back what one deletion took; false if it is gone for good or was brought back already. */
export function undoDeletion(db: Database, id: string): boolean {
  return db
    .transaction(() => {
      db.prepare('UPDATE cases SET deletion_id = NULL WHERE deletion_id = ?').run(id);
      return db.prepare('DELETE FROM deletions WHERE id = ?').run(id).changes > 0;
    })
    .immediate();
}

/** What can still be brought back, the latest first. */
export const listDeletions = (db: Database): Deletion[] =>
  db.prepare<[], Deletion>('SELECT id, at, what FROM deletions ORDER BY at DESC, id').all();

/** Removes for good what was deleted before a time, overwriting it. */
export const purgeBefore = (db: Database, before: number): void => purge(db, 'at < @value', before);

/** Removes one deletion's content for good. */
export const purgeDeletion = (db: Database, id: string): void => purge(db, 'id = @value', id);

function purge(db: Database, which: string, value: string | number): void {
  db.pragma('secure_delete = ON');
  db.transaction(() => {
    const gone = `SELECT id FROM deletions WHERE ${which}`;
    db.prepare(`DELETE FROM cases WHERE deletion_id IN (${gone})`).run({ value });
    db.prepare(`DELETE FROM deletions WHERE ${which}`).run({ value });
    sweep(db);
  }).immediate();
  db.pragma('secure_delete = OFF');
  db.pragma('incremental_vacuum');
  emptyLog(db);
}

/** The log keeps what was overwritten; while an export still reads it, it is emptied at the next chance instead. */
function emptyLog(db: Database): void {
  const patience = db.pragma('busy_timeout', { simple: true });
  db.pragma('busy_timeout = 0');
  db.pragma('wal_checkpoint(TRUNCATE)');
  db.pragma(`busy_timeout = ${String(patience)}`);
}

/** Fields that nothing belongs to any more, and farms without fields, go. */
export function sweep(db: Database): void {
  db.exec(`
    DELETE FROM deletions WHERE id NOT IN (SELECT deletion_id FROM cases WHERE deletion_id IS NOT NULL);
    DELETE FROM fields WHERE id NOT IN (SELECT field_id FROM cases);
    DELETE FROM farms WHERE id NOT IN (SELECT farm_id FROM fields WHERE farm_id IS NOT NULL);
  `);
}
