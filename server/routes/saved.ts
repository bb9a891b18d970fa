import { mkdirSync } from 'node:fs';
import { rm } from 'node:fs/promises';
import { pipeline } from 'node:stream/promises';
import { Router, urlencoded, type Request, type RequestHandler, type Response } from 'express';
import multer from 'multer';
import { fieldModel, formatDay, savedModel, shownName } from '../../views/models/savedModel.ts';
import { caseJob, caseKey } from '../caseJob.ts';
import type { Context } from '../context.ts';
import {
  deleteCases,
  listDeletions,
  purgeDeletion,
  undoDeletion,
  type Which,
} from '../database/deletions.ts';
import { exportAll } from '../database/exportAll.ts';
import { importAll } from '../database/importAll.ts';
import { incomingFolder, type Keeping } from '../database/keeping.ts';
import { farmNamed, placeField, placeSeason, renameFarm } from '../database/places.ts';
import { findField, listSaved } from '../database/savedList.ts';
import { FIRST_YEAR, LAST_YEAR, NAME_LENGTH } from '../database/savedFile.ts';
import { storageTrouble } from '../database/storageTrouble.ts';
import { demoRequest, listDemoFields } from '../demo.ts';
import { askedQuestion } from '../forms/question.ts';
import { typedFrom } from '../forms/typed.ts';
import { HttpError } from '../httpError.ts';
import { within } from '../jobs.ts';
import { renderQuestions } from '../pages.ts';
import type { Case } from '../store.ts';

const SAMPLE_FARM = 'Invented demo farm';
const MOST_IMPORT_BYTES = 2 * 1024 ** 3;

const form = urlencoded({ extended: false, limit: '500kb', parameterLimit: 5000 });

/** What was just done, by the word in the address. */
const doneSentences: Readonly<Record<string, string>> = {
  changed: 'The change is saved.',
  restored: 'Brought back.',
  gone: 'Deleted for good.',
  late: 'There was nothing left to bring back.',
  sample: 'The sample fields are in the list. Their answers are being worked out.',
};

interface SavedContext extends Context {
  readonly keeping: Keeping;
}

/** The list of what is saved, its order, its deletion and undoing, and all of it as one file. */
export function savedRoutes(context: SavedContext): Router {
  const { use, dataDir } = context.keeping;
  const router = Router();
  router.get('/saved', (req, res) => showList(context, req, res));
  router.get('/saved/export', (_req, res) => sendAll(dataDir, use, res));
  router.post('/saved/import', receiveOne(dataDir), (req, res) => takeAll(context, req, res));
  router.post('/saved/keep', form, (req, res) => keepAnswer(context, req, res));
  router.post('/saved/sample', async (_req, res) => {
    await addSample(context);
    res.redirect(303, '/saved?done=sample');
  });
  router.post('/saved/sample/delete', (_req, res) => remove(context, { kind: 'sample' }, res));

  router.post('/saved/farms/:id', form, (req, res) => {
    use((db) => renameFarm(db, idOf(req), namedIn(req, 'name', 'The farm needs a name.')));
    res.redirect(303, `/saved?done=changed#farm-${idOf(req)}`);
  });
  router.get('/saved/fields/:id', (req, res) => showField(context, req, res));
  router.post('/saved/fields/:id', form, (req, res) => {
    const typed = typedFrom(req.body);
    use((db) => placeField(db, idOf(req), nameFrom(typed.name), nameFrom(typed.farm)));
    res.redirect(303, `/saved?done=changed#field-${idOf(req)}`);
  });
  router.post('/saved/seasons/:id', form, (req, res) => {
    const { year = '', field = '' } = typedFrom(req.body);
    use((db) => placeSeason(db, idOf(req), yearFrom(year), field));
    res.redirect(303, `/saved/fields/${field}?done=changed`);
  });
  for (const kind of ['farm', 'field', 'season'] as const)
    router.post(`/saved/${kind}s/:id/delete`, (req, res) => remove(context, { kind, id: idOf(req) }, res));
  router.post('/saved/deletions/:id/undo', (req, res) => {
    const back = use((db) => undoDeletion(db, idOf(req)));
    res.redirect(303, `/saved?done=${back ? 'restored' : 'late'}`);
  });
  router.post('/saved/deletions/:id/purge', (req, res) => {
    use((db) => purgeDeletion(db, idOf(req)));
    res.redirect(303, '/saved?done=gone');
  });
  return router;
}

