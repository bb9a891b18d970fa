import { z } from 'zod';
import type { Read } from '../read/problem.ts';
import { questions, type Answers } from './questions.ts';

const choice = <const T extends readonly [string, ...string[]]>(values: T) => z.enum(values).optional();
const positive = (most: number) => z.coerce.number().positive().max(most).optional();

/** Answers from outside; unknown keys are refused so that a slip is not taken for "I don't know". */
export const answersSchema = z.strictObject({
  areaHa: positive(3000),
  soilUnits: choice(['one', 'few', 'many']),
  slope: choice(['flat', 'rolling', 'eroded']),
  manure: choice(['never', 'past', 'regular']),
  merged: choice(['no', 'two', 'several']),
  fertiliser: choice(['uniform', 'banded', 'variable', 'little']),
  yieldSpread: choice(['even', 'some', 'large']),
  phosphorus: choice(['low', 'right', 'high']),
  potassium: choice(['low', 'right', 'high']),
  crop: choice(['corn-soybean', 'corn', 'soybean', 'wheat', 'alfalfa']),
  labPrice: z.coerce.number().min(0).max(1000).optional(),
  budget: z.coerce.number().min(0).max(1e6).optional(),
});

/**
 * Reads answers that came as plain data. Empty texts and "unknown" mean "I don't know" and are left out.
 */
export function parseAnswers(file: string, raw: unknown): Read<Answers> {
  const said =
    raw !== null && typeof raw === 'object' && !Array.isArray(raw)
      ? Object.fromEntries(Object.entries(raw).filter(([, v]) => v !== '' && v !== 'unknown' && v !== null))
      : raw;
  const parsed = answersSchema.safeParse(said);
  if (parsed.success) return { ok: true, value: parsed.data, notes: [] };
  return {
    ok: false,
    problems: parsed.error.issues.map((issue) => {
      const key = String(issue.path[0] ?? (issue.code === 'unrecognized_keys' ? issue.keys[0] : ''));
      const question = questions.find((q) => q.id === key);
      const remedy = question?.choices
        ? `Answer with one of ${question.choices.map((c) => c.value).join(', ')}.`
        : issue.code === 'unrecognized_keys'
          ? `The answers known are ${Object.keys(answersSchema.shape).join(', ')}.`
          : 'Give a positive number of a sensible size.';
      return {
        file,
        column: key || undefined,
        problem:
          issue.code === 'unrecognized_keys' ? 'There is no such question.' : 'This answer cannot be used.',
        remedy,
      };
    }),
  };
}
