import type { Migration } from './migration.ts';

/**
 * Farms, fields, seasons (cases) with their files, and replies.
 *
 * A field shows while it has a season that isn't deleted, a farm while it has such a field: only
 * cases carry a deletion. Times are milliseconds since 1970. `question` and `typed` are JSON, without
 * the field's name, which is the field's own. `reply` is gzipped JSON; headline and area are taken
 * out of it for lists. A file's contents lie in parts, so that no step needs all of them in memory.
 */
export const savedWork: Migration = {
  id: '2026-11 saved work',
  up: (db) =>
    db.exec(`
      CREATE TABLE farms (
        id TEXT PRIMARY KEY,
        name TEXT NOT NULL
      ) STRICT, WITHOUT ROWID;

      CREATE TABLE fields (
        id TEXT PRIMARY KEY,
        farm_id TEXT REFERENCES farms(id) ON DELETE SET NULL,
        name TEXT NOT NULL
      ) STRICT, WITHOUT ROWID;
      CREATE INDEX fields_by_farm ON fields(farm_id);

      CREATE TABLE deletions (
        id TEXT PRIMARY KEY,
        at INTEGER NOT NULL,
        what TEXT NOT NULL
      ) STRICT, WITHOUT ROWID;

      CREATE TABLE cases (
        id TEXT PRIMARY KEY,
        field_id TEXT NOT NULL REFERENCES fields(id),
        year INTEGER NOT NULL,
        revision INTEGER NOT NULL,
        question TEXT NOT NULL,
        typed TEXT NOT NULL,
        sample INTEGER NOT NULL DEFAULT 0,
        created_at INTEGER NOT NULL,
        changed_at INTEGER NOT NULL,
        deletion_id TEXT REFERENCES deletions(id)
      ) STRICT;
      CREATE INDEX cases_by_field ON cases(field_id);
      CREATE INDEX cases_by_deletion ON cases(deletion_id);

      CREATE TABLE files (
        case_id TEXT NOT NULL REFERENCES cases(id) ON DELETE CASCADE,
        n INTEGER NOT NULL,
        name TEXT NOT NULL,
        role TEXT NOT NULL,
        columns TEXT,
        size INTEGER NOT NULL,
        PRIMARY KEY (case_id, n)
      ) STRICT, WITHOUT ROWID;

      CREATE TABLE file_parts (
        case_id TEXT NOT NULL,
        n INTEGER NOT NULL,
        part INTEGER NOT NULL,
        bytes BLOB NOT NULL,
        PRIMARY KEY (case_id, n, part),
        FOREIGN KEY (case_id, n) REFERENCES files(case_id, n) ON DELETE CASCADE
      ) STRICT;

      CREATE TABLE replies (
        case_id TEXT PRIMARY KEY REFERENCES cases(id) ON DELETE CASCADE,
        revision INTEGER NOT NULL,
        headline TEXT,
        area_ha REAL,
        reply BLOB NOT NULL
      ) STRICT;
    `),
};
