import path from 'node:path';
import type { Problem } from '../src/read/index.ts';
import { byRow, rowsIn } from './farmCommand.ts';
import { answerFields, type FileTrouble } from './farmFields.ts';
import type { FarmForm } from './farmForm.ts';
import type { Farm, FarmFile, FarmResult, FarmStore } from './farmStore.ts';
import { matchFile } from './farmUpload.ts';
import type { StandingAdvisers } from './farmWorkers.ts';
import { readManifest, type Manifest } from './manifest.ts';

/** Where a farm's fields are worked on. */
export interface FieldThreads {
  /** Fields worked on at a time. */
  readonly most: number;
  readonly open: () => StandingAdvisers;
}

/** The list of a farm as its form says to read it. */
export async function manifestOf(
  store: FarmStore,
  farm: Farm & { readonly list: FarmFile },
  { year, units }: Pick<FarmForm, 'year' | 'units'>,
): Promise<Manifest> {
  const bytes = await store.readFile(farm, farm.list);
  return readManifest(path.posix.basename(farm.list.name), bytes, year, units === 'us' ? 'ac' : 'ha');
}

/** Works a kept farm out. Files that its list names are looked for among those brought with it, and nowhere else. */
export async function runFarm(
  store: FarmStore,
  farm: Farm & { readonly list: FarmFile },
  form: FarmForm,
  threads: FieldThreads,
  progress: (share: number, doing: string) => void,
): Promise<FarmResult> {
  const manifest = await manifestOf(store, farm, form);
  progress(0, `0 of ${manifest.fields.length} fields`);
  const advisers = threads.open();
  try {
    const { fields, problems } = await answerFields(manifest.fields, manifest.file, form.options, {
      advise: advisers.advise,
      most: threads.most,
      progress: (done, all, name) => progress(done / all, `${done} of ${all}: ${name}`),
      readFile: (name) => fileBrought(store, farm, name),
    });
    const all: readonly Problem[] = byRow([...manifest.problems, ...problems]);
    if (fields.length === 0) return { ok: false, problems: all };
    progress(1, 'Dividing the budget');
    const { year, years, budget } = form;
    const { file, notes } = manifest;
    const question = { file, year, years, budget, notes, setAside: rowsIn(all) };
    return { ok: true, plan: await advisers.plan(fields, question), problems: all };
  } finally {
    advisers.close();
  }
}

async function fileBrought(store: FarmStore, farm: Farm, name: string): Promise<Uint8Array | FileTrouble> {
  const found = matchFile(name, farm.files);
  if (found === undefined)
    return {
      problem: 'No file of this name was brought along.',
      remedy: 'Bring it with the list, or empty the cell to have the field worked out without it.',
    };
  if (found === 'several')
    return {
      problem: 'Several files of this name were brought, and which is meant can’t be told.',
      remedy: 'Bring the whole folder, or give the files names of their own.',
    };
  return store.readFile(farm, found);
}
