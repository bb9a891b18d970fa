import { spawn, spawnSync } from 'node:child_process';
import {
  chmodSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import BetterSqlite3 from 'better-sqlite3';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { KEPT_DAYS } from '../../server/database/deletions.ts';
import { createKeeping } from '../../server/database/keeping.ts';
import type { Database, Migration } from '../../server/database/migration.ts';
import { migrations } from '../../server/database/migrations.ts';
import { DATABASE_FILE, openDatabase } from '../../server/database/openDatabase.ts';
import { createStore } from '../../server/store.ts';
import { childProgram } from './childProgram.ts';

let dir: string;
let open: Database[] = [];
beforeEach(() => {
  dir = mkdtempSync(path.join(tmpdir(), 'lagstep-database-'));
});
afterEach(() => {
  for (const db of open) db.close();
  open = [];
  rmSync(dir, { recursive: true, force: true });
});

function opened(steps?: readonly Migration[]): Database {
  const db = openDatabase(dir, steps);
  open.push(db);
  return db;
}

const shapeOf = (db: Database) =>
  db.prepare("SELECT name, sql FROM sqlite_schema WHERE name NOT LIKE 'sqlite_%' ORDER BY name").all();
const backups = () => readdirSync(path.join(dir, 'backups'));
const request = (name: string, content = 'a,b') => ({
  fieldName: name,
  files: [{ role: 'points' as const, name: 'points.csv', bytes: new TextEncoder().encode(content) }],
});

describe('the database', () => {
  it('acknowledges only what is on the disk, and keeps references whole', () => {
    const db = opened();
    expect(db.pragma('journal_mode', { simple: true })).toBe('wal');
    expect(db.pragma('synchronous', { simple: true })).toBe(2);
    expect(db.pragma('foreign_keys', { simple: true })).toBe(1);
    expect(db.pragma('busy_timeout', { simple: true })).toBe(5000);
    expect(() =>
      db.exec("INSERT INTO cases VALUES ('a', 'nowhere', 2026, 1, '{}', '{}', 0, 0, 0, NULL)"),
    ).toThrow(/FOREIGN KEY/);
  });

  it.each(migrations.map((_, n) => n))('comes from step %i to the same shape as a new one', async (n) => {
    const old = openDatabase(dir, migrations.slice(0, n));
    if (n > 0)
      old.exec(`
        INSERT INTO fields (id, name) VALUES ('f', 'West');
        INSERT INTO cases (id, field_id, year, revision, question, typed, created_at, changed_at)
          VALUES ('00000000000000000001', 'f', 2025, 3, '{}', '{}', 1, 2);
      `);
    old.close();
    const now = opened();
    const fresh = openDatabase(path.join(dir, 'fresh'));
    expect(shapeOf(now)).toEqual(shapeOf(fresh));
    fresh.close();
    expect(now.pragma('integrity_check', { simple: true })).toBe('ok');
    if (n === 0) return;
    const kept = await createStore(dir).load('00000000000000000001');
    expect(kept).toMatchObject({ revision: 3, question: { fieldName: 'West' } });
  });

  const first: Migration = {
    id: 'first',
    up: (db) => db.exec("CREATE TABLE t (a); INSERT INTO t VALUES ('kept')"),
  };
  const second: Migration = { id: 'second', up: (db) => db.exec('ALTER TABLE t ADD COLUMN b') };

  it('is copied before a step changes it, and never otherwise', () => {
    openDatabase(dir, [first]).close();
    openDatabase(dir, [first]).close();
    expect(readdirSync(dir)).not.toContain('backups');
    openDatabase(dir, [first, second]).close();
    expect(backups()).toHaveLength(1);
    const copy = new BetterSqlite3(path.join(dir, 'backups', backups()[0]), { readonly: true });
    expect(copy.prepare('SELECT * FROM t').all()).toEqual([{ a: 'kept' }]);
    copy.close();
    openDatabase(dir, [first, second]).close();
    expect(backups()).toHaveLength(1);
  });

  it('stays as it was when a step fails', () => {
    openDatabase(dir, [first]).close();
    const broken: Migration = {
      id: 'broken',
      up(db) {
        db.exec('DROP TABLE t; CREATE TABLE u (a)');
        throw new Error('half way');
      },
    };
    expect(() => openDatabase(dir, [first, broken])).toThrow('half way');
    const db = opened([first]);
    expect(db.prepare('SELECT a FROM t').pluck().get()).toBe('kept');
    expect(shapeOf(db)).toHaveLength(2);
  });

  it('refuses a step that leaves rows which refer to nothing', () => {
    const loose: Migration = {
      id: 'loose',
      up: (db) =>
        db.exec(
          'CREATE TABLE p (id PRIMARY KEY); CREATE TABLE c (p REFERENCES p(id)); INSERT INTO c VALUES (1)',
        ),
    };
    expect(() => openDatabase(dir, [loose])).toThrow(/refer to nothing/);
  });

  it('of a newer program is left alone, with a sentence', () => {
    openDatabase(dir, [first, second]).close();
    expect(() => openDatabase(dir, [first])).toThrow(/kept by a newer Lagstep/);
  });
});

describe('trouble with the folder is one sentence', () => {
  it('when the folder is a file', () => {
    writeFileSync(path.join(dir, 'file'), '');
    expect(() => openDatabase(path.join(dir, 'file'))).toThrow(
      /^Nothing can be saved in the folder .*LAGSTEP_DATA/,
    );
  });

  it('when the file is something else', () => {
    writeFileSync(path.join(dir, DATABASE_FILE), 'no database at all '.repeat(100));
    expect(() => openDatabase(dir)).toThrow(/damaged or isn’t Lagstep’s/);
  });

  it('when nothing may be written there, and is over once something may', async () => {
    const locked = path.join(dir, 'locked');
    openDatabase(locked).close();
    const keeping = createKeeping(locked);
    const store = createStore(keeping);
    const first = await store.create(request('West'), {});
    keeping.use((db) => db.pragma('query_only = ON'));
    await expect(store.create(request('East'), {})).rejects.toThrow(/^Nothing can be saved in the folder/);
    keeping.use((db) => db.pragma('query_only = OFF'));
    await store.create(request('East'), {});
    expect(await store.load(first.id)).toBeDefined();
    keeping.close();
  });

  // The owner of everything may write anywhere, so it is somebody else who tries.
  const isRoot = process.getuid?.() === 0;
  it('when another account owns the folder', async () => {
    const child = await childProgram('savedWriter.ts');
    try {
      const locked = path.join(dir, 'locked');
      openDatabase(locked).close();
      chmodSync(dir, 0o755);
      for (const name of readdirSync(locked)) chmodSync(path.join(locked, name), 0o444);
      chmodSync(locked, 0o555);
      const ran = spawnSync(process.execPath, [child.file, locked, '1', '10'], {
        encoding: 'utf8',
        ...(isRoot ? { uid: 65534, gid: 65534 } : {}),
      });
      expect(ran.status).toBe(1);
      expect(ran.stderr).toMatch(/Nothing can be saved in the folder .*: this account may not write there\./);
      chmodSync(locked, 0o755);
    } finally {
      child.drop();
    }
  });
});

describe('several at once', () => {
  it('two handles see each other’s writes, and a reader sees one moment', async () => {
    const [a, b] = [createStore(dir), createStore(dir)];
    const made = await a.create(request('West'), {});
    expect(await b.load(made.id)).toEqual(await a.load(made.id));
    const reader = opened();
    reader.exec('BEGIN');
    const count = () => reader.prepare('SELECT count(*) FROM cases').pluck().get();
    expect(count()).toBe(1);
    await b.create(request('East'), {});
    expect(count()).toBe(1);
    reader.exec('COMMIT');
    expect(count()).toBe(2);
  });

  it('corrections from two pages get a revision each', async () => {
    const [a, b] = [createStore(dir), createStore(dir)];
    const made = await a.create(request('West'), {});
    const [one, two] = [await a.revise(made, made.question, {}), await b.revise(made, made.question, {})];
    expect([one.revision, two.revision]).toEqual([2, 3]);
    await b.saveReply(two, { ok: false, problems: [] });
    await a.saveReply(one, { ok: false, problems: [{ file: 'x', problem: 'old', remedy: '' }] });
    expect(await a.loadReply(two)).toEqual({ ok: false, problems: [] });
  });
});

describe('other processes', () => {
  let child: Awaited<ReturnType<typeof childProgram>>;
  beforeAll(async () => {
    child = await childProgram('savedWriter.ts');
  });
  afterAll(() => child.drop());

  it('open a new folder at the same moment and write side by side', async () => {
    const run = () =>
      new Promise<{ code: number | null; ids: string[] }>((resolve) => {
        const process_ = spawn(process.execPath, [child.file, dir, '8', '2000']);
        let said = '';
        process_.stdout.on('data', (chunk: Buffer) => (said += chunk.toString()));
        process_.once('close', (code) => resolve({ code, ids: said.split('\n').filter(Boolean) }));
      });
    const runs = await Promise.all([run(), run(), run()]);
    expect(runs.map((r) => r.code)).toEqual([0, 0, 0]);
    const db = opened();
    const kept = db.prepare('SELECT id FROM cases').pluck().all();
    expect([...kept].sort()).toEqual(runs.flatMap((r) => r.ids).sort());
    expect(db.prepare('SELECT count(*) FROM migrations').pluck().get()).toBe(migrations.length);
  });

  it('killed while they write lose nothing acknowledged and leave nothing half', async () => {
    const acknowledged: string[] = [];
    for (let round = 0; round < 10; round++) {
      const writer = spawn(process.execPath, [child.file, dir]);
      const ended = new Promise((resolve) => writer.once('close', resolve));
      let said = '';
      await new Promise<void>((resolve) => {
        writer.stdout.on('data', (chunk: Buffer) => {
          said += chunk.toString();
          // In the middle of some write, each round another place of it.
          if (said.split('\n').length > 3) setTimeout(resolve, 3 * round);
        });
      });
      writer.kill('SIGKILL');
      await ended;
      acknowledged.push(...said.split('\n').slice(0, -1));
      const db = openDatabase(dir);
      expect(db.pragma('integrity_check', { simple: true })).toBe('ok');
      expect(db.pragma('foreign_key_check')).toEqual([]);
      const short = db
        .prepare(
          `SELECT count(*) FROM cases LEFT JOIN files ON files.case_id = cases.id
           WHERE coalesce((SELECT sum(length(bytes)) FROM file_parts p WHERE p.case_id = cases.id), 0) <> 1200000
             OR size IS NULL`,
        )
        .pluck()
        .get();
      expect(short).toBe(0);
      const kept = new Set(db.prepare('SELECT id FROM cases').pluck().all());
      expect(acknowledged.filter((id) => !kept.has(id))).toEqual([]);
      db.close();
    }
    expect(acknowledged.length).toBeGreaterThanOrEqual(30);
  });
});

describe('opening', () => {
  const DAY_MS = 24 * 3600 * 1000;

  it(`removes what was deleted more than ${KEPT_DAYS} days ago, with its bytes, and old copies`, async () => {
    const keeping = createKeeping(dir);
    const store = createStore(keeping);
    const [old, recent] = [
      await store.create(request('Old', 'secret-of-old '.repeat(5000)), {}),
      await store.create(request('Recent'), {}),
    ];
    const gone = await store.remove(old);
    const log = readFileSync(path.join(dir, `${DATABASE_FILE}-wal`));
    expect(log.includes('secret-of-old')).toBe(true);
    await store.remove(recent);
    const long = Date.now() - (KEPT_DAYS + 1) * DAY_MS;
    keeping.use((db) => db.prepare('UPDATE deletions SET at = ? WHERE id = ?').run(long, gone));
    keeping.close();
    openDatabase(dir, [...migrations, { id: 'later', up: () => undefined }]).close();
    const db = opened([...migrations, { id: 'later', up: () => undefined }]);
    db.exec("DELETE FROM migrations WHERE id = 'later'");
    for (const name of backups()) utimesSync(path.join(dir, 'backups', name), long / 1000, long / 1000);

    const again = createKeeping(dir);
    expect(again.use((d) => d.prepare('SELECT id FROM cases').pluck().all())).toEqual([recent.id]);
    expect(again.use((d) => d.prepare('SELECT name FROM fields').pluck().all())).toEqual(['Recent']);
    again.close();
    expect(backups()).toEqual([]);
    db.close();
    for (const name of readdirSync(dir).filter((n) => n.startsWith(DATABASE_FILE)))
      expect(readFileSync(path.join(dir, name)).includes('secret-of-old')).toBe(false);
  });
});
