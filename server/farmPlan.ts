/** A farm's fields with their answers, and how one budget is divided over them. Pure: neither files nor clock. */
import type { Advice, AdviceOptions } from '../src/advise/index.ts';
import type { Answers } from '../src/prior/index.ts';
import type { Problem } from '../src/read/index.ts';
import {
  allocate,
  concaveOptions,
  fadedShare,
  scheduleYears,
  type Allocation,
  type FieldChoices,
  type FieldOption,
  type FieldOutlook,
  type Schedule,
} from '../src/value/index.ts';
import type { ManifestField } from './manifest.ts';

/** Id and words of leaving a field for now. */
export const NOT_NOW = 'not now';

/** What a farm keeps of a field's answer: some hundred numbers, where the answer itself has its map and its stops. */
export interface FieldAnswer {
  readonly areaHa: number;
  /** The design advised for the field on its own. */
  readonly advised: string;
  readonly designs: readonly {
    readonly id: string;
    readonly label: string;
    readonly samples: number;
    readonly cost: number;
    readonly lossPerHaYear: number;
    /** May be ordered for this farm. */
    readonly usable: boolean;
  }[];
  /** Loss without any sampling, money per ha and year, where the answer says it. */
  readonly noSampling?: number;
  /** Years a sampling serves. */
  readonly yearsKept: number;
}

/** A field with its answer, as the budget is divided over it. */
export interface FarmField {
  readonly row: number;
  readonly name: string;
  readonly areaHa: number;
  readonly lastSampled?: number;
  readonly answers: Answers;
  /** Files the list names for it. */
  readonly files: number;
  readonly answer: FieldAnswer;
  readonly choices: FieldChoices;
  /** Money the field loses a year, in the years that sampling would serve, if it is not sampled now. */
  readonly lossLeftPerYear: number;
  /** What a whole-field sample loses stands in for what is lost without any. */
  readonly wholeAsBase: boolean;
}

export interface Limits {
  readonly money?: number;
  readonly samples?: number;
}

/** All that the words, the pages and the downloads draw on; plain data that JSON keeps whole. */
export interface FarmPlan {
  readonly file: string;
  readonly year: number;
  readonly budget: Limits;
  readonly options: AdviceOptions;
  readonly tool: Advice['tool'];
  readonly fields: readonly FarmField[];
  /** What is done this autumn, one per field. */
  readonly chosen: readonly FieldOption[];
  /** This autumn on its own; when only one year was asked for. */
  readonly allocation?: Allocation;
  /** This autumn with the years after in view. */
  readonly schedule?: Schedule;
  /** The years once more with a tenth more this autumn. */
  readonly withMore?: {
    readonly budget: Limits;
    readonly chosen: readonly FieldOption[];
    readonly saved: number;
  };
  readonly notes: readonly Problem[];
  readonly setAside: number;
}

/** A row of the list with its field's answer. */
export interface AnsweredField {
  readonly row: ManifestField;
  readonly answer: FieldAnswer;
  readonly options: AdviceOptions;
  readonly tool: Advice['tool'];
}

/** What is kept of an answer. Zones that nobody has drawn can't be ordered, unless the advice found nothing else. */
export function answerOf(advice: Advice): FieldAnswer {
  const advised = advice.designs.find((d) => d.id === advice.verdict.designId) ?? advice.designs[0];
  return {
    areaHa: advice.field.areaHa,
    advised: advised.id,
    designs: advice.designs.map((d) => ({
      id: d.id,
      label: d.label,
      samples: d.samples,
      cost: d.cost.total,
      lossPerHaYear: d.lossPerHaYear.mid,
      usable: d.admissible && (d.zonesFrom !== 'not drawn yet' || d.id === advised.id),
    })),
    noSampling: advice.money?.noSampling.mid,
    yearsKept: advice.options.yearsBetween,
  };
}

/** What was asked of a whole farm. */
export interface FarmQuestion {
  readonly file: string;
  readonly year: number;
  readonly years: number;
  readonly budget: Limits;
  readonly notes: readonly Problem[];
  readonly setAside: number;
}

/**
 * Divides the budget over the fields, this autumn alone or with the years after.
 * @param answered one field at least
 */
export function planFarm(answered: readonly AnsweredField[], { years, ...question }: FarmQuestion): FarmPlan {
  const { year, budget } = question;
  const fields = answered.map(({ row, answer }) => stand(row, answer, year));
  return {
    ...question,
    options: answered[0].options,
    tool: answered[0].tool,
    fields,
    ...(years > 1 ? planYears(fields, budget, year, years) : planAutumn(fields, budget)),
  };
}

const designOf = (answer: FieldAnswer, id: string) => answer.designs.find((d) => d.id === id)!;
const advisedLoss = (answer: FieldAnswer): number => designOf(answer, answer.advised).lossPerHaYear;