const idOf = (req: Request): string => String(req.params.id);

const nameFrom = (text = ''): string => text.slice(0, NAME_LENGTH).trim();

function namedIn(req: Request, key: string, missing: string): string {
  const name = nameFrom(typedFrom(req.body)[key]);
  if (name === '') throw new HttpError(422, missing);
  return name;
}

function yearFrom(text: string): number {
  const year = /^\d{4}$/.test(text) ? Number(text) : NaN;
  if (!(year >= FIRST_YEAR && year <= LAST_YEAR))
    throw new HttpError(422, `A season is a year such as 2026, not “${text}”.`);
  return year;
}

function doneOf(req: Request): string {
  const { done = '', imported = '', walks = '' } = typedFrom(req.query);
  const said = [counted(imported, 'answer'), counted(walks, 'walk')].filter((text) => text !== '');
  if (said.length > 0) return `Imported: ${said.join(' and ')}.`;
  return Object.hasOwn(doneSentences, done) ? doneSentences[done] : '';
}

const counted = (number: string, thing: string): string =>
  /^\d{1,7}$/.test(number) ? `${Number(number)} ${thing}${Number(number) === 1 ? '' : 's'}` : '';

async function showList(context: SavedContext, req: Request, res: Response): Promise<void> {
  const { q = '', deleted = '' } = typedFrom(req.query);
  const [fields, deletions] = context.keeping.use((db) => [listSaved(db), listDeletions(db)]);
  const demo = await listDemoFields(context.demoDir);
  res.set('Cache-Control', 'no-store');
  res.render('saved', {
    s: savedModel(fields, q),
    done: doneOf(req),
    justDeleted: deletions.find((d) => d.id === deleted),
    deletions: deletions.map((d) => ({ ...d, day: formatDay(d.at) })),
    nameLength: NAME_LENGTH,
    offersSample: demo.length > 0,
  });
}

function showField(context: SavedContext, req: Request, res: Response): void {
  const [field, all] = context.keeping.use((db) => [findField(db, idOf(req)), listSaved(db)]);
  if (!field)
    throw new HttpError(404, 'There is no field kept under this address. It may have been deleted.');
  const farms = new Set(all.flatMap((f) => (f.farm ? [f.farm.name] : [])));
  res.set('Cache-Control', 'no-store');
  res.render('savedField', {
    f: fieldModel(field),
    name: field.name,
    farm: field.farm?.name ?? '',
    farms: [...farms].sort((a, b) => a.localeCompare(b)),
    others: all
      .map((f) => ({ id: f.id, label: f.farm ? `${shownName(f.name)} (${f.farm.name})` : shownName(f.name) }))
      .sort((a, b) => a.label.localeCompare(b.label)),
    done: doneOf(req),
    nameLength: NAME_LENGTH,
  });
}

function remove(context: SavedContext, which: Which, res: Response): void {
  const made = context.keeping.use((db) => deleteCases(db, which, Date.now()));
  if (!made) throw new HttpError(404, 'There was nothing to delete: it may have been deleted before.');
  res.redirect(303, `/saved?deleted=${made.id}`);
}

async function sendAll(dataDir: string, use: Keeping['use'], res: Response): Promise<void> {
  // Made first if there is none yet; and trouble with it is said on a page, not in the middle of a file.
  use((db) => db.prepare('SELECT 1 FROM cases LIMIT 1').get());
  const day = new Date().toISOString().slice(0, 10);
  res.attachment(`lagstep-saved-${day}.jsonl.gz`).type('application/gzip').set('Cache-Control', 'no-store');
  try {
    await pipeline(exportAll(dataDir), res);
  } catch (error) {
    // Whoever fetched it went away, or it broke off: the file has no end then, and is refused at import.
    if ((error as NodeJS.ErrnoException).code !== 'ERR_STREAM_PREMATURE_CLOSE') console.error(error);
    res.destroy();
  }
}

