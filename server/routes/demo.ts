import { Router, type Request, type Response } from 'express';
import { sayProblem } from '../../src/read/problem.ts';
import type { Context } from '../context.ts';
import { demoRequest } from '../demo.ts';
import { isDownload, sendDownload } from '../downloads.ts';
import { askedQuestion } from '../forms/question.ts';
import { typedFrom } from '../forms/typed.ts';
import { HttpError } from '../httpError.ts';
import { within, type Job } from '../jobs.ts';
import { renderResult, renderTrouble, renderWaiting } from '../pages.ts';
import type { Typed } from '../../views/models/questionForm.ts';

/** The demo farm's fields: the same way as brought files, with the assumptions in the address. */
export function demoRoutes(context: Context): Router {
  const router = Router();
  router.get('/demo/:field', (req, res) => showDemo(context, req, res));
  router.get('/demo/:field/:download', (req, res) => sendDemo(context, req, res));
  return router;
}

async function demoJob(context: Context, req: Request, typed: Typed): Promise<{ key: string; job: Job }> {
  const found = await demoRequest(context.demoDir, String(req.params.field));
  if (!found) throw new HttpError(404, 'The demo farm has no field of this name.');
  const asked = askedQuestion(typed, false);
  if (asked.problems.length > 0) throw new HttpError(422, asked.problems.join(' '));
  const options = asked.request.options ?? {};
  const key = `${found.key} ${JSON.stringify(options)}`;
  return { key, job: context.jobs.start(key, () => ({ ...found.request, options })) };
}

async function showDemo(context: Context, req: Request, res: Response): Promise<void> {
  const typed = typedFrom(req.query);
  const { key, job } = await demoJob(context, req, typed);
  const outcome = await within(job, context.patienceMs);
  if (!outcome) return renderWaiting(res, job);
  if (outcome.kind === 'failed') {
    context.jobs.forget(key);
    return renderTrouble(res, {
      status: 500,
      heading: 'It could not be worked out',
      sentence: outcome.sentence,
    });
  }
  if (!outcome.reply.ok) throw new HttpError(422, outcome.reply.problems.map(sayProblem).join(' '));
  const here = `/demo/${String(req.params.field)}`;
  const query = new URLSearchParams(typed).toString();
  const at = (name: string) => `${here}/${name}${query ? `?${query}` : ''}`;
  renderResult(
    res,
    outcome.reply.advice,
    { geojson: at('stops.geojson'), csv: at('stops.csv'), json: at('advice.json') },
    { action: here, method: 'get', hidden: [['units', outcome.reply.advice.options.unitSystem]] },
  );
}

async function sendDemo(context: Context, req: Request, res: Response): Promise<void> {
  const name = String(req.params.download);
  if (!isDownload(name)) throw new HttpError(404, 'There is no page at this address.');
  const { job } = await demoJob(context, req, typedFrom(req.query));
  const outcome = await job.outcome;
  if (outcome.kind === 'failed') throw new HttpError(500, outcome.sentence);
  if (!outcome.reply.ok) throw new HttpError(422, outcome.reply.problems.map(sayProblem).join(' '));
  sendDownload(res, name, outcome.reply.advice, context.core);
}
