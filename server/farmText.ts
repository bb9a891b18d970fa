import { haToAcres } from '../src/units/index.ts';
import { areaUnit, sayMoney, sayNumber, type AdviceOptions } from '../src/advise/index.ts';
import { sayProblem } from '../src/read/index.ts';
import type { Allocation, DueReason, FieldOption, FieldPlan, Schedule } from '../src/value/index.ts';
import { NOT_NOW, sumsOf, type FarmField, type FarmPlan } from './farmPlan.ts';

/** A farm's plan as a terminal shows it: the table, what the limits leave undone, and the years. */
export function farmText(plan: FarmPlan): string {
  const o = plan.options;
  return (
    [
      headline(plan, o),
      '',
      ...table(plan, o),
      '',
      gainWords(plan, o),
      ...(plan.allocation ? autumnWords(plan, plan.allocation) : []),
      ...(plan.schedule ? yearWords(plan, plan.schedule, o) : []),
      ...footnotes(plan),
    ]
      .join('\n')
      .replaceAll('\u00a0', ' ')
      .trimEnd() + '\n'
  );
}

function headline({ file, year, fields, budget, setAside, schedule }: FarmPlan, o: AdviceOptions): string {
  const limits = [
    budget.money === undefined ? '' : sayMoney(budget.money, o),
    budget.samples === undefined ? '' : `${budget.samples} samples`,
  ].filter(Boolean);
  const within =
    limits.length === 0
      ? 'no limit on money or samples'
      : `at most ${limits.join(' and ')}${schedule ? ' a year' : ''}`;
  const aside = setAside === 0 ? '' : `; ${setAside} more could not be used`;
  return `${file}, autumn ${year}: ${fields.length} field${fields.length === 1 ? '' : 's'}${aside}; ${within}.`;
}

function table({ fields, chosen }: FarmPlan, o: AdviceOptions): string[] {
  const area = (ha: number) => sayNumber(o.unitSystem === 'us' ? haToAcres(ha) : ha);
  const figures = (options: readonly FieldOption[]) => {
    const t = sumsOf(options, o.yearsBetween);
    return t.samples === 0
      ? ['-', '-', '-']
      : [t.samples, t.cost, t.gain].map((v, c) => (c === 0 ? String(v) : sayNumber(v)));
  };
  const rows = fields.map((f, i) => [
    f.name,
    area(f.areaHa),
    labelOf(f, chosen[i].id),
    ...figures([chosen[i]]),
  ]);
  const total = ['total', area(fields.reduce((s, f) => s + f.areaHa, 0)), '', ...figures(chosen)];
  const head = ['field', `${areaUnit(o)}s`, 'design', 'samples', 'cost', 'gain a year'];
  const all = [head, ...rows, total];
  const widths = head.map((_, c) => Math.max(...all.map((r) => r[c].length)));
  return all.map((r) =>
    r
      .map((cell, c) => (c === 0 || c === 2 ? cell.padEnd(widths[c]) : cell.padStart(widths[c])))
      .join('  ')
      .trimEnd(),
  );
}

/** A design as a field's row names it. */
export function labelOf(f: FarmField, option: string): string {
  if (option === NOT_NOW) return NOT_NOW;
  const label = f.answer.designs.find((d) => d.id === option)?.label ?? option;
  return label.replace('of the whole field', '').trim();
}

function gainWords({ chosen }: FarmPlan, o: AdviceOptions): string {
  const kept = `${o.yearsBetween} year${o.yearsBetween === 1 ? '' : 's'}`;
  const { net } = sumsOf(chosen, o.yearsBetween);
  return `Cost and gain in ${o.currency}. The gain is what wrong rates would lose a year without the sampling, which serves ${kept}; after its own cost it is ${sayMoney(net, o)} a year.`;
}

