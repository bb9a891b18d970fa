import { HttpError } from '../httpError.ts';
import type { Database, Migration } from './migration.ts';

/**
 * Runs the steps a database hasn't seen yet, each in one transaction of its own. Of a database that has
 * seen some already, `backUp` first makes a copy. Two programs that start at once are fine: whoever
 * comes second finds the step done.
 * @throws HttpError if the database has seen a step that isn't in the list: a newer program made it
 */
export function migrate(db: Database, steps: readonly Migration[], backUp: () => void): void {
  db.exec('CREATE TABLE IF NOT EXISTS migrations (id TEXT PRIMARY KEY, at INTEGER NOT NULL) STRICT');
  const seen = stepsSeen(db);
  const known = new Set(steps.map((s) => s.id));
  if ([...seen].some((id) => !known.has(id)))
    throw new HttpError(
      503,
      'The saved work was kept by a newer Lagstep, which this one can’t read. Use that one, or update this one.',
    );
  const waiting = steps.filter((s) => !seen.has(s.id));
  if (waiting.length === 0) return;
  if (seen.size > 0) backUp();
  // A step that makes a table anew would otherwise empty those that refer to it.
  db.pragma('foreign_keys = OFF');
  try {
    for (const step of waiting) run(db, step);
  } finally {
    db.pragma('foreign_keys = ON');
  }
}

function run(db: Database, step: Migration): void {
  db.transaction(() => {
    if (stepsSeen(db).has(step.id)) return;
    step.up(db);
    const loose = db.pragma('foreign_key_check') as readonly unknown[];
    if (loose.length > 0) throw new Error(`Step “${step.id}” left rows that refer to nothing.`);
    db.prepare('INSERT INTO migrations (id, at) VALUES (?, ?)').run(step.id, Date.now());
  }).immediate();
}

function stepsSeen(db: Database): Set<string> {
  return new Set(db.prepare<[], string>('SELECT id FROM migrations').pluck().all());
}
