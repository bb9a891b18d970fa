import type { WalkEvent } from '../src/plan/walkEvents.ts';
import type { WalkPlan } from '../src/plan/walkPlan.ts';
import type { Database } from './database/migration.ts';

/** Events from some point of their arrival on, and where the next reading begins. */
export interface EventsSince {
  readonly events: readonly WalkEvent[];
  /** Grows with every event that arrives; 0 before the first. */
  readonly next: number;
}

/** Walks and their events in the database. */
export interface WalkStore {
  create(plan: WalkPlan): void;
  load(id: string): WalkPlan | undefined;
  /** Latest first. */
  list(): readonly WalkPlan[];
  events(walkId: string, since: number): EventsSince;
  count(walkId: string): number;
  /** Adds events; those whose id is there already are passed over. All of them are kept, or none. */
  add(walkId: string, events: readonly WalkEvent[]): void;
  /** Deletes a walk with all its events. */
  remove(id: string): void;
}

/** Works with the open database: that of `Keeping`, or a test's own. */
export type UseDatabase = <T>(work: (db: Database) => T) => T;

/** @param use gives a database with `walkMigrations` done */
export function createWalkStore(use: UseDatabase): WalkStore {
  const planOf = (row: { readonly plan: string }) => JSON.parse(row.plan) as WalkPlan;
  const ask = <T>(work: (statements: Statements, db: Database) => T): T =>
    use((db) => work(statementsOf(db), db));
  return {
    create: (plan) => ask((s) => void s.insertWalk.run(plan.id, plan.createdAt, JSON.stringify(plan))),
    load: (id) =>
      ask((s) => {
        const row = s.selectWalk.get(id);
        return row && planOf(row);
      }),
    list: () => ask((s) => s.selectWalks.all().map(planOf)),
    events: (walkId, since) =>
      ask((s) => {
        const rows = s.selectEvents.all(walkId, since);
        return {
          events: rows.map((row) => JSON.parse(row.event) as WalkEvent),
          next: rows.at(-1)?.seq ?? since,
        };
      }),
    count: (walkId) => ask((s) => s.countEvents.get(walkId)?.n ?? 0),
    add: (walkId, events) =>
      ask((s, db) => {
        db.transaction(() => {
          for (const event of events) s.insertEvent.run(walkId, event.id, JSON.stringify(event));
        }).immediate();
      }),
    remove: (id) =>
      ask((s, db) => {
        db.transaction(() => {
          s.deleteEvents.run(id);
          s.deleteWalk.run(id);
        }).immediate();
      }),
  };
}

const prepare = (db: Database) => ({
  insertWalk: db.prepare<[string, string, string]>(
    'INSERT INTO walks (id, created_at, plan) VALUES (?, ?, ?)',
  ),
  selectWalk: db.prepare<[string], { plan: string }>('SELECT plan FROM walks WHERE id = ?'),
  selectWalks: db.prepare<[], { plan: string }>(
    'SELECT plan FROM walks ORDER BY created_at DESC, id LIMIT 500',
  ),
  selectEvents: db.prepare<[string, number], { seq: number; event: string }>(
    'SELECT seq, event FROM walk_events WHERE walk_id = ? AND seq > ? ORDER BY seq',
  ),
  countEvents: db.prepare<[string], { n: number }>('SELECT count(*) AS n FROM walk_events WHERE walk_id = ?'),
  insertEvent: db.prepare<[string, string, string]>(
    'INSERT INTO walk_events (walk_id, id, event) VALUES (?, ?, ?) ON CONFLICT (walk_id, id) DO NOTHING',
  ),
  deleteEvents: db.prepare<[string]>('DELETE FROM walk_events WHERE walk_id = ?'),
  deleteWalk: db.prepare<[string]>('DELETE FROM walks WHERE id = ?'),
});

type Statements = ReturnType<typeof prepare>;

const prepared = new WeakMap<Database, Statements>();

/** Statements are made once for each open database. */
function statementsOf(db: Database): Statements {
  const found = prepared.get(db) ?? prepare(db);
  prepared.set(db, found);
  return found;
}
