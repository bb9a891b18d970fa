import type { z } from 'zod';
import { readWalkEvent } from '../../src/plan/walkEventSchema.ts';
import { BadImport } from './badImport.ts';
import { gist, packReply, questionText } from './cases.ts';
import type { Database } from './migration.ts';
import {
  FILE_VERSION,
  headSchema,
  lineSchemas,
  noneYet,
  type Counting,
  type Counts,
  type LineKind,
  type SavedCaseLine,
  type SavedMarkLine,
  type SavedPartLine,
  type SavedReplyLine,
  type SavedWalkLine,
} from './savedFile.ts';

/**
 * Checks the lines of a file of saved work and puts them into an empty database.
 * @throws BadImport at the first line that doesn't belong there, or when something is missing at the end
 */
export async function stageLines(staging: Database, lines: AsyncIterable<string>): Promise<Counts> {
  // A database that is thrown away when anything goes wrong needs no log.
  staging.pragma('journal_mode = OFF');
  staging.pragma('synchronous = OFF');
  const put = inserts(staging);
  const counts = noneYet();
  let n = 0;
  let end: Counts | undefined;
  staging.exec('BEGIN');
  for await (const text of lines) {
    n++;
    if (end) throw misplaced(n, 'something stands behind the end');
    const value = parsed(n, text);
    if (n === 1) checkHead(value);
    else
      try {
        end = takeLine(n, value, put, counts);
      } catch (error) {
        throw constraintTrouble(n, error);
      }
  }
  if (n === 0) throw new BadImport('The file is empty.');
  if (!end || !sameCounts(end, counts))
    throw new BadImport('The file breaks off before its end. Fetch or copy it again.');
  checkFiles(staging);
  staging.exec('COMMIT');
  return end;
}

const sameCounts = (a: Counts, b: Counts): boolean =>
  (Object.keys(a) as (keyof Counts)[]).every((key) => a[key] === b[key]);

function parsed(n: number, text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    if (n === 1) throw notOurs();
    throw misplaced(n, 'it is not JSON');
  }
}

const notOurs = () => new BadImport('This is not a file that Lagstep exported.');

const misplaced = (n: number, why: string) =>
  new BadImport(`Line ${n} of the file can’t be taken in (${why}). Nothing was imported.`);

function checkHead(value: unknown): void {
  const head = headSchema.safeParse(value);
  if (!head.success) throw notOurs();
  if (head.data.version > FILE_VERSION)
    throw new BadImport('The file was exported by a newer Lagstep, whose files this one can’t read.');
}

type Put = ReturnType<typeof inserts>;

function takeLine(n: number, value: unknown, put: Put, counts: Counting): Counts | undefined {
  const kind = kindOf(value);
  if (kind === undefined) throw misplaced(n, 'it says nothing that is known');
  switch (kind) {
    case 'farm':
      put.farm(checked(n, lineSchemas.farm, value).farm);
      counts.farms++;
      return undefined;
    case 'field':
      put.field(checked(n, lineSchemas.field, value).field);
      counts.fields++;
      return undefined;
    case 'case':
      put.case(checked(n, lineSchemas.case, value).case);
      counts.cases++;
      return undefined;
    case 'part':
      put.part(checked(n, lineSchemas.part, value).part);
      counts.parts++;
      return undefined;
    case 'reply':
      put.reply(checked(n, lineSchemas.reply, value).reply);
      counts.replies++;
      return undefined;
    case 'walk':
      put.walk(checked(n, lineSchemas.walk, value).walk);
      counts.walks++;
      return undefined;
    case 'mark': {
      const why = put.mark(checked(n, lineSchemas.mark, value).mark);
      if (why !== undefined) throw misplaced(n, why);
      counts.marks++;
      return undefined;
    }
    case 'end':
      return checked(n, lineSchemas.end, value).end;
  }
}

function kindOf(value: unknown): LineKind | undefined {
  const keys = typeof value === 'object' && value !== null ? Object.keys(value) : [];
  return (Object.keys(lineSchemas) as LineKind[]).find((kind) => kind === keys[0]);
}

