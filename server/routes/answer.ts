import { Router, type Request, type Response } from 'express';
import { sayProblem } from '../../src/read/problem.ts';
import type { Context } from '../context.ts';
import { isDownload, sendDownload } from '../downloads.ts';
import { askedQuestion } from '../forms/question.ts';
import { typedFrom } from '../forms/typed.ts';
import { wrongAssumption } from '../forms/wrongAssumption.ts';
import { HttpError } from '../httpError.ts';
import { within } from '../jobs.ts';
import { renderQuestions, renderResult, renderTrouble, renderWaiting } from '../pages.ts';
import { isChoiceField } from '../../views/models/choiceOptions.ts';
import { optionFields } from '../../views/models/optionFields.ts';
import type { Typed } from '../../views/models/questionForm.ts';

/** The answer to the questionnaire, all of it in the address: reloading and sharing a link work. */
export function answerRoutes(context: Context): Router {
  const router = Router();
  router.get('/answer', (req, res) => showAnswer(context, req, res));
  router.get('/answer/:download', (req, res) => sendAnswer(context, req, res));
  return router;
}

function jobFor(context: Context, typed: Typed) {
  const asked = askedQuestion(typed, true);
  if (asked.problems.length > 0) return { problems: asked.problems, wrong: asked.wrong };
  const key = `answer ${JSON.stringify(asked.request)}`;
  return { key, job: context.jobs.start(key, () => ({ ...asked.request, files: [] })) };
}

async function showAnswer(context: Context, req: Request, res: Response): Promise<void> {
  const typed = typedFrom(req.query);
  const found = jobFor(context, typed);
  if (found.job === undefined) {
    if (found.wrong.length > 0) {
      const kept = Object.entries(typed).filter(([name]) => !found.wrong.includes(name));
      const href = `/answer?${new URLSearchParams(kept).toString()}#assumptions`;
      return renderTrouble(res, {
        ...wrongAssumption(found.problems),
        links: [{ href, label: 'Go on without it' }],
      });
    }
    res.status(422);
    return renderQuestions(res, typed, found.problems);
  }
  const outcome = await within(found.job, context.patienceMs);
  if (!outcome) return renderWaiting(res, found.job);
  const query = new URLSearchParams(typed).toString();
  if (outcome.kind === 'failed') {
    context.jobs.forget(found.key);
    const links = [{ href: `/questions?${query}`, label: 'Back to the questions' }];
    return renderTrouble(res, {
      status: 500,
      heading: 'It could not be worked out',
      sentence: outcome.sentence,
      links,
    });
  }
  if (!outcome.reply.ok) {
    res.status(422);
    return renderQuestions(res, typed, outcome.reply.problems.map(sayProblem));
  }
  const assumptions = new Set<string>(optionFields.map((f) => f.id));
  renderResult(
    res,
    outcome.reply.advice,
    {
      geojson: `/answer/stops.geojson?${query}`,
      csv: `/answer/stops.csv?${query}`,
      json: `/answer/advice.json?${query}`,
      edit: `/questions?${query}`,
      editLabel: 'Change the answers',
      keep: `/saved/keep?${query}`,
    },
    {
      action: '/answer',
      method: 'get',
      hidden: Object.entries(typed).filter(([name]) => !assumptions.has(name) && !isChoiceField(name)),
    },
  );
}

async function sendAnswer(context: Context, req: Request, res: Response): Promise<void> {
  const name = String(req.params.download);
  if (!isDownload(name)) throw new HttpError(404, 'There is no page at this address.');
  const found = jobFor(context, typedFrom(req.query));
  if (found.job === undefined) throw new HttpError(422, found.problems.join(' '));
  const outcome = await found.job.outcome;
  if (outcome.kind === 'failed') throw new HttpError(500, outcome.sentence);
  if (!outcome.reply.ok) throw new HttpError(422, outcome.reply.problems.map(sayProblem).join(' '));
  sendDownload(res, name, outcome.reply.advice, context.core);
}
