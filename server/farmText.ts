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
      ...(plan.allocation ? autumnWords(plan, plan.allocation, o) : []),
      ...(plan.schedule ? yearWords(plan, plan.schedule, o) : []),
      ...footnotes(plan, o),
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

function overWords({ over }: Pick<Allocation, 'over'>, o: AdviceOptions): string[] {
  const lines: string[] = [];
  if (over.money > 0)
    lines.push(`What has to be sampled costs ${sayMoney(over.money, o)} more than the budget.`);
  if (over.samples > 0)
    lines.push(`What has to be sampled takes ${sayNumber(over.samples)} samples more than there are.`);
  return lines;
}

/** This autumn on its own: the gap, the price of further money, and what it would buy. */
function autumnWords({ fields }: FarmPlan, a: Allocation, o: AdviceOptions): string[] {
  const kept = o.yearsBetween;
  const lines = overWords(a, o);
  if (a.provenBest || a.gap < 0.005) lines.push('No other choice within the limits brings more.');
  else
    lines.push(
      `At most ${sayMoney(a.gap, o)} a year better than this is possible within the limits (${sayShare(a.relativeGap)}).`,
    );
  if (a.next.length === 0)
    return [...lines, 'More money or samples would bring nothing: every field has what pays best for it.'];
  if (a.shadow.perMoney > 0)
    lines.push(
      `A further 100 ${o.currency} would bring about ${sayMoney(100 * (a.shadow.perMoney + 1 / kept), o)} a year, or ${sayMoney(100 * a.shadow.perMoney, o)} after its own cost.`,
    );
  if (a.shadow.perSample > 0)
    lines.push(
      `One more sample would bring about ${sayMoney(a.shadow.perSample, o)} a year after its own cost.`,
    );
  lines.push('Next would be bought, in this order:');
  for (const s of a.next) {
    const f = fields.find((x) => x.choices.id === s.field)!;
    const bill = `${sayMoney(s.cost, o)} and ${s.samples} sample${s.samples === 1 ? '' : 's'} more`;
    lines.push(
      `  ${f.name}, ${labelOf(f, s.from)} -> ${labelOf(f, s.to)}: ${bill}, ${sayMoney(s.benefit + s.cost / kept, o)} a year`,
    );
  }
  return lines;
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
  const span = `Over the ${schedule.years.length} years`;
  const lines = [
    ...overWords(schedule, o),
    schedule.gap < 0.5
      ? `${span} no other plan within the limits brings more.`
      : `${span} at most ${sayMoney(schedule.gap, o)} better than this plan is possible within the limits (${sayShare(schedule.relativeGap)} of what sampling can save).`,
    ...moreWords(plan, o),
    '',
    'The years, with the same limits in each',
  ];
  schedule.years.forEach((y, t) => {
    const due = schedule.fields.filter((f) => f.years.includes(t));
    const list = due.length === 0 ? 'nothing' : due.map((f) => f.field).join(', ');
    const bill = due.length === 0 ? '' : ` (${y.samples} samples, ${sayMoney(y.cost, o)})`;
    lines.push(`  ${year + t}  ${list}${bill}`);
  });
  const later = schedule.fields.filter((f) => f.dueYear !== 0);
  if (later.length > 0) lines.push('', `Not in ${year}`);
  const width = Math.max(0, ...later.map((f) => f.field.length));
  later.forEach((f) => {
    const fixed = fields.find((x) => x.choices.id === f.field)?.choices.fixed === 'leave out';
    lines.push(`  ${f.field.padEnd(width)}  ${fixed ? 'left out, as the list says' : whyLater(f, year, o)}`);
  });
  if (fields.some((f) => f.lastSampled !== undefined))
    lines.push(
      '',
      `A sampling is taken to serve ${o.yearsBetween} years and to be worth nothing after ${2 * o.yearsBetween} (judgement of this project).`,
    );
  return lines;
}

/** What a tenth more this autumn would change. */
function moreWords({ fields, chosen, budget, withMore }: FarmPlan, o: AdviceOptions): string[] {
  if (withMore === undefined) return [];
  const extra = [
    budget.money === undefined ? '' : sayMoney((withMore.budget.money ?? 0) - budget.money, o),
    budget.samples === undefined ? '' : `${(withMore.budget.samples ?? 0) - budget.samples} samples`,
  ].filter(Boolean);
  const more = `${extra.join(' and ')} more this autumn would save`;
  if (withMore.saved < 1) return [`${more} nothing over these years.`];
  const changes = fields.flatMap((f, i) =>
    withMore.chosen[i].id === chosen[i].id
      ? []
      : [`  ${f.name}, ${labelOf(f, chosen[i].id)} -> ${labelOf(f, withMore.chosen[i].id)}`],
  );
  const spent = changes.length === 0 ? ', by other choices later on.' : ', spent on:';
  return [
    `${more} about ${sayMoney(withMore.saved, o)} over these years after its own cost${spent}`,
    ...changes,
  ];
}

function whyLater(f: FieldPlan, year: number, o: AdviceOptions): string {
  const when = f.dueYear === undefined ? '' : `${year + f.dueYear}: `;
  const cost =
    (f.reason === 'waits for money' || f.reason === 'no room') && f.costOfWaiting >= 1
      ? ` (waiting costs ${sayMoney(f.costOfWaiting, o)} in all)`
      : '';
  return `${when}${reasons[f.reason]}${cost}`;
}

function footnotes({ fields, notes }: FarmPlan, o: AdviceOptions): string[] {
  const lines: string[] = [];
  if (fields.some((f) => f.wholeAsBase))
    lines.push(
      `Not sampling is held to lose what one mixed sample of the field would (${o.currency} a year), so one mixed sample never pays here.`,
    );
  if (notes.length > 0) lines.push('Noticed while reading', ...notes.map((n) => `  ${sayProblem(n)}`));
  return lines.length > 0 ? ['', ...lines] : [];
}
