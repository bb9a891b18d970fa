/** The farm's pages in words: what each template needs, from the plan as it is kept. */
import { areaUnit, sayArea, sayMoney, sayNumber } from '../src/advise/words.ts';
import { sayProblem, type Problem } from '../src/read/problem.ts';
import { haToAcres } from '../src/units/index.ts';
import type { FarmChartData } from '../views/charts/farmChart.ts';
import { DASH } from '../views/format.ts';
import { farmFigure } from '../views/models/farmFigure.ts';
import type { Figure } from '../views/models/figure.ts';
import type { Typed } from '../views/models/questionForm.ts';
import { farmCurve, type FarmCurve } from './farmCurve.ts';
import { farmOptionFields } from './farmForm.ts';
import { sumsOf, type FarmField, type FarmPlan } from './farmPlan.ts';
import { ageWords, baseWords, furtherOf, gapWords, labelOf, overWords, whyNotNow } from './farmText.ts';

interface SampledRow {
  readonly name: string;
  /** The field's own answer, where the list says all that goes into it. */
  readonly href: string;
  readonly area: string;
  readonly design: string;
  readonly samples: string;
  readonly cost: string;
  readonly gain: string;
  readonly next: string;
}

export interface FarmPage {
  readonly line: string;
  readonly headline: string;
  readonly why: readonly string[];
  readonly areaUnit: string;
  readonly currency: string;
  readonly sampled: readonly SampledRow[];
  readonly total: Omit<SampledRow, 'name' | 'href' | 'design' | 'next'>;
  readonly unsampled: readonly { readonly name: string; readonly href: string; readonly why: string }[];
  readonly autumn: string;
  /** Absent where nothing pays. */
  readonly figure?: Figure;
  readonly caption: string;
  readonly further: { readonly sentences: readonly string[]; readonly bought: readonly string[] };
  readonly years?: YearTable;
  readonly problems: readonly string[];
  /** The rest of a long list of problems. */
  readonly moreProblems: readonly string[];
  readonly notes: readonly string[];
  readonly assumptions: readonly string[];
  readonly version: string;
}

interface YearTable {
  readonly heading: string;
  readonly years: readonly string[];
  readonly rows: readonly { readonly name: string; readonly cells: readonly string[] }[];
  readonly samples: readonly string[];
  readonly cost: readonly string[];
}

/** Problems shown at once; the rest is folded away. */
const AT_ONCE = 12;

/** All that the result's page shows. */
export function farmPage(plan: FarmPlan, problems: readonly Problem[], typed: Typed): FarmPage {
  const { fields, chosen, options: o, schedule, allocation, year } = plan;
  const sums = sumsOf(chosen, o.yearsBetween);
  const curve = farmCurve(plan);
  const over = schedule ?? allocation;
  const autumn = typed.year ? `in autumn ${year}` : 'this autumn';
  const shownArea = (ha: number) => sayNumber(o.unitSystem === 'us' ? haToAcres(ha) : ha);
  const figures = (samples: number, cost: number, gain: number) => ({
    samples: sayCount(samples),
    cost: sayNumber(cost),
    gain: sayNumber(gain),
  });
  const at = fields.map((f, i) => ({ f, i, option: chosen[i] }));
  const sampled = at.filter(({ option }) => option.samples > 0);
  return {
    line: lineOf(plan),
    headline: headlineOf(plan, autumn),
    why: [
      sampled.length === 0
        ? ''
        : `After its own cost, spread over the ${years(o.yearsBetween)} it serves, that is ${sayMoney(sums.net, o)} a year. Saved is what wrong rates would lose without the sampling.`,
      ...(over ? overWords(over, o) : []),
      gapWords(plan),
    ].filter((s) => s !== ''),
    areaUnit: `${areaUnit(o)}s`,
    currency: o.currency,
    sampled: sampled.map(({ f, i, option }) => ({
      name: f.name,
      href: ownAnswer(f, typed, plan),
      area: shownArea(f.areaHa),
      design: labelOf(f, option.id),
      ...figures(option.samples, option.cost, option.benefit + option.cost / o.yearsBetween),
      next: String(year + (schedule?.fields[i].years[1] ?? Math.ceil(o.yearsBetween))),
    })),
    total: {
      area: shownArea(sampled.reduce((s, { f }) => s + f.areaHa, 0)),
      ...figures(sums.samples, sums.cost, sums.gain),
    },
    unsampled: at
      .filter(({ option }) => option.samples === 0)
      .map(({ f, i }) => ({ name: f.name, href: ownAnswer(f, typed, plan), why: whyNotNow(plan, i) })),
    autumn,
    figure: curve.steps.length === 0 ? undefined : farmFigure(chartData(plan, curve, autumn), 'farm-chart'),
    caption: captionOf(plan, curve),
    further: furtherShown(plan, curve),
    years: schedule && yearTable(plan),
    problems: problems.slice(0, AT_ONCE).map(sayProblem),
    moreProblems: problems.slice(AT_ONCE).map(sayProblem),
    notes: plan.notes.map(sayProblem),
    assumptions: [ageWords(plan), baseWords(plan)].filter((s) => s !== ''),
    version: plan.tool.version,
  };
}

