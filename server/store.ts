import { randomBytes } from 'node:crypto';
import { mkdir, readFile, rename, rm, writeFile } from 'node:fs/promises';
import path from 'node:path';
import type { AdviceReply, AdviceRequest, GivenFile } from '../src/advise/request.ts';
import type { Typed } from '../views/models/questionForm.ts';

/** A brought file without its contents, which stay on disk until they are worked on. */
export type FileEntry = Omit<GivenFile, 'bytes'>;

export type KeptQuestion = Omit<AdviceRequest, 'files'> & { readonly files: readonly FileEntry[] };

/** A field's question as kept on disk. `revision` grows with each correction. */
export interface Case {
  readonly id: string;
  readonly revision: number;
  readonly question: KeptQuestion;
  /** The form as it was typed, to show again. */
  readonly typed: Typed;
}

/** Cases on disk: `cases/<id>/case.json`, `files/<n>` beside it, and `result.json` once there is one. */
export interface Store {
  create(request: AdviceRequest, typed: Typed): Promise<Case>;
  load(id: string): Promise<Case | undefined>;
  /** The question with the contents of its files. */
  read(kept: Case): Promise<AdviceRequest>;
  /** A new revision of the question; the files' contents stay. */
  revise(kept: Case, question: KeptQuestion, typed: Typed): Promise<Case>;
  saveReply(kept: Case, reply: AdviceReply): Promise<void>;
  /** The reply to this revision, if there is one. */
  loadReply(kept: Case): Promise<AdviceReply | undefined>;
  /** Deletes the case with its files. */
  remove(kept: Case): Promise<void>;
}

/** Whether a text can be a case's id; nothing else ever becomes part of a path. */
export const isCaseId = (id: string): boolean => /^[0-9a-f]{20}$/.test(id);

export function createStore(dataDir: string): Store {
  const cases = path.join(dataDir, 'cases');
  const folder = (id: string) => {
    if (!isCaseId(id)) throw new RangeError('Not a case id.');
    return path.join(cases, id);
  };
  return {
    async create(request, typed) {
      const id = randomBytes(10).toString('hex');
      const made: Case = { id, revision: 1, question: withoutBytes(request), typed };
      const temporary = path.join(cases, `new-${made.id}`);
      await mkdir(path.join(temporary, 'files'), { recursive: true });
      for (const [i, file] of request.files.entries())
        await writeFile(path.join(temporary, 'files', String(i)), file.bytes);
      await writeFile(path.join(temporary, 'case.json'), JSON.stringify(made));
      await rename(temporary, folder(made.id));
      return made;
    },
    async load(id) {
      const text = isCaseId(id) ? await readIfThere(path.join(folder(id), 'case.json')) : undefined;
      if (text === undefined) return undefined;
      return JSON.parse(text) as Case;
    },
    async read(kept) {
      const files = await Promise.all(
        kept.question.files.map(async (file, i) => ({
          ...file,
          bytes: new Uint8Array(await readFile(path.join(folder(kept.id), 'files', String(i)))),
        })),
      );
      return { ...kept.question, files };
    },
    async revise(kept, question, typed) {
      const next: Case = { ...kept, revision: kept.revision + 1, question, typed };
      await writeWhole(path.join(folder(kept.id), 'case.json'), JSON.stringify(next));
      return next;
    },
    async saveReply(kept, reply) {
      const text = JSON.stringify({ revision: kept.revision, reply });
      await writeWhole(path.join(folder(kept.id), 'result.json'), text);
    },
    async loadReply(kept) {
      const text = await readIfThere(path.join(folder(kept.id), 'result.json'));
      if (text === undefined) return undefined;
      const saved = JSON.parse(text) as { revision: number; reply: AdviceReply };
      return saved.revision === kept.revision ? saved.reply : undefined;
    },
    async remove(kept) {
      await rm(folder(kept.id), { recursive: true, force: true });
    },
  };
}

function withoutBytes(request: AdviceRequest): KeptQuestion {
  return { ...request, files: request.files.map(({ role, name, columns }) => ({ role, name, columns })) };
}

/** Writes beside the file and renames, so that a reader sees the old text or the new one, never half. */
async function writeWhole(file: string, text: string): Promise<void> {
  const temporary = `${file}.${randomBytes(6).toString('hex')}`;
  try {
    await writeFile(temporary, text);
    await rename(temporary, file);
  } catch (error) {
    await rm(temporary, { force: true });
    throw error;
  }
}

async function readIfThere(file: string): Promise<string | undefined> {
  try {
    return await readFile(file, 'utf8');
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return undefined;
    throw error;
  }
}
