import { Router, urlencoded, type Request, type Response } from 'express';
import type { AdviceReply } from '../../src/advise/request.ts';
import { sayProblem } from '../../src/read/problem.ts';
import { isChoiceField } from '../../views/models/choiceOptions.ts';
import { optionFields } from '../../views/models/optionFields.ts';
import { caseJob, caseKey } from '../caseJob.ts';
import type { Context } from '../context.ts';
import type { Outcome } from '../core.ts';
import { isDownload, sendDownload } from '../downloads.ts';
import { columnCorrections, withCorrections } from '../forms/columns.ts';
import { askedQuestion } from '../forms/question.ts';
import { typedFrom } from '../forms/typed.ts';
import { wrongAssumption } from '../forms/wrongAssumption.ts';
import { tableHeaders } from '../headers.ts';
import { HttpError } from '../httpError.ts';
import { within } from '../jobs.ts';
import { renderFiles, renderResult, renderTrouble, renderWaiting } from '../pages.ts';
import type { Case } from '../store.ts';

const form = urlencoded({ extended: false, limit: '500kb', parameterLimit: 5000 });

/** A field whose files were brought: its answer, corrections of it, and its downloads. */
export function casesRoutes(context: Context): Router {
  const router = Router();
  router.get('/cases/:id', async (req, res) => showCase(context, await caseOf(context, req), res));
  router.post('/cases/:id/columns', form, (req, res) => correctColumns(context, req, res));
  router.post('/cases/:id/options', form, (req, res) => changeOptions(context, req, res));
  router.post('/cases/:id/delete', async (req, res) => {
    const deleted = await context.store.remove(await caseOf(context, req));
    res.redirect(303, deleted ? `/saved?deleted=${deleted}` : '/saved');
  });
  router.get('/cases/:id/:download', (req, res) => sendCase(context, req, res));
  return router;
}

async function caseOf(context: Context, req: Request): Promise<Case> {
  const kept = await context.store.load(String(req.params.id));
  if (!kept) throw new HttpError(404, 'There is no field kept under this address. It may have been deleted.');
  return kept;
}

/** The page of a case as it stands: the answer, what is in its way, or that it is being worked on. */
export async function showCase(context: Context, kept: Case, res: Response): Promise<void> {
  const saved = await context.store.loadReply(kept);
  if (saved)
    try {
      return await showReply(context, kept, saved, res);
    } catch (error) {
      // An answer kept by another version may lack what the page shows now: it is worked out anew.
      console.error(error);
    }
  const job = caseJob(context, kept);
  const outcome = await within(job, context.patienceMs);
  if (!outcome) return renderWaiting(res, job);
  if (outcome.kind === 'reply') return showReply(context, kept, outcome.reply, res);
  // Forgotten, so that loading the page again tries again.
  context.jobs.forget(caseKey(kept));
  renderTrouble(res, {
    status: 500,
    heading: 'It could not be worked out',
    sentence: outcome.sentence,
    links: [
      { href: `/cases/${kept.id}`, label: 'Try again' },
      { href: `/files?case=${kept.id}`, label: 'Change the files' },
    ],
  });
}

async function showReply(context: Context, kept: Case, reply: AdviceReply, res: Response): Promise<void> {
  const here = `/cases/${kept.id}`;
  if (!reply.ok) {
    const { files } = await context.store.read(kept);
    res.status(422);
    return renderFiles(res, {
      typed: kept.typed,
      problems: reply.problems.map(sayProblem),
      caseId: kept.id,
      kept: files,
      tables: tableHeaders(files),
    });
  }
  renderResult(
    res,
    reply.advice,
    {
      geojson: `${here}/stops.geojson`,
      csv: `${here}/stops.csv`,
      json: `${here}/advice.json`,
      edit: `/files?case=${kept.id}`,
      editLabel: kept.question.files.length > 0 ? 'Change the files' : 'Change the answers or bring files',
      columns: `${here}/columns`,
      remove: `${here}/delete`,
    },
    { action: `${here}/options`, method: 'post', hidden: [['units', reply.advice.options.unitSystem]] },
  );
}

async function correctColumns(context: Context, req: Request, res: Response): Promise<void> {
  const kept = await caseOf(context, req);
  const corrections = columnCorrections(typedFrom(req.body));
  if (corrections.length > 0) {
    const files = withCorrections(kept.question.files, corrections);
    const next = await context.store.revise(kept, { ...kept.question, files }, kept.typed);
    await within(caseJob(context, next), context.patienceMs);
  }
  res.redirect(303, `/cases/${kept.id}`);
}

async function changeOptions(context: Context, req: Request, res: Response): Promise<void> {
  const kept = await caseOf(context, req);
  const changed = typedFrom(req.body);
  const typed = { ...kept.typed };
  for (const { id } of optionFields) typed[id] = changed[id] ?? typed[id] ?? '';
  for (const [name, value] of Object.entries(changed)) if (isChoiceField(name)) typed[name] = value;
  const asked = askedQuestion(typed, false);
  if (asked.wrong.length > 0)
    return renderTrouble(res, {
      ...wrongAssumption(asked.problems),
      links: [{ href: `/cases/${kept.id}#assumptions`, label: 'Back to the answer as it was' }],
    });
  if (asked.problems.length > 0) {
    res.status(422);
    return renderFiles(res, { typed, problems: asked.problems, caseId: kept.id, kept: kept.question.files });
  }
  const next = await context.store.revise(kept, { ...kept.question, options: asked.request.options }, typed);
  await within(caseJob(context, next), context.patienceMs);
  res.redirect(303, `/cases/${kept.id}`);
}

async function sendCase(context: Context, req: Request, res: Response): Promise<void> {
  const name = String(req.params.download);
  if (!isDownload(name)) throw new HttpError(404, 'There is no page at this address.');
  const kept = await caseOf(context, req);
  const saved = await context.store.loadReply(kept);
  const outcome: Outcome = saved ? { kind: 'reply', reply: saved } : await caseJob(context, kept).outcome;
  if (outcome.kind === 'failed') throw new HttpError(500, outcome.sentence);
  if (!outcome.reply.ok) throw new HttpError(422, outcome.reply.problems.map(sayProblem).join(' '));
  sendDownload(res, name, outcome.reply.advice, context.core);
}
