import { copyFile, readFile } from 'node:fs/promises';
import path from 'node:path';
import { Router, type Request, type Response } from 'express';
import { sayProblem } from '../../src/read/problem.ts';
import type { Typed } from '../../views/models/questionForm.ts';
import { DEFAULT_YEARS } from '../farmCommand.ts';
import { listColumns, templateCsv } from '../farmColumns.ts';
import { farmCsv, farmJson } from '../farmData.ts';
import { farmOptionFields, readFarmForm, type FarmForm } from '../farmForm.ts';
import type { FarmJob, FarmJobs } from '../farmJobs.ts';
import { farmPage } from '../farmPage.ts';
import { manifestOf, runFarm, type FieldThreads } from '../farmRun.ts';
import type { Farm, FarmDraft, FarmFile, FarmResult, FarmStore } from '../farmStore.ts';
import { receiveFarm, type ReceivedFarm } from '../farmUpload.ts';
import { typedFrom } from '../forms/typed.ts';
import { HttpError } from '../httpError.ts';
import { MOST_FIELDS, readManifest } from '../manifest.ts';
import { renderTrouble } from '../pages.ts';

/** What the farm's routes work with. */
export interface FarmContext {
  readonly store: FarmStore;
  readonly jobs: FarmJobs<FarmResult>;
  readonly threads: FieldThreads;
  /** The demo farm: `farm.csv` and the files it names. */
  readonly demoDir: string;
  /** How long a page waits for the plan before it shows that it is being worked on, ms. */
  readonly patienceMs: number;
}

/** Several fields under one budget: the form, the plan, and its downloads. */
export function farmRoutes(context: FarmContext): Router {
  const router = Router();
  router.get('/farm', async (req, res) => {
    const typed = typedFrom(req.query);
    const kept = typed.farm ? await context.store.load(typed.farm) : undefined;
    await renderForm(context, res, { typed: kept?.typed ?? typed, problems: [], kept });
  });
  router.post('/farm', (req, res) => takeFarm(context, req, res));
  router.get('/farm/template.csv', (_req, res) => {
    res.attachment('fields.csv').type('text/csv; charset=utf-8').send(templateCsv());
  });
  router.get('/farm/demo.csv', async (_req, res) => {
    const list = await demoList(context);
    if (!list) throw new HttpError(404, 'There is no demo farm here.');
    res.attachment('farm.csv').type('text/csv; charset=utf-8').send(Buffer.from(list));
  });
  router.get('/farm/:id', async (req, res) => showFarm(context, await farmOf(context, req), res));
  router.post('/farm/:id/delete', async (req, res) => {
    await context.store.remove(await farmOf(context, req));
    res.redirect(303, '/farm');
  });
  router.get('/farm/:id/:download', (req, res) => sendFarm(context, req, res));
  return router;
}

const thisYear = (): number => new Date().getFullYear();

async function farmOf(context: FarmContext, req: Request): Promise<Farm> {
  const farm = await context.store.load(String(req.params.id));
  if (!farm) throw new HttpError(404, 'There is no farm kept under this address. It may have been deleted.');
  return farm;
}

interface FormPage {
  readonly typed: Typed;
  readonly problems: readonly string[];
  readonly kept?: Farm;
}

async function renderForm(context: FarmContext, res: Response, page: FormPage): Promise<void> {
  const { typed, kept } = page;
  const units = typed.units === 'metric' ? 'metric' : 'us';
  res.render('farm', {
    ...page,
    units,
    columns: listColumns,
    mostFields: MOST_FIELDS,
    years: [1, 2, 3, 4, 5, 6].map((n) => ({
      value: String(n),
      label: n === 1 ? 'this autumn only' : `${n} years`,
      selected: (typed.years || String(DEFAULT_YEARS)) === String(n),
    })),
    thisYear: thisYear(),
    keptList: kept?.list?.name ?? '',
    keptFiles: kept?.files.length ?? 0,
    keptId: kept?.id ?? '',
    options: farmOptionFields.map((f) => ({ ...f, usual: f.usual[units === 'us' ? 0 : 1] })),
    openOptions: farmOptionFields.some((f) => typed[f.id]),
    demo: (await demoList(context)) !== undefined,
  });
}