/** Receives one file onto the disk: it may be larger than memory. */
function receiveOne(dataDir: string): RequestHandler {
  const receive = multer({
    storage: multer.diskStorage({
      destination(_req, _file, done) {
        const folder = incomingFolder(dataDir);
        try {
          mkdirSync(folder, { recursive: true });
          done(null, folder);
        } catch (error) {
          done(error as Error, folder);
        }
      },
      filename: (_req, _file, done) =>
        done(null, `${Date.now()}-received-${Math.random().toString(36).slice(2)}`),
    }),
    limits: { fileSize: MOST_IMPORT_BYTES, files: 1, fields: 5, parts: 6 },
  }).single('file');
  return (req, res, next) =>
    void receive(req, res, (error: unknown) => {
      if (!error) return next();
      next(receiveTrouble(error, dataDir));
    });
}

function receiveTrouble(error: unknown, dataDir: string): HttpError {
  if (error instanceof multer.MulterError && error.code === 'LIMIT_FILE_SIZE')
    return new HttpError(413, 'The file is larger than 2 GB, more than can be taken in.');
  const said = storageTrouble(error, dataDir);
  if (said instanceof HttpError) return said;
  return new HttpError(400, 'The file arrived broken off or could not be received. Please send it again.');
}

async function takeAll(context: SavedContext, req: Request, res: Response): Promise<void> {
  if (!req.file) throw new HttpError(422, 'No file was chosen: choose one that was exported from this page.');
  try {
    if (req.file.size === 0)
      throw new HttpError(
        422,
        'No file was chosen, or it is empty: choose one that was exported from this page.',
      );
    const { cases, walks, cameIn } = await importAll(context.keeping, req.file.path);
    for (const { id, revision } of cameIn)
      context.jobs.forget(caseKey({ id, revision, question: { files: [] }, typed: {} }));
    res.redirect(303, `/saved?imported=${cases}${walks > 0 ? `&walks=${walks}` : ''}`);
  } finally {
    await rm(req.file.path, { force: true });
  }
}

/** Keeps the answers of the questionnaire, with the answer if it is still at hand. */
async function keepAnswer(context: SavedContext, req: Request, res: Response): Promise<void> {
  const typed = typedFrom({ ...req.query, ...(req.body as object | undefined) });
  const asked = askedQuestion(typed, true);
  if (asked.problems.length > 0) {
    res.status(422);
    return renderQuestions(res, typed, asked.problems);
  }
  const made = await context.store.create({ ...asked.request, files: [] }, typed);
  // The key that `/answer` works under; should it differ, the answer is only worked out once more.
  const known = context.jobs.find(`answer ${JSON.stringify(asked.request)}`)?.done;
  if (known?.kind === 'reply') await context.store.saveReply(made, known.reply);
  else await within(caseJob(context, made), context.patienceMs);
  res.redirect(303, `/cases/${made.id}`);
}

/** The demo farm's fields as saved ones, unless they are there already; answers come one after the other. */
async function addSample(context: SavedContext): Promise<void> {
  const { use } = context.keeping;
  const there = use((db) => db.prepare('SELECT 1 FROM cases WHERE sample = 1 AND deletion_id IS NULL').get());
  if (there !== undefined) return;
  const demo = await listDemoFields(context.demoDir);
  if (demo.length === 0) throw new HttpError(404, 'This Lagstep came without sample fields.');
  const requests = await Promise.all(demo.map((f) => demoRequest(context.demoDir, f.id)));
  const farmId = use((db) => farmNamed(db, SAMPLE_FARM));
  const made: Case[] = [];
  for (const found of requests)
    if (found)
      made.push(
        await context.store.create(
          found.request,
          { name: found.request.fieldName ?? '', units: 'us' },
          { farmId, sample: true },
        ),
      );
  void workThrough(context, made);
}

async function workThrough(context: Context, cases: readonly Case[]): Promise<void> {
  for (const kept of cases) await caseJob(context, kept).outcome;
}
