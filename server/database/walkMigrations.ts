import type { Migration } from './migration.ts';

/** Walks and the marks made on them. A walk's plan never changes; marks are only added. */
export const walkMigrations: readonly Migration[] = [
  {
    id: '2026-11 walks',
    up: (db) => {
      db.exec(`
        CREATE TABLE walks (
          id TEXT PRIMARY KEY,
          created_at TEXT NOT NULL,
          plan TEXT NOT NULL
        ) STRICT;
        CREATE TABLE walk_events (
          seq INTEGER PRIMARY KEY AUTOINCREMENT,
          walk_id TEXT NOT NULL REFERENCES walks (id) ON DELETE CASCADE,
          id TEXT NOT NULL,
          event TEXT NOT NULL,
          UNIQUE (walk_id, id)
        ) STRICT;
        CREATE INDEX walk_events_by_walk ON walk_events (walk_id, seq);
      `);
    },
  },
];
