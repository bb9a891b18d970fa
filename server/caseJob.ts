import type { Context } from './context.ts';
import type { Job } from './jobs.ts';
import type { Case } from './store.ts';

export const caseKey = (kept: Case): string => `case ${kept.id} ${kept.revision}`;

/** The job of a case's present revision; its reply is kept on disk when it comes. */
export function caseJob(context: Context, kept: Case): Job {
  const key = caseKey(kept);
  const known = context.jobs.find(key);
  if (known) return known;
  const job = context.jobs.start(key, () => context.store.read(kept));
  job.outcome
    .then((outcome) => (outcome.kind === 'reply' ? context.store.saveReply(kept, outcome.reply) : undefined))
    .catch((error: unknown) => console.error(error));
  return job;
}
