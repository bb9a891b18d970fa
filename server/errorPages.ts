import type { ErrorRequestHandler, RequestHandler } from 'express';
import { HttpError } from './httpError.ts';
import { renderTrouble } from './pages.ts';

/** No route took the request. */
export const nothingHere: RequestHandler = () => {
  throw new HttpError(404, 'There is no page at this address.');
};

const headings: Readonly<Record<number, string>> = {
  400: 'That could not be read',
  403: 'Not accepted',
  404: 'Nothing here',
  413: 'Too much at once',
  422: 'Something is in the way',
};

/** Every error as a page, or as JSON for the interface; the stack goes to the terminal only. */
export const errorPages: ErrorRequestHandler = (error: unknown, req, res, next) => {
  if (res.headersSent) return next(error);
  const { status, sentence } = saidOf(error);
  if (status >= 500 && !(error instanceof HttpError)) console.error(error);
  if (req.path.startsWith('/api/')) {
    res.status(status).json({ error: sentence });
    return;
  }
  renderTrouble(res, { status, heading: headings[status] ?? 'Something went wrong', sentence });
};

function saidOf(error: unknown): { readonly status: number; readonly sentence: string } {
  if (error instanceof HttpError) return { status: error.status, sentence: error.message };
  const status = (error as { status?: unknown } | null)?.status;
  if (status === 413) return { status, sentence: 'What was sent is larger than can be taken.' };
  if (typeof status === 'number' && status >= 400 && status < 500)
    return { status, sentence: 'What was sent could not be read.' };
  return {
    status: 500,
    sentence: 'That is a fault of the program, not of your data. Going back and trying again may help.',
  };
}