/** Money a year that a field loses when its last sampling is so many seasons old; Infinity for never. */
function lossAtAge(answer: FieldAnswer, freshPerHa: number): (ageYears: number) => number {
  const unsampled = answer.noSampling ?? answer.designs[0].lossPerHaYear;
  return (age) => answer.areaHa * (freshPerHa + (unsampled - freshPerHa) * fadedShare(age, answer.yearsKept));
}

const ageIn = (year: number, lastSampled: number | undefined): number =>
  lastSampled === undefined ? Infinity : year - lastSampled;

/** A field's options with what each is worth a year, its cost spread over the years it serves. */
function stand(row: ManifestField, answer: FieldAnswer, year: number): FarmField {
  const { areaHa } = answer;
  const kept = answer.yearsKept;
  const left = lossAtAge(answer, advisedLoss(answer));
  const age = ageIn(year, row.lastSampled);
  const seasons = Array.from({ length: Math.ceil(kept) }, (_, j) => left(age + j));
  const lossLeftPerYear = seasons.reduce((s, l) => s + l, 0) / seasons.length;
  const usable = answer.designs.filter((d) => d.usable);
  return {
    row: row.row,
    name: row.name,
    areaHa,
    lastSampled: row.lastSampled,
    answers: row.answers,
    files: row.files.length,
    answer,
    lossLeftPerYear,
    wholeAsBase: answer.noSampling === undefined,
    choices: {
      id: row.name,
      fixed: row.fixed === 'sample' && usable.length === 0 ? undefined : row.fixed,
      options: [
        { id: NOT_NOW, samples: 0, cost: 0, benefit: 0 },
        ...usable.map((d): FieldOption => ({
          id: d.id,
          samples: d.samples,
          cost: d.cost,
          benefit: lossLeftPerYear - areaHa * d.lossPerHaYear - d.cost / kept,
        })),
      ],
    },
  };
}

function planAutumn(fields: readonly FarmField[], budget: Limits): Pick<FarmPlan, 'allocation' | 'chosen'> {
  const allocation = allocate(
    fields.map((f) => f.choices),
    budget,
  );
  return { allocation, chosen: allocation.choices.map((c) => c.option) };
}

/** This autumn and the years after, each with the same budget; then the same with a tenth more this autumn. */
function planYears(
  fields: readonly FarmField[],
  budget: Limits,
  year: number,
  years: number,
): Pick<FarmPlan, 'schedule' | 'chosen' | 'withMore'> {
  const outlooks = fields.map((f) => outlookOf(f, year));
  const yearsKept = fields[0].answer.yearsKept;
  const under = (first: Limits) =>
    scheduleYears(
      outlooks,
      Array.from({ length: years }, (_, t) => (t === 0 ? first : budget)),
      { yearsKept },
    );
  const schedule = under(budget);
  const chosen = chosenIn(fields, schedule);
  if (budget.money === undefined && budget.samples === undefined) return { schedule, chosen };
  const { money, samples } = budget;
  const more = {
    money: money === undefined ? undefined : money + Math.max(100, Math.round(money / 100) * 10),
    samples: samples === undefined ? undefined : samples + Math.max(5, Math.round(samples / 10)),
  };
  const other = under(more);
  return {
    schedule,
    chosen,
    withMore: {
      budget: more,
      chosen: chosenIn(fields, other),
      saved: Math.max(0, schedule.total - other.total),
    },
  };
}

const chosenIn = (fields: readonly FarmField[], schedule: Schedule): readonly FieldOption[] =>
  fields.map((f, i) => {
    const { dueYear, option } = schedule.fields[i];
    return f.choices.options.find((o) => o.id === (dueYear === 0 ? option : NOT_NOW))!;
  });

function outlookOf(f: FarmField, year: number): FieldOutlook {
  const { fixed, options } = f.choices;
  const left = lossAtAge(f.answer, advisedLoss(f.answer));
  const worthwhile =
    fixed === 'leave out'
      ? []
      : concaveOptions(fixed === 'sample' ? options.filter((o) => o.samples > 0) : options);
  return {
    id: f.name,
    ageYears: ageIn(year, f.lastSampled),
    lossPerYearAtAge: left,
    options: worthwhile
      .filter((o) => o.samples > 0)
      .map((o) => ({
        id: o.id,
        samples: o.samples,
        cost: o.cost,
        lossPerYearAtAge: lossAtAge(f.answer, designOf(f.answer, o.id).lossPerHaYear),
      })),
    firstYear: fixed === 'sample' || fixed === 'leave out' ? fixed : undefined,
  };
}

/** Samples, cost and yearly gain before cost of what is done. */
export function sumsOf(chosen: readonly FieldOption[], yearsKept: number) {
  const sum = (of: (o: FieldOption) => number) => chosen.reduce((s, o) => s + of(o), 0);
  const [cost, net] = [sum((o) => o.cost), sum((o) => o.benefit)];
  return { samples: sum((o) => o.samples), cost, gain: net + cost / yearsKept, net };
}
