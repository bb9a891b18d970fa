import { createHash } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import path from 'node:path';
import { Router, json, urlencoded, type ErrorRequestHandler, type Request, type Response } from 'express';
import multer from 'multer';
import { z } from 'zod';
import type { Advice } from '../../src/advise/advice.ts';
import { readWalkEvent, readWalkFile } from '../../src/plan/walkEventSchema.ts';
import type { WalkEvent } from '../../src/plan/walkEvents.ts';
import { walkPlanOf, type WalkPlan } from '../../src/plan/walkPlan.ts';
import { walkReport, walkToCsv, walkToGeoJSON } from '../../src/plan/walkReport.ts';
import { safety } from '../../src/plan/samplingCraft.ts';
import { sayProblem } from '../../src/read/problem.ts';
import { zonesToDraw } from '../../views/models/chartData.ts';
import { deskModel } from '../../views/walk/deskModel.ts';
import { caseJob } from '../caseJob.ts';
import type { Context } from '../context.ts';
import type { Outcome } from '../core.ts';
import { demoRequest } from '../demo.ts';
import { askedQuestion } from '../forms/question.ts';
import { typedFrom } from '../forms/typed.ts';
import { HttpError } from '../httpError.ts';
import { isId, newId } from '../database/newId.ts';
import type { WalkStore } from '../walkStore.ts';

/** Most events of one sending, and of one walk: two people in the largest field make some thousands. */
const MOST_SENT = 500;
const MOST_EVENTS = 50_000;
const MOST_FILE_BYTES = 8 * 1024 * 1024;

export interface WalksContext extends Context {
  readonly walks: WalkStore;
  /** The folder that holds `views/` and `dist/`. */
  readonly root: string;
}

/** Plans taken to the field: the phone's page and what it needs, and the page for the desk. */
export function walksRoutes(context: WalksContext): Router {
  const router = Router();
  const form = urlencoded({ extended: false, limit: '50kb' });
  router.post('/walks', form, (req, res) => takeToField(context, req, res));
  router.get('/walks', (_req, res) => {
    const walks = context.walks;
    const rows = walks.list().map((plan) => ({ plan, report: reportOf(walks, plan) }));
    res.render('walkList', { rows });
  });
  router.get('/walks/:id/events', (req, res) => sendEvents(context, req, res));
  router.post('/walks/:id/events', json({ limit: '512kb' }), (req, res) => takeEvents(context, req, res));
  router.get('/walks/:id', (req, res) => showDesk(context, req, res));
  router.post('/walks/:id/file', receiveFile, (req, res) => takeFile(context, req, res));
  router.post('/walks/:id/delete', (req, res) => {
    context.walks.remove(walkOf(context, req).id);
    res.redirect(303, '/walks');
  });
  router.get('/walks/:id/:download', (req, res) => sendWalk(context, req, res));
  router.use('/walks/:id/events', eventErrors);

  router.get('/walk', (req, res, next) => (req.path === '/walk' ? res.redirect(308, '/walk/') : next()));
  router.get('/walk/worker.js', (_req, res) => sendWorker(context, res));
  router.get('/walk/manifest.webmanifest', (_req, res) => {
    res.type('application/manifest+json').send(JSON.stringify(manifest));
  });
  router.get('/walk/:id/plan.json', (req, res) => {
    res.json(walkOf(context, req));
  });
  // One page for every walk: it is kept once, and shows the walk of its address from what the phone keeps.
  router.get(['/walk/', '/walk/:id'], async (_req, res) => {
    res
      .set('Cache-Control', 'no-cache')
      .type('html')
      .send(await shell(res));
  });
  return router;
}

function walkOf(context: WalksContext, req: Request): WalkPlan {
  const id = String(req.params.id);
  const plan = isId(id) ? context.walks.load(id) : undefined;
  if (!plan) throw new HttpError(404, 'There is no walk kept under this address. It may have been deleted.');
  return plan;
}

const reportOf = (walks: WalkStore, plan: WalkPlan) => walkReport(plan, walks.events(plan.id, 0).events);

async function takeToField(context: WalksContext, req: Request, res: Response): Promise<void> {
  const outcome = await outcomeOf(context, req.body);
  if (outcome.kind === 'failed') throw new HttpError(500, outcome.sentence);
  if (!outcome.reply.ok) throw new HttpError(422, outcome.reply.problems.map(sayProblem).join(' '));
  const plan = planOf(outcome.reply.advice);
  context.walks.create(plan);
  res.redirect(303, `/walk/${plan.id}`);
}