/** That what is settled takes more than there is. */
export function overWords({ over }: Pick<Allocation, 'over'>, o: AdviceOptions): string[] {
  const lines: string[] = [];
  if (over.money > 0)
    lines.push(`What has to be sampled costs ${sayMoney(over.money, o)} more than the budget.`);
  if (over.samples > 0)
    lines.push(`What has to be sampled takes ${sayNumber(over.samples)} samples more than there are.`);
  return lines;
}

/** How far the plan may be from the best there is. */
export function gapWords({ allocation: a, schedule, options: o }: FarmPlan): string {
  if (a)
    return a.provenBest || a.gap < 0.005
      ? 'No other choice within the limits brings more.'
      : `At most ${sayMoney(a.gap, o)} a year better than this is possible within the limits (${sayShare(a.relativeGap)}).`;
  if (!schedule) return '';
  const span = `Over the ${schedule.years.length} years`;
  return schedule.gap < 0.5
    ? `${span} no other plan within the limits brings more.`
    : `${span} at most ${sayMoney(schedule.gap, o)} better than this plan is possible within the limits (${sayShare(schedule.relativeGap)} of what sampling can save).`;
}

/** Something that further money would change: a sentence, and what would be bought. */
export interface Further {
  readonly sentences: readonly string[];
  readonly bought: readonly string[];
}

/** What further money or samples would bring. */
export const furtherOf = (plan: FarmPlan): Further =>
  plan.allocation ? furtherAutumn(plan, plan.allocation) : furtherYears(plan);

/** This autumn on its own: the price of further money, and what it would buy. */
function furtherAutumn({ fields, options: o }: FarmPlan, a: Allocation): Further {
  const kept = o.yearsBetween;
  if (a.next.length === 0)
    return {
      sentences: ['More money or samples would bring nothing: every field has what pays best for it.'],
      bought: [],
    };
  const sentences: string[] = [];
  if (a.shadow.perMoney > 0)
    sentences.push(
      `A further 100 ${o.currency} would bring about ${sayMoney(100 * (a.shadow.perMoney + 1 / kept), o)} a year, or ${sayMoney(100 * a.shadow.perMoney, o)} after its own cost.`,
    );
  if (a.shadow.perSample > 0)
    sentences.push(
      `One more sample would bring about ${sayMoney(a.shadow.perSample, o)} a year after its own cost.`,
    );
  sentences.push('Next would be bought, in this order:');
  const bought = a.next.map((s) => {
    const f = fields.find((x) => x.choices.id === s.field)!;
    const bill = `${sayMoney(s.cost, o)} and ${s.samples} sample${s.samples === 1 ? '' : 's'} more`;
    return `${f.name}, ${labelOf(f, s.from)} -> ${labelOf(f, s.to)}: ${bill}, ${sayMoney(s.benefit + s.cost / kept, o)} a year`;
  });
  return { sentences, bought };
}

function autumnWords(plan: FarmPlan, a: Allocation): string[] {
  const { sentences, bought } = furtherAutumn(plan, a);
  return [...overWords(a, plan.options), gapWords(plan), ...sentences, ...bought.map((b) => `  ${b}`)];
}

const sayShare = (share: number): string =>
  share < 0.0005 ? 'under 0.1 %' : `${(100 * share).toFixed(1)} %`;

const reasons: Readonly<Record<DueReason, string>> = {
  'best year': 'its best year',
  'never sampled': 'never sampled, and much at stake',
  'waits for money': 'waits: the budget goes further elsewhere',
  'brought forward': 'brought forward, while there is room',
  'no room': 'would pay, but no year has room for it',
  'does not pay yet': 'does not pay in these years',
};

