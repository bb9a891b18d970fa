import type { RequestHandler } from 'express';
import { HttpError } from './httpError.ts';

const POLICY = [
  "default-src 'self'",
  "img-src 'self' data:",
  "object-src 'none'",
  "base-uri 'none'",
  "form-action 'self'",
  "frame-ancestors 'none'",
].join('; ');

/** Headers of every answer: nothing inline, nothing from elsewhere, no guessing of types. */
export const securityHeaders: RequestHandler = (_req, res, next) => {
  res.set({
    'Content-Security-Policy': POLICY,
    'X-Content-Type-Options': 'nosniff',
    'Referrer-Policy': 'same-origin',
    'Cross-Origin-Opener-Policy': 'same-origin',
    'Cross-Origin-Resource-Policy': 'same-origin',
  });
  next();
};

const LOOPBACK = /^(?:localhost|127\.0\.0\.1|\[::1\])(?::\d+)?$/i;

/**
 * Only this computer's own names are answered: a foreign page whose name was pointed at this address
 * would otherwise pass for the same origin.
 */
export const ownHostOnly: RequestHandler = (req, _res, next) => {
  if (!LOOPBACK.test(req.headers.host ?? ''))
    throw new HttpError(
      403,
      'This address is answered only under this computer’s own name, such as 127.0.0.1.',
    );
  next();
};

/** What changes something must come from these pages, or from a program that names no page at all. */
export const sameOriginPosts: RequestHandler = (req, _res, next) => {
  if (req.method === 'GET' || req.method === 'HEAD') return next();
  const origin = req.headers.origin;
  const foreign =
    (origin !== undefined && hostOf(origin) !== req.headers.host) ||
    req.headers['sec-fetch-site'] === 'cross-site';
  if (foreign) throw new HttpError(403, 'This form was sent from another site and was not accepted.');
  next();
};

function hostOf(origin: string): string | undefined {
  return URL.canParse(origin) ? new URL(origin).host : undefined;
}
