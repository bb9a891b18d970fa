import { Router } from 'express';
import type { Context } from '../context.ts';
import { listDemoFields } from '../demo.ts';
import { typedFrom } from '../forms/typed.ts';
import { renderQuestions } from '../pages.ts';

/** The start page and the questionnaire. */
export function startRoutes(context: Context): Router {
  const router = Router();
  router.get('/', async (_req, res) => {
    res.render('start', { fields: await listDemoFields(context.demoDir) });
  });
  router.get('/questions', (req, res) => renderQuestions(res, typedFrom(req.query), []));
  return router;
}