function checked<T extends z.ZodType>(n: number, schema: T, value: unknown): z.infer<T> {
  const result = schema.safeParse(value);
  if (result.success) return result.data;
  const { path, message } = result.error.issues[0];
  throw misplaced(n, `${path.map(String).join('.')}: ${message}`);
}

function constraintTrouble(n: number, error: unknown): unknown {
  const code = String((error as { code?: unknown } | null)?.code);
  if (code === 'SQLITE_CONSTRAINT_FOREIGNKEY')
    return misplaced(n, 'it belongs to something the file doesn’t hold');
  if (code.startsWith('SQLITE_CONSTRAINT')) return misplaced(n, 'the same thing stands in the file twice');
  return error;
}

/** Every file must have all its bytes, in parts that follow each other. */
function checkFiles(staging: Database): void {
  const broken = staging
    .prepare<[], string>(
      `SELECT files.name FROM files LEFT JOIN file_parts USING (case_id, n)
       GROUP BY files.case_id, files.n
       HAVING coalesce(sum(length(bytes)), 0) <> size OR coalesce(max(part) + 1, 0) <> count(part)`,
    )
    .pluck()
    .get();
  if (broken !== undefined)
    throw new BadImport(`Of the file “${broken}” a part is missing. Nothing was imported.`);
}

function inserts(db: Database) {
  const farm = db.prepare('INSERT INTO farms (id, name) VALUES (@id, @name)');
  const field = db.prepare('INSERT INTO fields (id, farm_id, name) VALUES (@id, @farm, @name)');
  const about = db.prepare(
    `INSERT INTO cases (id, field_id, year, revision, question, typed, sample, created_at, changed_at)
     VALUES (@id, @field, @year, @revision, @question, @typed, @sample, @createdAt, @changedAt)`,
  );
  const file = db.prepare(
    'INSERT INTO files (case_id, n, name, role, columns, size) VALUES (?, ?, ?, ?, ?, ?)',
  );
  const part = db.prepare('INSERT INTO file_parts (case_id, n, part, bytes) VALUES (?, ?, ?, ?)');
  const reply = db.prepare(
    'INSERT INTO replies (case_id, revision, headline, area_ha, reply) VALUES (?, ?, ?, ?, ?)',
  );
  const walk = db.prepare('INSERT INTO walks (id, created_at, plan) VALUES (?, ?, ?)');
  const mark = db.prepare('INSERT INTO walk_events (walk_id, id, event) VALUES (?, ?, ?)');
  const stopsOf = new Map<string, number>();
  return {
    farm: (line: { id: string; name: string }) => void farm.run(line),
    field: (line: { id: string; farm: string | null; name: string }) => void field.run(line),
    case({ files, sample, question, typed, ...line }: SavedCaseLine) {
      const asked = questionText({ ...(question as object), files: [] });
      about.run({ ...line, sample: sample ? 1 : 0, question: asked, typed: JSON.stringify(typed) });
      for (const [n, { name, role, columns, size }] of files.entries())
        file.run(line.id, n, name, role, columns ? JSON.stringify(columns) : null, size);
    },
    part: (line: SavedPartLine) =>
      void part.run(line.case, line.file, line.part, Buffer.from(line.bytes, 'base64')),
    reply(line: SavedReplyLine) {
      const { headline, areaHa } = gist(line.reply);
      reply.run(line.case, line.revision, headline, areaHa, packReply(line.reply));
    },
    walk({ id, createdAt, plan }: SavedWalkLine) {
      stopsOf.set(id, plan.stops.length);
      walk.run(id, createdAt, JSON.stringify({ ...plan, id, createdAt }));
    },
    /** Why a mark can't be taken, if so. */
    mark(line: SavedMarkLine): string | undefined {
      const read = readWalkEvent(line.event, line.walk, stopsOf.get(line.walk) ?? 0);
      if (!read.ok) return read.why;
      mark.run(line.walk, read.event.id, JSON.stringify(line.event));
      return undefined;
    },
  };
}