const years = (n: number): string => `${n} year${n === 1 ? '' : 's'}`;
const sayCount = (n: number): string => n.toLocaleString('en');
const count = (n: number, what: string): string => `${sayCount(n)} ${what}${n === 1 ? '' : 's'}`;

function lineOf({ year, fields, setAside, options }: FarmPlan): string {
  const area = sayArea(
    fields.reduce((s, f) => s + f.areaHa, 0),
    options,
  );
  const aside = setAside === 0 ? '' : `, ${setAside} more could not be used`;
  return `Autumn ${year}: ${count(fields.length, 'field')}, ${area}${aside}`;
}

/** “Spend 2,940 of 3,000 USD on 9 of 16 fields this autumn: about 4,100 USD a year saved.” */
function headlineOf({ fields, chosen, budget, options: o }: FarmPlan, autumn: string): string {
  const { cost, samples, gain } = sumsOf(chosen, o.yearsBetween);
  const sampled = chosen.filter((c) => c.samples > 0).length;
  if (sampled === 0)
    return `Sample nothing ${autumn}: within these limits it would cost more than it saves, or can wait.`;
  const on = `on ${sampled} of ${count(fields.length, 'field')} ${autumn}`;
  const saved = `about ${sayMoney(gain, o)} a year saved.`;
  const taken = `${sayCount(samples)} of ${count(budget.samples ?? samples, 'sample')}`;
  if (budget.money === undefined && budget.samples !== undefined)
    return `Take ${taken} ${on}, for ${sayMoney(cost, o)}: ${saved}`;
  const of = budget.money === undefined ? '' : `of ${sayMoney(budget.money, o)} `;
  const spend = of ? `Spend ${sayNumber(cost)} ${of}` : `Spend ${sayMoney(cost, o)} `;
  return `${spend}${budget.samples === undefined ? '' : `and take ${taken} `}${on}: ${saved}`;
}

/** The questionnaire's answer for a field that came without files: all of it stands in the address. */
function ownAnswer(f: FarmField, typed: Typed, { options }: FarmPlan): string {
  const { areaHa, ...answers } = f.answers;
  if (f.files > 0 || areaHa === undefined) return '';
  const area = options.unitSystem === 'us' ? haToAcres(areaHa) : areaHa;
  const query = new URLSearchParams({ name: f.name, units: options.unitSystem, area: area.toFixed(2) });
  for (const { id } of farmOptionFields) if (typed[id]) query.set(id, typed[id]);
  for (const [id, value] of Object.entries(answers)) query.set(id, String(value));
  return `/answer?${query.toString()}`;
}

/** Places that can be read off, at most. */
const MARKS = 30;
/** The curve is shown to so many times the limit: further out it is flat, and the part that matters would be narrow. */
const SHOWN = 4;

const limitOf = ({ budget }: FarmPlan, { per }: FarmCurve): number | undefined =>
  per === 'money' ? budget.money : budget.samples;

/** Steps that the chart shows. */
function shownSteps(plan: FarmPlan, curve: FarmCurve): FarmCurve['steps'] {
  const limit = limitOf(plan, curve);
  if (!limit) return curve.steps;
  const shown = curve.steps.filter((s) => s.spent <= SHOWN * limit);
  return shown.length > 0 ? shown : curve.steps.slice(0, 1);
}

/** Spending and saving as the chart says them. */
function chartWords({ options: o }: FarmPlan, { per }: FarmCurve) {
  const byMoney = per === 'money';
  return {
    spent: (v: number) => (byMoney ? sayMoney(v, o) : count(v, 'sample')),
    gainOf: (p: { readonly gain: number; readonly net: number }) => (byMoney ? p.gain : p.net),
    saved: (v: number) => `${sayMoney(v, o)} a year saved${byMoney ? '' : ' after the sampling’s own cost'}`,
  };
}

