import { Router, json, type Request, type Response } from 'express';
import { z } from 'zod';
import type { AdviceRequest, GivenFile } from '../../src/advise/request.ts';
import type { Answers } from '../../src/prior/questions.ts';
import { questions } from '../../src/prior/questions.ts';
import { sayProblem, type Problem } from '../../src/read/problem.ts';
import type { Context } from '../context.ts';
import { fileRoles, type Core } from '../core.ts';
import { cleanName, MOST_FILES } from '../forms/upload.ts';

const positive = z.number().positive();
const answerFields = Object.fromEntries(
  questions.map((q) => {
    const kind = q.kind === 'number' ? z.number().min(0) : z.enum((q.choices ?? []).map((c) => c.value));
    return [q.id, kind.optional()];
  }),
);
/** Answers by question id, with `areaHa` for the area; "unknown" is the same as leaving it out. */
const answersSchema = z.strictObject({
  ...answerFields,
  area: z.never().optional(),
  areaHa: positive.optional(),
});

const columnSchema = z.strictObject({
  role: z.enum(['x', 'y', 'label', 'analyte', 'yield', 'moisture', 'speed', 'time', 'elevation', 'ignored']),
  analyte: z.string().max(80).optional(),
  unit: z.string().max(40).optional(),
});

const fileSchema = z.strictObject({
  name: z.string().min(1).max(200),
  role: z.enum(fileRoles).optional(),
  text: z.string().optional(),
  base64: z.base64().optional(),
  columns: z.record(z.string(), columnSchema).optional(),
});

const bodySchema = z.strictObject({
  fieldName: z.string().max(80).optional(),
  answers: answersSchema.optional(),
  options: z.record(z.string(), z.unknown()).optional(),
  files: z.array(fileSchema).max(MOST_FILES).default([]),
});

/** One question as JSON: `{ fieldName?, answers?, options?, files?: [{ name, role?, text | base64, columns? }] }`. */
export function apiRoutes(context: Context): Router {
  const router = Router();
  router.post('/api/advise', json({ limit: '90mb' }), (req, res) => advise(context, req, res));
  return router;
}

async function advise(context: Context, req: Request, res: Response): Promise<void> {
  const parsed = bodySchema.safeParse(req.body);
  if (!parsed.success) return refuse(res, parsed.error.issues.map(bodyProblem));
  const outcome = await context.core.advise(requestOf(parsed.data, context.core), () => undefined);
  if (outcome.kind === 'failed') res.status(500).json({ error: outcome.sentence });
  else if (!outcome.reply.ok) refuse(res, outcome.reply.problems);
  else res.json(outcome.reply.advice);
}

function refuse(res: Response, problems: readonly Problem[]): void {
  res.status(422).json({ problems: problems.map((p) => ({ ...p, said: sayProblem(p) })) });
}

function bodyProblem(issue: { readonly path: readonly PropertyKey[]; readonly message: string }): Problem {
  const at = issue.path.map(String).join('.');
  return {
    file: 'request',
    column: at || undefined,
    problem: `${issue.message}.`,
    remedy: 'See the description of the request.',
  };
}

function requestOf(body: z.infer<typeof bodySchema>, core: Core): AdviceRequest {
  const files = body.files.map((f): GivenFile => {
    const bytes = new Uint8Array(
      f.base64 === undefined ? Buffer.from(f.text ?? '', 'utf8') : Buffer.from(f.base64, 'base64'),
    );
    const name = cleanName(f.name);
    return { role: f.role ?? core.guessRole(name, bytes), name, bytes, columns: f.columns };
  });
  const known = Object.entries(body.answers ?? {}).filter(([, value]) => value !== 'unknown');
  const answers = body.answers && (Object.fromEntries(known) as Answers);
  return { fieldName: body.fieldName, answers, options: body.options, files };
}
