import { advise } from './advise.ts';
import { prepareField } from './intake.ts';
import { optionProblems } from './optionProblem.ts';
import { adviceOptionsSchema } from './options.ts';
import type { AdviceReply, AdviceRequest, Progress } from './request.ts';

export * from './advice.ts';
export * from './options.ts';
export { optionProblems } from './optionProblem.ts';
export * from './request.ts';
export * from './fieldInput.ts';
export { advise, VERSION } from './advise.ts';
export { guessRole, prepareField } from './intake.ts';
export * from './words.ts';
export * from './modelStudy.ts';

/**
 * From files and answers to the answer: the one way in for every face.
 * What the user can mend comes back as problems; only our own mistakes are thrown.
 */
export async function adviseFromFiles(request: AdviceRequest, progress?: Progress): Promise<AdviceReply> {
  const options = adviceOptionsSchema.safeParse(request.options ?? {});
  if (!options.success) return { ok: false, problems: optionProblems(options.error, request.options ?? {}) };
  const field = await prepareField(request);
  if (!field.ok) return { ok: false, problems: field.problems };
  return { ok: true, advice: advise(field.value, options.data, progress) };
}