/** This autumn with the years after: the gap, what more money now would change, and who waits for what. */
function yearWords(plan: FarmPlan, schedule: Schedule, o: AdviceOptions): string[] {
  const { fields, year } = plan;
  const more = furtherYears(plan);
  const lines = [
    ...overWords(schedule, o),
    gapWords(plan),
    ...more.sentences,
    ...more.bought.map((b) => `  ${b}`),
    '',
    'The years, with the same limits in each',
  ];
  schedule.years.forEach((y, t) => {
    const due = schedule.fields.filter((f) => f.years.includes(t));
    const list = due.length === 0 ? 'nothing' : due.map((f) => f.field).join(', ');
    const bill = due.length === 0 ? '' : ` (${y.samples} samples, ${sayMoney(y.cost, o)})`;
    lines.push(`  ${year + t}  ${list}${bill}`);
  });
  const later = fields.flatMap((f, i) => (schedule.fields[i].dueYear === 0 ? [] : [{ f, i }]));
  if (later.length > 0) lines.push('', `Not in ${year}`);
  const width = Math.max(0, ...later.map(({ f }) => f.name.length));
  later.forEach(({ f, i }) => lines.push(`  ${f.name.padEnd(width)}  ${whyNotNow(plan, i)}`));
  const age = ageWords(plan);
  if (age !== '') lines.push('', age);
  return lines;
}

/** What a tenth more this autumn would change. */
function furtherYears({ fields, chosen, budget, withMore, options: o }: FarmPlan): Further {
  if (withMore === undefined) return { sentences: [], bought: [] };
  const extra = [
    budget.money === undefined ? '' : sayMoney((withMore.budget.money ?? 0) - budget.money, o),
    budget.samples === undefined ? '' : `${(withMore.budget.samples ?? 0) - budget.samples} samples`,
  ].filter(Boolean);
  const more = `${extra.join(' and ')} more this autumn would save`;
  if (withMore.saved < 1) return { sentences: [`${more} nothing over these years.`], bought: [] };
  const bought = fields.flatMap((f, i) =>
    withMore.chosen[i].id === chosen[i].id
      ? []
      : [`${f.name}, ${labelOf(f, chosen[i].id)} -> ${labelOf(f, withMore.chosen[i].id)}`],
  );
  const spent = bought.length === 0 ? ', by other choices later on.' : ', spent on:';
  return {
    sentences: [`${more} about ${sayMoney(withMore.saved, o)} over these years after its own cost${spent}`],
    bought,
  };
}

/** Why a field is not sampled this autumn; the years tell it by their plan, one autumn on its own by the field's worth. */
export function whyNotNow({ fields, schedule, year, options }: FarmPlan, i: number): string {
  const { choices } = fields[i];
  if (choices.fixed === 'leave out') return 'left out, as the list says';
  if (schedule) return whyLater(schedule.fields[i], year, options);
  return choices.options.some((o) => o.benefit > 0)
    ? 'would pay, but the budget goes further elsewhere'
    : 'does not pay: sampling it costs more than it saves';
}

function whyLater(f: FieldPlan, year: number, o: AdviceOptions): string {
  const when = f.dueYear === undefined ? '' : `${year + f.dueYear}: `;
  const cost =
    (f.reason === 'waits for money' || f.reason === 'no room') && f.costOfWaiting >= 1
      ? ` (waiting costs ${sayMoney(f.costOfWaiting, o)} in all)`
      : '';
  return `${when}${reasons[f.reason]}${cost}`;
}

/** What stands in for something that is not known; empty where nothing does. */
export function baseWords({ fields, options: o }: FarmPlan): string {
  return fields.some((f) => f.wholeAsBase)
    ? `Not sampling is held to lose what one mixed sample of the field would (${o.currency} a year), so one mixed sample never pays here.`
    : '';
}

/** How long a sampling is held to serve, where it matters. */
export function ageWords({ fields, options: o }: FarmPlan): string {
  return fields.some((f) => f.lastSampled !== undefined)
    ? `A sampling is taken to serve ${o.yearsBetween} years and to be worth nothing after ${2 * o.yearsBetween} (judgement of this project).`
    : '';
}

function footnotes(plan: FarmPlan): string[] {
  const { notes } = plan;
  const base = baseWords(plan);
  const lines = base === '' ? [] : [base];
  if (notes.length > 0) lines.push('Noticed while reading', ...notes.map((n) => `  ${sayProblem(n)}`));
  return lines.length > 0 ? ['', ...lines] : [];
}