function planOf(advice: Advice): WalkPlan {
  if (zonesToDraw(advice) || advice.stops.length === 0)
    throw new HttpError(422, 'This answer has no stops to walk to yet: its zones have to be drawn first.');
  const { unitSystem, stopRadiusM } = advice.options;
  return walkPlanOf(advice, {
    id: newId(),
    createdAt: new Date().toISOString(),
    unitSystem,
    stopRadiusM,
    hasPlace: advice.field.boundarySource !== 'a square of the stated area',
  });
}

/** What an answer came to: that of a case, of a demo field with its assumptions, or of the questionnaire's address. */
async function outcomeOf(context: WalksContext, body: unknown): Promise<Outcome> {
  const said = (body ?? {}) as Readonly<Record<string, unknown>>;
  const { answer = '', demo } = said;
  if (typeof said.case === 'string') {
    const kept = await context.store.load(said.case);
    if (!kept)
      throw new HttpError(404, 'There is no field kept under this address. It may have been deleted.');
    const reply = await context.store.loadReply(kept);
    return reply ? { kind: 'reply', reply } : caseJob(context, kept).outcome;
  }
  if (typeof answer !== 'string') throw new HttpError(400, 'The form does not say which answer is meant.');
  const typed = typedFrom(byName(answer));
  const asked = askedQuestion(typed, typeof demo !== 'string');
  if (asked.problems.length > 0) throw new HttpError(422, asked.problems.join(' '));
  if (typeof demo === 'string') {
    const found = await demoRequest(context.demoDir, demo);
    if (!found) throw new HttpError(404, 'The demo farm has no field of this name.');
    const options = asked.request.options ?? {};
    const key = `${found.key} ${JSON.stringify(options)}`;
    return context.jobs.start(key, () => ({ ...found.request, options })).outcome;
  }
  // The key of the answer's own page, so that nothing is worked out twice.
  const key = `answer ${JSON.stringify(asked.request)}`;
  return context.jobs.start(key, () => ({ ...asked.request, files: [] })).outcome;
}

/** An address's query as a form gives it: repeated names gather in lists. */
function byName(query: string): Readonly<Record<string, string | readonly string[]>> {
  const params = new URLSearchParams(query);
  return Object.fromEntries(
    [...new Set(params.keys())].map((name) => {
      const all = params.getAll(name);
      return [name, all.length > 1 ? all : all[0]];
    }),
  );
}

function sendEvents(context: WalksContext, req: Request, res: Response): void {
  const plan = walkOf(context, req);
  const since = Number(req.query.since ?? 0);
  if (!Number.isSafeInteger(since) || since < 0)
    throw new HttpError(400, 'Where to read from must be a whole number.');
  res.set('Cache-Control', 'no-store').json(context.walks.events(plan.id, since));
}

const sentSchema = z.strictObject({ events: z.array(z.unknown()).max(MOST_SENT) });

/**
 * Takes events. One that can't be taken is named with the reason and holds up none of the others, so that a phone's
 * other marks always get home.
 */
function takeEvents(context: WalksContext, req: Request, res: Response): void {
  const plan = walkOf(context, req);
  const sent = sentSchema.safeParse(req.body);
  if (!sent.success)
    throw new HttpError(400, `Marks come as a list named events, at most ${MOST_SENT} at once.`);
  const read = sent.data.events.map((event) => readWalkEvent(event, plan.id, plan.stops.length));
  keepEvents(
    context.walks,
    plan,
    read.flatMap((r) => (r.ok ? [r.event] : [])),
  );
  const refused = read.flatMap((r) => (r.ok ? [] : [{ id: r.id, why: r.why }]));
  res.json({ refused });
}

function keepEvents(walks: WalkStore, plan: WalkPlan, events: readonly WalkEvent[]): void {
  if (walks.count(plan.id) + events.length > MOST_EVENTS)
    throw new HttpError(413, `A walk holds at most ${MOST_EVENTS} marks.`);
  walks.add(plan.id, events);
}

/** A phone reads sentences out of JSON. */
const eventErrors: ErrorRequestHandler = (error: unknown, _req, res, next) => {
  const status = (error as { status?: unknown } | null)?.status;
  if (res.headersSent || typeof status !== 'number' || status < 400 || status >= 500) return next(error);
  const sentence = error instanceof HttpError ? error.message : 'What was sent could not be read.';
  res.status(status).json({ error: sentence });
};

