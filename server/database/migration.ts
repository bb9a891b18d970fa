import type BetterSqlite3 from 'better-sqlite3';

/** An open database, as this folder's own code sees it. */
export type Database = BetterSqlite3.Database;

/**
 * One step of the database's shape. Steps run in the order they're listed,
 * each once and in one transaction of its own; a step that throws leaves no
 * trace. `id` is kept in the database for ever: never reuse or rename one.
 */
export interface Migration {
  readonly id: string;
  readonly up: (db: Database) => void;
}
