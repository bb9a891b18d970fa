import { gunzipSync, gzipSync } from 'node:zlib';
import type { AdviceReply, AdviceRequest } from '../../src/advise/request.ts';
import type { Case, KeptQuestion, Place } from '../store.ts';
import { fileRows, insertFiles, readFileBytes } from './fileParts.ts';
import type { Database } from './migration.ts';
import { newId } from './newId.ts';

interface CaseRow {
  readonly fieldName: string;
  readonly revision: number;
  readonly question: string;
  readonly typed: string;
}

/** What makes up a new row; the field's name goes to the field. */
export interface NewCase extends Case {
  readonly createdAt: number;
  readonly changedAt: number;
}

/** Keeps a question with its files; without a place it becomes a field of its own. All or nothing. */
export function insertCase(
  db: Database,
  made: NewCase,
  files: AdviceRequest['files'],
  place: Place = {},
): void {
  db.transaction(() => {
    const field = place.fieldId ?? addField(db, made.question.fieldName ?? '', place.farmId);
    if (place.fieldId !== undefined) nameField(db, field, made.question.fieldName);
    const year = place.year ?? new Date(made.createdAt).getFullYear();
    db.prepare(
      `INSERT INTO cases (id, field_id, year, revision, question, typed, sample, created_at, changed_at)
       VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`,
    ).run(
      made.id,
      field,
      year,
      made.revision,
      questionText(made.question),
      JSON.stringify(made.typed),
      place.sample ? 1 : 0,
      made.createdAt,
      made.changedAt,
    );
    insertFiles(db, made.id, files);
  }).immediate();
}

function addField(db: Database, name: string, farmId: string | undefined): string {
  const id = newId();
  db.prepare('INSERT INTO fields (id, farm_id, name) VALUES (?, ?, ?)').run(id, farmId ?? null, name);
  return id;
}

/** Always in this order, so that the same question is the same text. */
export const questionText = ({ answers, options }: KeptQuestion): string =>
  JSON.stringify({ answers, options });

function nameField(db: Database, fieldId: string, name: string | undefined): void {
  if (name) db.prepare('UPDATE fields SET name = ? WHERE id = ?').run(name, fieldId);
}

/** A case that isn't deleted; the name it was typed with gives way to the field's present one. */
export function loadCase(db: Database, id: string): Case | undefined {
  const row = db
    .prepare<[string], CaseRow>(
      `SELECT fields.name AS fieldName, revision, question, typed
       FROM cases JOIN fields ON fields.id = field_id WHERE cases.id = ? AND deletion_id IS NULL`,
    )
    .get(id);
  if (!row) return undefined;
  const fieldName = row.fieldName || undefined;
  const typed = JSON.parse(row.typed) as Case['typed'];
  const files = fileRows(db, id).map(({ role, name, columns }) => ({
    role,
    name,
    columns: columns === null ? undefined : (JSON.parse(columns) as KeptQuestion['files'][number]['columns']),
  }));
  return {
    id,
    revision: row.revision,
    question: { ...(JSON.parse(row.question) as object), fieldName, files },
    typed: fieldName && 'name' in typed ? { ...typed, name: fieldName } : typed,
  };
}

/** The question with the contents of its files. */
export function readCase(db: Database, kept: Case): AdviceRequest {
  const rows = fileRows(db, kept.id);
  if (rows.length < kept.question.files.length) throw new RangeError('The files of this field are gone.');
  const files = kept.question.files.map((file, n) => ({
    ...file,
    bytes: readFileBytes(db, kept.id, rows[n]),
  }));
  return { ...kept.question, files };
}

/** A new revision of the question; the files' contents stay. */
export function reviseCase(
  db: Database,
  kept: Case,
  next: Pick<Case, 'question' | 'typed'>,
  at: number,
): Case {
  return db
    .transaction((): Case => {
      const revised = db
        .prepare<[string, string, number, string], { revision: number; field_id: string }>(
          `UPDATE cases SET question = ?, typed = ?, changed_at = ?, revision = revision + 1
           WHERE id = ? RETURNING revision, field_id`,
        )
        .get(questionText(next.question), JSON.stringify(next.typed), at, kept.id);
      if (!revised) throw new RangeError('This field is gone.');
      nameField(db, revised.field_id, next.question.fieldName);
      const file = db.prepare('UPDATE files SET name = ?, role = ?, columns = ? WHERE case_id = ? AND n = ?');
      for (const [n, { name, role, columns }] of next.question.files.entries())
        file.run(name, role, columns ? JSON.stringify(columns) : null, kept.id, n);
      return { id: kept.id, revision: revised.revision, ...next };
    })
    .immediate();
}

/** Keeps a reply to a revision, unless the case is gone or a later revision was answered meanwhile. */
export function insertReply(db: Database, caseId: string, revision: number, reply: AdviceReply): void {
  const { headline, areaHa } = gist(reply);
  db.prepare(
    `INSERT INTO replies (case_id, revision, headline, area_ha, reply)
     SELECT id, @revision, @headline, @areaHa, @bytes FROM cases WHERE id = @caseId
     ON CONFLICT (case_id) DO UPDATE
     SET revision = excluded.revision, headline = excluded.headline, area_ha = excluded.area_ha, reply = excluded.reply
     WHERE excluded.revision >= replies.revision`,
  ).run({ caseId, revision, headline, areaHa, bytes: packReply(reply) });
}

/** What lists show of a reply. */
export const gist = (
  reply: AdviceReply,
): { readonly headline: string | null; readonly areaHa: number | null } =>
  reply.ok
    ? { headline: reply.advice.verdict.headline, areaHa: reply.advice.field.areaHa }
    : { headline: null, areaHa: null };

export const packReply = (reply: unknown): Buffer => gzipSync(JSON.stringify(reply));
export const unpackReply = (bytes: Buffer): string => gunzipSync(bytes).toString('utf8');

/** The reply to this very revision, with the field's present name. */
export function loadReply(db: Database, kept: Case): AdviceReply | undefined {
  const bytes = db
    .prepare<[string, number], Buffer>('SELECT reply FROM replies WHERE case_id = ? AND revision = ?')
    .pluck()
    .get(kept.id, kept.revision);
  if (!bytes) return undefined;
  const reply = JSON.parse(unpackReply(bytes)) as AdviceReply;
  const name = kept.question.fieldName;
  if (!reply.ok || !name) return reply;
  return { ...reply, advice: { ...reply.advice, field: { ...reply.advice.field, name } } };
}