const receive = multer({
  storage: multer.memoryStorage(),
  limits: { fileSize: MOST_FILE_BYTES, files: 1, fields: 2, fieldSize: 1000 },
}).single('marks');

const receiveFile: typeof receive = (req, res, next) => {
  void receive(req, res, (error: unknown) => {
    if (error) next(new HttpError(413, 'That is not a file of marks, or it is larger than can be taken.'));
    else next();
  });
};

function takeFile(context: WalksContext, req: Request, res: Response): void {
  const plan = walkOf(context, req);
  if (!req.file) throw new HttpError(422, 'No file was brought: choose the file that a phone saved.');
  const read = readWalkFile(req.file.buffer.toString('utf8'), plan.id, plan.stops.length);
  if (!read.ok) throw new HttpError(422, read.sentence);
  keepEvents(context.walks, plan, read.events);
  res.redirect(303, `/walks/${plan.id}`);
}

function showDesk(context: WalksContext, req: Request, res: Response): void {
  const plan = walkOf(context, req);
  const report = reportOf(context.walks, plan);
  const address = `${req.protocol}://${req.headers.host ?? ''}/walk/${plan.id}`;
  res.set('Cache-Control', 'no-store').render('walkDesk', { w: deskModel(plan, report), address, safety });
}

function sendWalk(context: WalksContext, req: Request, res: Response): void {
  const name = String(req.params.download);
  if (name !== 'walked.csv' && name !== 'walked.geojson')
    throw new HttpError(404, 'There is no page at this address.');
  const plan = walkOf(context, req);
  const report = reportOf(context.walks, plan);
  const field = plan.field.replace(/[^\p{L}\p{N}]+/gu, '-').replace(/^-+|-+$/g, '');
  res.attachment(`${field.toLowerCase() || 'field'}-${name}`);
  if (name === 'walked.csv') res.type('text/csv; charset=utf-8').send(walkToCsv(plan, report));
  else res.type('application/geo+json').send(JSON.stringify(walkToGeoJSON(plan, report)));
}

/** What the phone's home screen is told. */
const manifest = {
  id: '/walk/',
  name: 'Lagstep walk',
  short_name: 'Walk',
  description: 'The stops of a soil sampling, one after the other, without signal.',
  start_url: '/walk/',
  scope: '/walk/',
  display: 'standalone',
  orientation: 'portrait',
  background_color: '#ffffff',
  theme_color: '#17453b',
  icons: [
    { src: '/assets/walk-icon.svg', sizes: 'any', type: 'image/svg+xml', purpose: 'any' },
    { src: '/assets/walk-icon-192.png', sizes: '192x192', type: 'image/png', purpose: 'any maskable' },
    { src: '/assets/walk-icon-512.png', sizes: '512x512', type: 'image/png', purpose: 'any maskable' },
  ],
};

/** All that the page needs beside itself, where it lies and under which address it is asked for. */
const shellFiles: readonly (readonly [address: string, ...folder: string[]])[] = [
  ['/assets/walk.css', 'views', 'styles'],
  ['/assets/walk-icon.svg', 'views', 'styles'],
  ['/assets/walk-icon-192.png', 'views', 'styles'],
  ['/assets/walk.js', 'dist', 'assets'],
];

function shell(res: Response): Promise<string> {
  return new Promise((resolve, reject) => {
    res.render('walk', { safety }, (error: Error | null, html: string) =>
      error ? reject(error) : resolve(html),
    );
  });
}

/**
 * The worker that keeps the page on the phone. Its first line names the files and a version made from their contents: when
 * anything changed, so did the worker, and phones fetch the whole anew.
 */
async function sendWorker({ root }: WalksContext, res: Response): Promise<void> {
  const script = await readFile(path.join(root, 'dist', 'assets', 'walkWorker.js'), 'utf8');
  const contents = await Promise.all(
    shellFiles.map(([address, ...folder]) => readFile(path.join(root, ...folder, path.basename(address)))),
  );
  const hash = createHash('sha256')
    .update(script)
    .update(await shell(res))
    .update(JSON.stringify(manifest));
  for (const bytes of contents) hash.update(bytes);
  const files = ['/walk/', '/walk/manifest.webmanifest', ...shellFiles.map(([address]) => address)];
  const kept = JSON.stringify({ version: hash.digest('hex').slice(0, 16), files });
  res.set('Cache-Control', 'no-cache').type('text/javascript').send(`self.walkShell=${kept};\n${script}`);
}