async function takeFarm(context: FarmContext, req: Request, res: Response): Promise<void> {
  const { store } = context;
  const draft = await store.draft();
  let farm: Farm;
  let form: FarmForm;
  try {
    const received = await receiveFarm(req, res, draft);
    const sent = typedFrom(req.body);
    const wantsDemo = sent.demo !== undefined;
    const typed = formOnly(wantsDemo && !sent.budget && !sent.samples ? { ...sent, budget: '3000' } : sent);
    form = readFarmForm(typed, thisYear());
    const all = wantsDemo ? await demoFarm(context, draft) : await withKept(context, draft, sent, received);
    farm = await store.keep(draft, { ...all, typed });
  } catch (error) {
    await store.drop(draft);
    throw error;
  }
  const problems = [...form.problems];
  if (!hasList(farm))
    problems.push('No list of fields was brought: choose a CSV file with a row for each field.');
  else if (problems.length === 0) {
    const manifest = await manifestOf(store, farm, form);
    if (manifest.fields.length === 0)
      problems.push(...(manifest.problems.length > 0 ? manifest.problems.map(sayProblem) : [NO_ROWS]));
  }
  if (problems.length > 0) {
    res.status(422);
    return renderForm(context, res, { typed: farm.typed, problems, kept: farm });
  }
  await settled(jobOf(context, farm), context.patienceMs);
  const result = await store.loadResult(farm);
  // Trouble is shown at once; all else at the farm's own address.
  if (result && !result.ok) return showFarm(context, farm, res);
  res.redirect(303, `/farm/${farm.id}`);
}

const NO_ROWS = 'The list has no row with a field.';
const hasList = (farm: Farm): farm is Farm & { readonly list: FarmFile } => farm.list !== undefined;

/** The form without what it says of files: those are kept beside it. */
function formOnly(typed: Typed): Typed {
  const aboutFiles = new Set(['farm', 'keepFiles', 'demo']);
  return Object.fromEntries(Object.entries(typed).filter(([name]) => !aboutFiles.has(name)));
}

/** What was received now, and what was kept from before unless it came anew. */
async function withKept(
  { store }: FarmContext,
  draft: FarmDraft,
  sent: Typed,
  received: ReceivedFarm,
): Promise<ReceivedFarm> {
  if (!sent.farm) return received;
  const before = await store.load(sent.farm);
  if (!before) throw new HttpError(404, 'The list brought before is no longer here. Please bring it again.');
  const names = new Set(received.files.map((f) => f.name.toLowerCase()));
  const carried = sent.keepFiles ? before.files.filter((f) => !names.has(f.name.toLowerCase())) : [];
  let next =
    1 + Math.max(-1, ...[...received.files, ...(received.list ? [received.list] : [])].map((f) => f.at));
  const carry = async (file: FarmFile): Promise<FarmFile> => {
    const at = next++;
    await copyFile(store.pathOf(before, file), path.join(draft.folder, 'files', String(at)));
    return { name: file.name, at };
  };
  const list = received.list ?? (before.list && (await carry(before.list)));
  const files = [...received.files];
  for (const file of carried) files.push(await carry(file));
  return { list, files };
}

const demoList = ({ demoDir }: FarmContext): Promise<Uint8Array | undefined> =>
  readFile(path.join(demoDir, 'farm.csv')).catch(() => undefined);

