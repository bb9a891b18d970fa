import { randomBytes } from 'node:crypto';
import { mkdir, readFile, rename, rm, writeFile } from 'node:fs/promises';
import path from 'node:path';
import type { Problem } from '../src/read/index.ts';
import type { Typed } from '../views/models/questionForm.ts';
import type { FarmPlan } from './farmPlan.ts';
import { isCaseId } from './store.ts';

/** A brought file: the name it came under, folders included, and its number on disk. */
export interface FarmFile {
  readonly name: string;
  readonly at: number;
}

/** A farm's question as kept on disk. */
export interface Farm {
  readonly id: string;
  /** The list of fields; absent while none was brought. */
  readonly list?: FarmFile;
  /** What the list's rows may name. */
  readonly files: readonly FarmFile[];
  /** The form as it was typed, to show again. */
  readonly typed: Typed;
}

/** How a farm's work ended: with a plan, or with what stopped it all. */
export type FarmResult =
  | { readonly ok: true; readonly plan: FarmPlan; readonly problems: readonly Problem[] }
  | { readonly ok: false; readonly problems: readonly Problem[] };

/** A farm that is being received: its files are written here as they come. */
export interface FarmDraft {
  readonly id: string;
  readonly folder: string;
}

/** Farms on disk: `farms/<id>/farm.json`, `files/<n>` beside it, and `result.json` once there is one. */
export interface FarmStore {
  draft(): Promise<FarmDraft>;
  /** Makes a farm of a draft. */
  keep(draft: FarmDraft, farm: Omit<Farm, 'id'>): Promise<Farm>;
  drop(draft: FarmDraft): Promise<void>;
  load(id: string): Promise<Farm | undefined>;
  pathOf(farm: Farm, file: FarmFile): string;
  readFile(farm: Farm, file: FarmFile): Promise<Uint8Array>;
  saveResult(farm: Farm, result: FarmResult): Promise<void>;
  loadResult(farm: Farm): Promise<FarmResult | undefined>;
  remove(farm: Farm): Promise<void>;
}

export function createFarmStore(dataDir: string): FarmStore {
  const farms = path.join(dataDir, 'farms');
  const folder = (id: string) => {
    // Nothing else ever becomes part of a path.
    if (!isCaseId(id)) throw new RangeError('Not a farm id.');
    return path.join(farms, id);
  };
  const pathOf = (farm: Farm, { at }: FarmFile) => path.join(folder(farm.id), 'files', String(at));
  return {
    async draft() {
      const id = randomBytes(10).toString('hex');
      const made = { id, folder: path.join(farms, `new-${id}`) };
      await mkdir(path.join(made.folder, 'files'), { recursive: true });
      return made;
    },
    async keep(draft, about) {
      const farm: Farm = { id: draft.id, ...about };
      await writeFile(path.join(draft.folder, 'farm.json'), JSON.stringify(farm));
      await rename(draft.folder, folder(farm.id));
      return farm;
    },
    drop: (draft) => rm(draft.folder, { recursive: true, force: true }),
    async load(id) {
      const text = isCaseId(id) ? await readIfThere(path.join(folder(id), 'farm.json')) : undefined;
      return text === undefined ? undefined : (JSON.parse(text) as Farm);
    },
    pathOf,
    readFile: async (farm, file) => new Uint8Array(await readFile(pathOf(farm, file))),
    async saveResult(farm, result) {
      // Beside it first, so that a reader sees a whole text or none.
      const file = path.join(folder(farm.id), 'result.json');
      const temporary = `${file}.${randomBytes(6).toString('hex')}`;
      try {
        await writeFile(temporary, JSON.stringify(result));
        await rename(temporary, file);
      } catch (error) {
        await rm(temporary, { force: true });
        throw error;
      }
    },
    async loadResult(farm) {
      const text = await readIfThere(path.join(folder(farm.id), 'result.json'));
      return text === undefined ? undefined : (JSON.parse(text) as FarmResult);
    },
    remove: (farm) => rm(folder(farm.id), { recursive: true, force: true }),
  };
}

async function readIfThere(file: string): Promise<string | undefined> {
  try {
    return await readFile(file, 'utf8');
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return undefined;
    throw error;
  }
}
