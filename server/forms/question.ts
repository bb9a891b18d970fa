import type { AdviceRequest } from '../../src/advise/request.ts';
import { adviceOptionsSchema } from '../../src/advise/options.ts';
import { questions, type Answers } from '../../src/prior/questions.ts';
import type { UnitSystem } from '../../views/format.ts';
import { optionFields, toInside, typedOption } from '../../views/models/optionFields.ts';
import { readChoices } from '../../views/models/choiceOptions.ts';
import { readMoney } from '../../views/models/moneyOptions.ts';
import type { Typed } from '../../views/models/questionForm.ts';
import { typedAreaHa, typedNumber } from './typed.ts';

/** A form's question without its files, and what stands in the way in plain sentences. */
export interface AskedQuestion {
  readonly request: Omit<AdviceRequest, 'files'>;
  readonly problems: readonly string[];
  /** Fields about money and limits that some of the problems are about: no page but the answer's own shows them. */
  readonly wrong: readonly string[];
}

export const unitsOf = (typed: Typed): UnitSystem => (typed.units === 'metric' ? 'metric' : 'us');

/** Answers and assumptions of a form, from the user's units to those inside. */
export function askedQuestion(typed: Typed, areaNeeded: boolean): AskedQuestion {
  const units = unitsOf(typed);
  const problems: string[] = [];
  const answers = readAnswers(typed, units, problems);
  if (areaNeeded && answers.areaHa === undefined && problems.length === 0)
    problems.push('The size of the field is missing: type it in acres or hectares; a guess will do.');
  const money = readMoney(typed, units, typedNumber);
  const options = { ...readOptions(typed, units, problems), ...money.options };
  problems.push(...money.problems);
  const request = { fieldName: typed.name || undefined, answers, options };
  return { request, problems, wrong: money.wrong };
}

function readAnswers(typed: Typed, units: UnitSystem, problems: string[]): Answers {
  const out: Record<string, string | number> = {};
  for (const q of questions) {
    const text = typed[q.id] ?? '';
    if (text === '' || text === 'unknown') continue;
    if (q.kind === 'choice') {
      if (q.choices?.some((c) => c.value === text)) out[q.id] = text;
      else problems.push(`“${q.ask}” has no answer “${text}”: choose one of those shown.`);
      continue;
    }
    const value = q.unit === 'area' ? typedAreaHa(text, units) : typedNumber(text);
    if (value === undefined) problems.push(`“${q.ask}” needs a number, not “${text}”.`);
    else if (value < 0 || (q.unit === 'area' && value === 0))
      problems.push(`“${q.ask}” needs a number above zero, not “${text}”.`);
    else if (q.unit === 'area') out.areaHa = value;
    else out[q.id] = value;
  }
  return out as Answers;
}

function readOptions(typed: Typed, units: UnitSystem, problems: string[]): Record<string, unknown> {
  const out: Record<string, unknown> = { unitSystem: units };
  const usual = adviceOptionsSchema.parse({ unitSystem: units });
  const asked = new Set(questions.map((q) => q.id));
  for (const field of optionFields) {
    const text = typed[field.id] ?? '';
    if (text === '') continue;
    const value = typedNumber(text);
    if (value === undefined) {
      // A question of the same name has complained already.
      if (!asked.has(field.id)) problems.push(`“${field.label}” needs a number, not “${text}”.`);
      continue;
    }
    // A usual value sent back as it was shown stays exactly what it is: rounding must not change the answer.
    if (text !== typedOption(field, usual)) out[field.id] = toInside(field.kind, value, units);
  }
  const choices = readChoices(typed);
  problems.push(...choices.problems);
  Object.assign(out, choices.options);
  for (const issue of adviceOptionsSchema.safeParse(out).error?.issues ?? []) {
    const field = optionFields.find((f) => f.id === issue.path[0]);
    if (!field || asked.has(field.id)) continue;
    problems.push(`“${field.label}” can’t be “${typed[field.id] ?? ''}”: ${inWords(issue)}.`);
  }
  return out;
}

function inWords(issue: { readonly code?: string; readonly message: string }): string {
  if (issue.code === 'too_big') return 'that is more than can be reckoned with';
  if (issue.code === 'too_small') return 'that is less than can be reckoned with';
  return 'a whole number is needed';
}
