import { MOST_YEARS } from '../src/value/index.ts';
import type { UnitSystem } from '../views/format.ts';
import { optionFields } from '../views/models/optionFields.ts';
import type { Typed } from '../views/models/questionForm.ts';
import { DEFAULT_YEARS } from './farmCommand.ts';
import type { Limits } from './farmPlan.ts';
import { askedQuestion, unitsOf } from './forms/question.ts';
import { typedNumber } from './forms/typed.ts';

/** A farm's form, read. */
export interface FarmForm {
  readonly units: UnitSystem;
  readonly year: number;
  readonly years: number;
  readonly budget: Limits;
  /** Raw options of every field's advice. */
  readonly options: Readonly<Record<string, unknown>>;
  /** What stands in the way, in plain sentences. */
  readonly problems: readonly string[];
}

/** Limits of a single field's sampling have no place where the farm has one budget. */
export const farmOptionFields = optionFields.filter((f) => f.id !== 'budget' && f.id !== 'minSamples');

/** What the form of a farm asks, from the user's units to those inside. */
export function readFarmForm(typed: Typed, thisYear: number): FarmForm {
  const problems: string[] = [];
  const number = (name: string, label: string, low: number, high: number, whole: boolean) => {
    const text = typed[name] ?? '';
    if (text === '') return undefined;
    const value = typedNumber(text);
    const good = value !== undefined && value >= low && value <= high && (!whole || Number.isInteger(value));
    const range = high < Infinity ? ` from ${low} to ${high}` : ', 0 or more';
    if (!good) problems.push(`“${label}” needs a ${whole ? 'whole ' : ''}number${range}, not “${text}”.`);
    return good ? value : undefined;
  };
  const budget = {
    money: number('budget', 'Most to spend', 0, Infinity, false),
    samples: number('samples', 'Most samples', 0, Infinity, true),
  };
  const year = number('year', 'Autumn planned for', 1950, 2200, true) ?? thisYear;
  const years = number('years', 'Years to plan', 1, MOST_YEARS, true) ?? DEFAULT_YEARS;
  const kept = new Set<string>(['units', ...farmOptionFields.map((f) => f.id)]);
  const asked = askedQuestion(
    Object.fromEntries(Object.entries(typed).filter(([name]) => kept.has(name))),
    false,
  );
  return {
    units: unitsOf(typed),
    year,
    years,
    budget,
    options: asked.request.options ?? {},
    problems: [...problems, ...asked.problems],
  };
}