/** The demo farm's own list with the files it names, as if they had been brought. */
async function demoFarm(context: FarmContext, draft: FarmDraft): Promise<ReceivedFarm> {
  const bytes = await demoList(context);
  if (!bytes) throw new HttpError(404, 'There is no demo farm here.');
  const names = readManifest('farm.csv', bytes, thisYear()).fields.flatMap((f) => f.files.map((x) => x.path));
  const files: FarmFile[] = [];
  const put = async (name: string) => {
    const at = files.length;
    await copyFile(path.join(context.demoDir, name), path.join(draft.folder, 'files', String(at)));
    files.push({ name, at });
  };
  await put('farm.csv');
  for (const name of new Set(names)) await put(name);
  return { list: files[0], files: files.slice(1) };
}

/** The farm's work, put in line if it isn't yet; its result is kept on disk when it comes. */
function jobOf(context: FarmContext, farm: Farm): FarmJob<FarmResult> {
  const { store, jobs, threads } = context;
  const job = jobs.start(farm.id, async (progress) => {
    if (!hasList(farm)) throw new RangeError('A farm without a list has no work.');
    const result = await runFarm(store, farm, readFarmForm(farm.typed, thisYear()), threads, progress);
    await store.saveResult(farm, result);
    return result;
  });
  if (!job) throw new HttpError(503, 'Too many farms are waiting. Please try again in some minutes.');
  return job;
}

/** What a job came to, if it comes within a time. */
async function settled<T>(job: FarmJob<T>, ms: number) {
  let timer: NodeJS.Timeout | undefined;
  const late = new Promise<undefined>((done) => {
    timer = setTimeout(() => done(undefined), ms);
  });
  try {
    return await Promise.race([job.outcome, late]);
  } finally {
    clearTimeout(timer);
  }
}

async function showFarm(context: FarmContext, farm: Farm, res: Response): Promise<void> {
  const saved = await context.store.loadResult(farm);
  if (saved) return showResult(context, farm, saved, res);
  if (!hasList(farm)) return renderForm(context, res, { typed: farm.typed, problems: [], kept: farm });
  const job = jobOf(context, farm);
  const outcome = await settled(job, context.patienceMs);
  if (!outcome) {
    res.status(202).set('Cache-Control', 'no-store');
    return res.render('farmWaiting', {
      doing: job.doing,
      percent: Math.round(100 * Math.min(1, Math.max(0, job.share))),
    });
  }
  if ('ok' in outcome) return showResult(context, farm, outcome, res);
  renderTrouble(res, {
    status: 500,
    heading: 'It could not be worked out',
    sentence: 'The work on this farm broke off: a fault of the program, not of the list.',
    links: [
      { href: `/farm/${farm.id}`, label: 'Try again' },
      { href: `/farm?farm=${farm.id}`, label: 'Change the list' },
    ],
  });
}

async function showResult(
  context: FarmContext,
  farm: Farm,
  result: FarmResult,
  res: Response,
): Promise<void> {
  if (!result.ok) {
    res.status(422);
    return renderForm(context, res, {
      typed: farm.typed,
      problems: result.problems.length > 0 ? result.problems.map(sayProblem) : [NO_ROWS],
      kept: farm,
    });
  }
  const here = `/farm/${farm.id}`;
  res.render('farmResult', {
    f: farmPage(result.plan, result.problems, farm.typed),
    file: farm.list?.name ?? '',
    links: {
      csv: `${here}/fields.csv`,
      json: `${here}/farm.json`,
      edit: `/farm?farm=${farm.id}`,
      remove: `${here}/delete`,
    },
  });
}

async function sendFarm(context: FarmContext, req: Request, res: Response): Promise<void> {
  const name = String(req.params.download);
  if (name !== 'fields.csv' && name !== 'farm.json')
    throw new HttpError(404, 'There is no page at this address.');
  const result = await context.store.loadResult(await farmOf(context, req));
  if (!result) throw new HttpError(404, 'This farm is not worked out yet.');
  if (!result.ok) throw new HttpError(422, result.problems.map(sayProblem).join(' '));
  res.attachment(name);
  if (name === 'fields.csv') res.type('text/csv; charset=utf-8').send(farmCsv(result.plan));
  else res.type('application/json').send(farmJson(result.plan, result.problems));
}