function chartData(plan: FarmPlan, curve: FarmCurve, autumn: string): FarmChartData {
  const { chosen, fields, options: o } = plan;
  const byMoney = curve.per === 'money';
  const sums = sumsOf(chosen, o.yearsBetween);
  const { spent, gainOf, saved } = chartWords(plan, curve);
  const steps = shownSteps(plan, curve);
  const every = Math.max(1, Math.ceil(steps.length / MARKS));
  const byName = new Map(fields.map((f) => [f.name, f]));
  const limit = limitOf(plan, curve);
  const end = curve.steps.at(-1) ?? curve.start;
  const here = { spent: byMoney ? sums.cost : sums.samples, gain: gainOf(sums) };
  return {
    description: `What sampling saves rises with what is spent, ever more slowly, up to ${saved(gainOf(end))} for ${spent(end.spent)}. This plan: ${spent(here.spent)}, ${saved(here.gain)}.`,
    axisTitle: `${o.currency} saved a year${byMoney ? '' : ', after its own cost'}`,
    bottomTitle: byMoney ? `${o.currency} spent ${autumn}` : `samples ${autumn}`,
    curve: [curve.start, ...steps].map((p) => ({ spent: p.spent, gain: gainOf(p) })),
    curveName: byMoney ? 'saved a year' : 'saved a year, net',
    marks: steps
      .map((s, i) => ({ s, i }))
      .filter(({ i }) => i % every === every - 1 || i === steps.length - 1)
      .map(({ s, i }) => ({
        id: `step-${i}`,
        spent: s.spent,
        gain: gainOf(s),
        says: `${spent(s.spent)}: up to ${s.field}, ${labelOf(byName.get(s.field)!, s.to)}, ${saved(gainOf(s))}.`,
      })),
    ownCost: byMoney ? { perSpent: 1 / o.yearsBetween, name: 'its yearly cost' } : undefined,
    budget:
      limit === undefined
        ? undefined
        : { spent: limit, name: `${byMoney ? 'budget' : 'limit'} ${spent(limit)}` },
    plan: { ...here, says: `This plan: ${spent(here.spent)}, ${saved(here.gain)}.` },
  };
}

/** What the next 100 of money, or the next sample, brings a year where the curve leaves the budget; before its own cost. */
function slopeAtBudget(plan: FarmPlan, curve: FarmCurve): number | undefined {
  const { per, start, steps } = curve;
  const limit = limitOf(plan, curve);
  if (limit === undefined) return undefined;
  const i = steps.findIndex((s) => s.spent > limit + 1e-9);
  if (i < 0) return 0;
  const before = i === 0 ? start : steps[i - 1];
  const rise = per === 'money' ? steps[i].gain - before.gain : steps[i].net - before.net;
  return rise / (steps[i].spent - before.spent);
}

function slopeWords(plan: FarmPlan, curve: FarmCurve): string {
  const { options: o } = plan;
  const slope = slopeAtBudget(plan, curve);
  if (slope === undefined) return '';
  if (slope === 0)
    return 'The budget reaches past all that pays: more of it would bring nothing this autumn.';
  return curve.per === 'money'
    ? `At the budget the curve rises by ${sayMoney(100 * slope, o)} a year for a further 100 ${o.currency}, ${sayMoney(100 * (slope - 1 / o.yearsBetween), o)} of it after the sampling’s own cost.`
    : `At the limit the curve rises by ${sayMoney(slope, o)} a year for one more sample, after its own cost.`;
}

function captionOf(plan: FarmPlan, curve: FarmCurve): string {
  const { spent, gainOf, saved } = chartWords(plan, curve);
  const end = curve.steps.at(-1);
  return [
    'The curve buys, one after the other, what brings most for its money, this autumn looked at on its own.',
    end ? `All that pays would take ${spent(end.spent)}: ${saved(gainOf(end))}.` : 'Nothing pays.',
    plan.budget.money !== undefined && plan.budget.samples !== undefined
      ? 'The curve leaves the limit on samples aside.'
      : '',
    plan.schedule
      ? 'This plan has the years after in view as well, so it may stand under the curve: some fields are better left for a later year’s budget.'
      : 'What is bought comes whole, so this plan may stand a little under the curve.',
  ]
    .filter((s) => s !== '')
    .join(' ');
}

/** Changes that are named one by one. */
const MOST_CHANGES = 8;

function furtherShown(plan: FarmPlan, curve: FarmCurve): FarmPage['further'] {
  const { sentences, bought } = furtherOf(plan);
  // With one autumn the allocation has said it already.
  const slope = plan.schedule ? slopeWords(plan, curve) : '';
  const shown = bought.slice(0, MOST_CHANGES).map((b) => b.replace(' -> ', ' → '));
  const left = bought.length - shown.length;
  return {
    sentences: [slope, ...sentences].filter((s) => s !== ''),
    bought: left > 0 ? [...shown, `and ${count(left, 'other change')}`] : shown,
  };
}

function yearTable(plan: FarmPlan): YearTable {
  const { fields, schedule, year, options: o } = plan;
  const all = schedule!.years;
  const rows = fields.flatMap((f, i) => {
    const p = schedule!.fields[i];
    if (p.years.length === 0 || p.option === undefined) return [];
    const design = f.answer.designs.find((d) => d.id === p.option);
    const said = design ? sayCount(design.samples) : '';
    return [{ name: f.name, cells: all.map((_, t) => (p.years.includes(t) ? said : '')) }];
  });
  return {
    heading: `The next ${years(all.length)}`,
    years: all.map((_, t) => String(year + t)),
    rows,
    samples: all.map((y) => (y.samples > 0 ? sayCount(y.samples) : DASH)),
    cost: all.map((y) => (y.cost > 0 ? sayMoney(y.cost, o) : DASH)),
  };
}
