import { Router, raw, type Request, type Response } from 'express';
import type { GivenFile } from '../../src/advise/request.ts';
import type { Typed } from '../../views/models/questionForm.ts';
import type { Context } from '../context.ts';
import { caseJob } from '../caseJob.ts';
import { askedQuestion } from '../forms/question.ts';
import { typedFrom } from '../forms/typed.ts';
import { cleanName, givenFiles, mergeFiles, MOST_BYTES, receiveFiles } from '../forms/upload.ts';
import { HttpError } from '../httpError.ts';
import { within } from '../jobs.ts';
import { renderFiles } from '../pages.ts';
import type { Case } from '../store.ts';
import { showCase } from './cases.ts';

/** The form for files, and what it is sent to. */
export function filesRoutes(context: Context): Router {
  const router = Router();
  router.get('/files', async (req, res) => {
    const typed = typedFrom(req.query);
    const kept = typed.case ? await context.store.load(typed.case) : undefined;
    renderFiles(res, {
      typed: kept ? kept.typed : typed,
      problems: [],
      caseId: kept?.id,
      kept: kept?.question.files,
    });
  });
  router.post('/files', receiveFiles, (req, res) => takeFiles(context, req, res));
  router.post('/files/role', raw({ type: () => true, limit: MOST_BYTES }), (req, res) => {
    const bytes = Buffer.isBuffer(req.body) ? new Uint8Array(req.body) : new Uint8Array();
    res.json({ role: context.core.guessRole(cleanName(typedFrom(req.query).name ?? ''), bytes) });
  });
  return router;
}

async function takeFiles(context: Context, req: Request, res: Response): Promise<void> {
  const sent = typedFrom(req.body);
  const before = sent.case ? await keptBefore(context, sent.case) : undefined;
  const kept = before ? await keptFiles(context, req, before) : [];
  const files = mergeFiles(kept, givenFiles(req.files, req.body, context.core));
  // Rows of another file are other samples: what was set aside holds only for the tests it was said of.
  const typed = files.filter(isPoints).every((f) => kept.includes(f)) ? sent : { ...sent, setAside: '' };
  // Answers that were kept without files need none now either.
  const answersWillDo = before?.question.files.length === 0;
  const noFiles = files.length === 0 && !answersWillDo;
  // A table of rates says nothing of the field itself.
  const areaNeeded = (files.length > 0 || answersWillDo) && files.every((f) => f.role === 'guidance');
  const asked = askedQuestion(typed, areaNeeded);
  const problems = [...asked.problems];
  if (noFiles) problems.push('No file was brought: choose at least one, or answer the questions instead.');
  const shown = answersOnly(typed);
  if (noFiles) {
    res.status(422);
    return renderFiles(res, { typed: shown, problems });
  }
  const place = before && (await context.store.placeOf(before));
  const made = await context.store.create({ ...asked.request, files }, shown, place);
  if (problems.length > 0) {
    res.status(422);
    return renderFiles(res, { typed: shown, problems, caseId: made.id, kept: files });
  }
  const outcome = await within(caseJob(context, made), context.patienceMs);
  // A wait that is over well, or not over yet, goes on at the case's own address; trouble is shown at once.
  if (!outcome || (outcome.kind === 'reply' && outcome.reply.ok))
    return res.redirect(303, `/cases/${made.id}`);
  return showCase(context, made, res);
}

const isPoints = (file: GivenFile): boolean => file.role === 'points';

/** The form without what it says of files: those are kept beside it. */
function answersOnly(typed: Typed): Typed {
  const aboutFiles = new Set(['case', 'keep', 'roles']);
  return Object.fromEntries(Object.entries(typed).filter(([name]) => !aboutFiles.has(name)));
}

async function keptBefore(context: Context, id: string): Promise<Case> {
  const before = await context.store.load(id);
  if (!before)
    throw new HttpError(404, 'The files brought before are no longer here. Please bring them again.');
  return before;
}

async function keptFiles(context: Context, req: Request, before: Case): Promise<readonly GivenFile[]> {
  const ticked = new Set([(req.body as Record<string, unknown>).keep ?? []].flat().map(String));
  const { files } = await context.store.read(before);
  return files.filter((_, i) => ticked.has(String(i)));
}
