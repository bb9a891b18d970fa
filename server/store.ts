import type { AdviceReply, AdviceRequest, GivenFile } from '../src/advise/request.ts';
import type { Typed } from '../views/models/questionForm.ts';
import { insertCase, insertReply, loadCase, loadReply, readCase, reviseCase } from './database/cases.ts';
import { deleteCases } from './database/deletions.ts';
import { createKeeping, type Keeping } from './database/keeping.ts';
import { isId, newId } from './database/newId.ts';

/** A brought file without its contents, which stay on disk until they are worked on. */
export type FileEntry = Omit<GivenFile, 'bytes'>;

export type KeptQuestion = Omit<AdviceRequest, 'files'> & { readonly files: readonly FileEntry[] };

/** A field's question as kept: a season of the field. `revision` grows with each correction. */
export interface Case {
  readonly id: string;
  readonly revision: number;
  readonly question: KeptQuestion;
  /** The form as it was typed, to show again. */
  readonly typed: Typed;
}

/** Where a new case belongs; left out, it becomes a field of its own, of this year. */
export interface Place {
  readonly fieldId?: string;
  readonly farmId?: string;
  readonly year?: number;
  /** Part of the sample data, which goes all at once. */
  readonly sample?: boolean;
}

/** Cases in the database of the data folder. */
export interface Store {
  create(request: AdviceRequest, typed: Typed, place?: Place): Promise<Case>;
  load(id: string): Promise<Case | undefined>;
  /** Where a case belongs, for another that follows it. */
  placeOf(kept: Case): Promise<Place>;
  /** The question with the contents of its files. */
  read(kept: Case): Promise<AdviceRequest>;
  /** A new revision of the question; the files' contents stay. */
  revise(kept: Case, question: KeptQuestion, typed: Typed): Promise<Case>;
  saveReply(kept: Case, reply: AdviceReply): Promise<void>;
  /** The reply to this revision, if there is one. */
  loadReply(kept: Case): Promise<AdviceReply | undefined>;
  /** Deletes the case with its files; the id of the deletion, to undo it by. */
  remove(kept: Case): Promise<string | undefined>;
}

/** Whether a text can be a case's id; nothing else ever becomes part of a path. */
export const isCaseId = isId;

/** The cases of a data folder, or of one whose database is used by others too. */
export function createStore(where: string | Keeping): Store {
  const { use } = typeof where === 'string' ? createKeeping(where) : where;
  return {
    async create(request, typed, place) {
      const id = newId();
      const now = Date.now();
      return use((db) => {
        const made: Case = { id, revision: 1, question: withoutBytes(request), typed };
        insertCase(db, { ...made, createdAt: now, changedAt: now }, request.files, place);
        return made;
      });
    },
    load: async (id) => (isId(id) ? use((db) => loadCase(db, id)) : undefined),
    placeOf: async ({ id }) =>
      use(
        (db) =>
          db.prepare<[string], Place>('SELECT field_id AS fieldId, year FROM cases WHERE id = ?').get(id) ??
          {},
      ),
    read: async (kept) => use((db) => readCase(db, kept)),
    revise: async (kept, question, typed) =>
      use((db) => reviseCase(db, kept, { question, typed }, Date.now())),
    saveReply: async (kept, reply) => use((db) => insertReply(db, kept.id, kept.revision, reply)),
    loadReply: async (kept) => use((db) => loadReply(db, kept)),
    remove: async ({ id }) => use((db) => deleteCases(db, { kind: 'season', id }, Date.now())?.id),
  };
}

function withoutBytes(request: AdviceRequest): KeptQuestion {
  return { ...request, files: request.files.map(({ role, name, columns }) => ({ role, name, columns })) };
}
