import { Router } from 'express';
import { findGuidance } from '../../src/value/guidance.ts';
import { guidanceJson } from '../guidanceText.ts';
import { HttpError } from '../httpError.ts';

/** The guidance tables that come with the tool, as files to start one's own from. */
export function guidanceRoutes(): Router {
  const router = Router();
  router.get('/guidance/:file', (req, res) => {
    const file = String(req.params.file);
    const table = file.endsWith('.json') ? findGuidance(file.slice(0, -'.json'.length)) : undefined;
    if (!table) throw new HttpError(404, 'No guidance table of this name comes with the tool.');
    res.attachment(file);
    res.type('application/json').send(guidanceJson(table));
  });
  return router;
}
