import type { z } from 'zod';
import type { Problem } from '../read/index.ts';

/**
 * What is wrong with options, one sentence each on the value and one on what it may be.
 * @param given the options as they came
 */
export function optionProblems(
  error: z.ZodError,
  given: Readonly<Record<string, unknown>>,
): readonly Problem[] {
  return error.issues.map((issue): Problem => {
    const name = String(issue.path[0] ?? '');
    const value = given[name];
    const shown = typeof value === 'string' || typeof value === 'number' ? `“${value}”` : 'This';
    return {
      file: 'options',
      column: issue.path.join('.') || undefined,
      problem: `${shown} cannot be used.`,
      remedy: allowed(issue),
    };
  });
}

function allowed(issue: z.core.$ZodIssue): string {
  // The schema's own sentences go before what the library would say.
  if (!/^(Too |Invalid )/.test(issue.message)) return `${capital(issue.message)}.`;
  if (issue.code === 'too_big') return `Give at most ${String(issue.maximum)}.`;
  if (issue.code === 'too_small') return `Give at least ${String(issue.minimum)}.`;
  if (issue.code === 'invalid_value') return `Choose one of ${issue.values.map(String).join(', ')}.`;
  if (issue.code === 'invalid_type' && issue.expected === 'int') return 'Give a whole number.';
  if (issue.code === 'invalid_type') return `Give a ${issue.expected}.`;
  if (issue.code === 'invalid_union') return 'Give one of the values that lagstep --help names.';
  return `${issue.message}.`;
}

const capital = (text: string) => text.charAt(0).toUpperCase() + text.slice(1);
