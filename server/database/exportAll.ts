import { Readable } from 'node:stream';
import { createGzip } from 'node:zlib';
import { unpackReply } from './cases.ts';
import { fileRows } from './fileParts.ts';
import type { Database } from './migration.ts';
import { openReading } from './openDatabase.ts';
import { FILE_VERSION, noneYet, type SavedCaseLine } from './savedFile.ts';

interface CaseRow extends Pick<SavedCaseLine, 'year' | 'revision' | 'createdAt' | 'changedAt'> {
  readonly field: string;
  readonly question: string;
  readonly typed: string;
  readonly sample: number;
}

/**
 * Everything that isn't deleted, as it stands at this moment, in the format of `savedFile.ts`; the same work gives the
 * same bytes. A part of a file or a reply is in memory at a time.
 */
export function exportAll(dataDir: string): Readable {
  const lines = Readable.from(savedLines(dataDir), { objectMode: false, highWaterMark: 64 * 1024 });
  const packed = createGzip();
  lines.once('error', (error) => packed.destroy(error));
  packed.once('close', () => lines.destroy());
  return lines.pipe(packed);
}

function* savedLines(dataDir: string): Generator<string> {
  const db = openReading(dataDir);
  try {
    // Within one reading transaction nothing changes, whatever is saved meanwhile.
    db.exec('BEGIN');
    for (const line of lineObjects(db)) yield `${JSON.stringify(line)}\n`;
  } finally {
    db.close();
  }
}

function* lineObjects(db: Database): Generator<object> {
  const counts = noneYet();
  yield { lagstep: 'saved work', version: FILE_VERSION };
  const living = 'SELECT field_id FROM cases WHERE deletion_id IS NULL';
  const farms = db.prepare<[], object>(
    `SELECT id, name FROM farms WHERE id IN (SELECT farm_id FROM fields WHERE id IN (${living})) ORDER BY id`,
  );
  for (const farm of farms.all()) {
    counts.farms++;
    yield { farm };
  }
  const fields = db.prepare<[], object>(
    `SELECT id, farm_id AS farm, name FROM fields WHERE id IN (${living}) ORDER BY id`,
  );
  for (const field of fields.all()) {
    counts.fields++;
    yield { field };
  }
  const ids = db
    .prepare<[], string>('SELECT id FROM cases WHERE deletion_id IS NULL ORDER BY id')
    .pluck()
    .all();
  for (const id of ids) {
    counts.cases++;
    const files = fileRows(db, id);
    yield caseLine(db, id, files);
    for (const { n, size } of files)
      for (const part of partLines(db, id, n, size)) {
        counts.parts++;
        yield part;
      }
    const saved = replyLine(db, id);
    if (!saved) continue;
    counts.replies++;
    yield saved;
  }
  const walkIds = db.prepare<[], string>('SELECT id FROM walks ORDER BY id').pluck().all();
  for (const id of walkIds) {
    counts.walks++;
    yield walkLine(db, id);
    for (const event of markTexts(db, id)) {
      counts.marks++;
      yield { mark: { walk: id, event: JSON.parse(event) } };
    }
  }
  yield { end: counts };
}

function caseLine(db: Database, id: string, files: ReturnType<typeof fileRows>): object {
  const { field, year, revision, sample, createdAt, changedAt, question, typed } = db
    .prepare<[string], CaseRow>(
      `SELECT field_id AS field, year, revision, sample, created_at AS createdAt, changed_at AS changedAt,
         question, typed FROM cases WHERE id = ?`,
    )
    .get(id)!;
  const shown = files.map(({ name, role, columns, size }) => ({
    name,
    role,
    columns: columns === null ? undefined : (JSON.parse(columns) as unknown),
    size,
  }));
  const about = { id, field, year, revision, sample: sample === 1, createdAt, changedAt };
  return { case: { ...about, question: JSON.parse(question), typed: JSON.parse(typed), files: shown } };
}

function* partLines(db: Database, id: string, n: number, size: number): Generator<object> {
  const bytesOf = db
    .prepare<[string, number, number], Buffer>(
      'SELECT bytes FROM file_parts WHERE case_id = ? AND n = ? AND part = ?',
    )
    .pluck();
  for (let part = 0, at = 0; at < size; part++) {
    const bytes = bytesOf.get(id, n, part);
    if (!bytes) throw new RangeError(`A part of file ${n} of case ${id} is missing.`);
    at += bytes.length;
    yield { part: { case: id, file: n, part, bytes: bytes.toString('base64') } };
  }
}

/** A reply to an earlier revision is of no use to anybody. */
function replyLine(db: Database, id: string): object | undefined {
  const row = db
    .prepare<[string], { revision: number; reply: Buffer }>(
      `SELECT replies.revision, reply FROM replies JOIN cases ON cases.id = case_id
       WHERE case_id = ? AND replies.revision = cases.revision`,
    )
    .get(id);
  return row && { reply: { case: id, revision: row.revision, reply: JSON.parse(unpackReply(row.reply)) } };
}

function walkLine(db: Database, id: string): object {
  const { createdAt, plan } = db
    .prepare<[string], { createdAt: string; plan: string }>(
      'SELECT created_at AS createdAt, plan FROM walks WHERE id = ?',
    )
    .get(id)!;
  return { walk: { id, createdAt, plan: JSON.parse(plan) } };
}

/** In the order they arrived; a walk has some thousands at most. */
const markTexts = (db: Database, walkId: string): string[] =>
  db
    .prepare<[string], string>('SELECT event FROM walk_events WHERE walk_id = ? ORDER BY seq')
    .pluck()
    .all(walkId);
