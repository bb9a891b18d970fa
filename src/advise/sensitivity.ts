import { weightedQuantile } from '../describe/index.ts';
import type { Member } from '../prior/index.ts';
import {
  effectOf,
  expectedLossBy,
  widestFirst,
  type Factor,
  type FactorEffect,
  type LeastLoss,
  type SamplingCost,
} from '../value/index.ts';
import type { AnalyteStudy } from './analyte.ts';
import type { Candidate } from './candidates.ts';
import type { Judgement } from './judge.ts';
import { coarseLeastLoss, withMean, type DecisionLosses } from './losses.ts';
import type { SensitivityAdvice } from './moneyAdvice.ts';
import type { AdviceOptions } from './options.ts';
import { inSentence, sayDistance, sayMoney, sayPerArea, sayPercent } from './words.ts';

/** A property that rates are set by, all that is known of it. */
export interface JudgedDecision {
  readonly study: AnalyteStudy;
  readonly judgement: Judgement;
  readonly losses: DecisionLosses;
}

export interface SensitivityInput {
  readonly candidates: readonly Candidate[];
  readonly costs: readonly SamplingCost[];
  readonly chosen: number;
  /** Of {@link rivalOf}, and why it may not be advised, if so. */
  readonly rival?: number;
  readonly rivalWhyNot?: string;
  /** Money per ha and year within which designs are as good. */
  readonly tolerance: number;
  readonly judged: readonly JudgedDecision[];
  /** Index in `judged` of the property that leads. */
  readonly lead: number;
  readonly areaHa: number;
  readonly options: AdviceOptions;
}

/** Prices are looked at from a third to three times as they are. */
const PRICE_SPAN = 3;
/** Crops' prices are worked out at half and twice as they are, and between by straight lines in the logarithm. */
const CROP_SPAN = 2;
/** A range of belief narrower than this shows nothing. */
const LEAST_SPAN = 1.02;

/**
 * The design that the advised one is held against: the next tighter grid, or the next wider when there is none tighter;
 * one that may be advised before one that may not. @param allowed whether a design keeps to the user's limits
 */
export function rivalOf(
  candidates: readonly Candidate[],
  totals: readonly number[],
  chosen: number,
  allowed: (design: number) => boolean,
): number | undefined {
  const { kind, samples } = candidates[chosen];
  const own = kind === 'infill' || kind === 'cells' ? kind : 'grid';
  const others = candidates.map((c, d) => ({ c, d })).filter(({ c, d }) => c.kind === own && d !== chosen);
  const among = others.some(({ d }) => allowed(d)) ? others.filter(({ d }) => allowed(d)) : others;
  const tighter = among.filter(({ c }) => c.samples > samples);
  if (tighter.length > 0) {
    // A whole field or zones have no next step of their own: the best of the grids is what they are up against.
    if (kind === 'whole' || kind === 'zones')
      return tighter.reduce((a, b) => (totals[b.d] < totals[a.d] ? b : a)).d;
    return tighter.reduce((a, b) => (b.c.samples < a.c.samples ? b : a)).d;
  }
  const wider = among.filter(({ c }) => c.samples < samples);
  return wider.length > 0 ? wider.reduce((a, b) => (b.c.samples > a.c.samples ? b : a)).d : undefined;
}

/**
 * What would have to be true for the rival to pay: its gain over the advised design at other prices, variation and range.
 * Prices are looked at between a third of and three times what they are, the property's variation and range between the
 * bounds of the belief's 80 % interval, each with all else as believed.
 */
export function sensitivity(input: SensitivityInput): SensitivityAdvice | undefined {
  const { candidates, costs, chosen, rival, judged, lead, areaHa, options: o } = input;
  if (rival === undefined || judged.length === 0) return undefined;
  const perYear = (money: number) => money / areaHa / o.yearsBetween;
  const costApart = perYear(costs[chosen].total - costs[rival].total);
  const meanOf = (of: ArrayLike<number>) => Array.from(of).reduce((s, v) => s + v, 0) / of.length;
  const lossApart = judged.map(({ losses: { losses } }) => meanOf(losses[chosen]) - meanOf(losses[rival]));
  const sum = (values: readonly number[]) => values.reduce((s, v) => s + v, 0);
  const gainNow = costApart + sum(lossApart);

  const laboratory = perYear(costs[chosen].laboratory - costs[rival].laboratory);
  const labour = perYear(costs[chosen].labour - costs[rival].labour);
  const labNow = costs[chosen].laboratory / Math.max(1, candidates[chosen].samples);
  const factors: Named[] = [];
  const price = (id: string, label: string, now: number, gainAt: Factor['gainAt'], unit = 'money') => {
    if (now > 0)
      factors.push({ id, label, unit, now, low: now / PRICE_SPAN, high: now * PRICE_SPAN, gainAt });
  };
  price('labPrice', 'laboratory price of a sample', labNow, (p) => gainNow + laboratory * (p / labNow - 1));
  if (o.sampler === 'own' && o.countOwnTime)
    price(
      'labourPerHour',
      'worth of an hour’s work',
      o.labourPerHour,
      (p) => gainNow + labour * (p / o.labourPerHour - 1),
    );
  price('prices', 'prices of crops and inputs together', 1, (f) => costApart + f * sum(lossApart), 'share');
  // What a coarse table finds between prices is added to what the fine one says of today's.
  const [cheaper, today, dearer] = [1 / CROP_SPAN, 1, CROP_SPAN].map((f) =>
    sum(judged.map((j) => lossApartBy(j, [chosen, rival], atCropPrice(j, f, o.yearsBetween)))),
  );
  factors.push({
    ...{ id: 'cropPrices', label: 'prices of the crops alone', unit: 'share' },
    ...{ now: 1, low: 1 / CROP_SPAN, high: CROP_SPAN },
    gainAt: (f) => {
      const at = Math.log(f) / Math.log(CROP_SPAN);
      return gainNow + Math.abs(at) * ((at < 0 ? cheaper : dearer) - today);
    },
  });

  const leading = judged[lead];
  const others = costApart + sum(lossApart) - lossApart[lead];
  const name = inSentence(leading.study.advice.label);
  const { members } = leading.judgement;
  const belief = (
    id: string,
    label: string,
    unit: string,
    of: (m: Member) => number,
    scaled: (m: Member, factor: number) => Member,
  ) => {
    const values = members.map(of);
    const even = new Float64Array(values.length).fill(1);
    const [low, now, high] = [0.1, 0.5, 0.9].map((p) => weightedQuantile(values, even, p));
    if (!(low > 0 && now / low > LEAST_SPAN && high / now > LEAST_SPAN)) return;
    const gainAt = (level: number) =>
      others +
      lossApartUnder(
        leading,
        [chosen, rival],
        members.map((m) => scaled(m, level / now)),
      );
    factors.push({ id, label, unit, now, low, high, gainAt });
  };
  belief(
    'cv',
    `variation of ${name} (CV)`,
    '%',
    (m) => 100 * m.cv,
    (m, f) => variedBy(m, f, leading.study.scale === 'log'),
  );
  belief(
    'range',
    `distance over which ${name} is alike (range)`,
    'm',
    (m) => m.effectiveRangeM,
    (m, f) => ({ ...m, effectiveRangeM: m.effectiveRangeM * f }),
  );

  const effects = factors.map((f) => ({ ...effectOf(f), label: f.label, unit: f.unit }));
  const ordered = widestFirst(effects) as readonly (FactorEffect & Pick<Named, 'label' | 'unit'>)[];
  return {
    rivalId: candidates[rival].id,
    rivalLabel: candidates[rival].label,
    gainNow,
    factors: ordered,
    sentences: sayTurns(ordered, candidates[rival].label, gainNow, name, input),
  };
}

type Named = Factor & { readonly label: string; readonly unit: string };

/** A member whose CV is `factor` times as large: s = ln(1 + CV²) on the log scale, proportional to CV² otherwise. */
function variedBy(m: Member, factor: number, log: boolean): Member {
  const { sill, plane } = m;
  return {
    ...m,
    sill: log ? Math.log1p(factor * factor * Math.expm1(sill)) : factor * factor * sill,
    ...(plane && {
      plane: {
        eastPerM: factor * plane.eastPerM,
        northPerM: factor * plane.northPerM,
        variance: factor * factor * plane.variance,
      },
    }),
  };
}

function atCropPrice({ losses, judgement }: JudgedDecision, factor: number, years: number): LeastLoss {
  const { decision, toUser } = losses;
  const { rateCase } = decision;
  const priced =
    factor === 1
      ? decision
      : { ...decision, rateCase: { ...rateCase, cropWorthPerHa: factor * rateCase.cropWorthPerHa } };
  return coarseLeastLoss(priced, judgement, toUser, years);
}

/** Loss of the one design less the other's, by another table of least losses. */
function lossApartBy(
  { judgement: { means, accuracies } }: JudgedDecision,
  [a, b]: readonly [number, number],
  least: LeastLoss,
): number {
  const of = (d: number) =>
    accuracies[d].reduce(
      (s, acc, i) => s + expectedLossBy(least, means[i].mean, withMean(acc, means[i].variance)),
      0,
    ) / means.length;
  return of(a) - of(b);
}

/** Loss of the one design less the other's under members changed. */
function lossApartUnder(
  { judgement: { means, again }, losses: { least } }: JudgedDecision,
  [a, b]: readonly [number, number],
  members: readonly Member[],
): number {
  const of = (d: number) =>
    again(d, members).reduce(
      (s, acc, i) => s + expectedLossBy(least, means[i].mean, withMean(acc, means[i].variance)),
      0,
    ) / members.length;
  return of(a) - of(b);
}

/** "It would pay if a laboratory analysis cost less than 12 USD, or if …": the factors that turn the decision by themselves. */
function sayTurns(
  factors: SensitivityAdvice['factors'],
  rival: string,
  gainNow: number,
  lead: string,
  { options: o, tolerance, rivalWhyNot }: SensitivityInput,
): readonly string[] {
  const pays = gainNow > 0;
  const but =
    rivalWhyNot !== undefined
      ? `, but it is ruled out: ${rivalWhyNot}`
      : gainNow <= tolerance
        ? ', too little to tell them apart'
        : '';
  const now = pays
    ? `As things stand ${rival} would gain ${sayPerArea(gainNow, o)} a year over what is advised${but}.`
    : `As things stand ${rival} would lose ${sayPerArea(-gainNow, o)} a year against what is advised.`;
  const conditions = factors.flatMap((f) =>
    f.breakEven === undefined ? [] : [sayCondition(f.id, f.breakEven, f.breakEven > f.now, lead, o)],
  );
  if (conditions.length === 0)
    return [
      now,
      'Nothing looked at here turns that by itself: prices from a third to three times as they are, and what is believable of the field.',
    ];
  const last = conditions.pop()!;
  const all = conditions.length > 0 ? `${conditions.join(', ')}, or ${last}` : last;
  return [now, `It would ${pays ? 'stop paying' : 'pay'} if ${all}.`];
}

function sayCondition(id: string, level: number, above: boolean, lead: string, o: AdviceOptions): string {
  const than = above ? 'more than' : 'less than';
  switch (id) {
    case 'labPrice':
      return `a laboratory analysis cost ${than} ${sayMoney(level, o)}`;
    case 'labourPerHour':
      return `an hour’s work were worth ${than} ${sayMoney(level, o)}`;
    case 'prices':
      return `crops and inputs together cost ${than} ${sayPercent(level)} of what they do`;
    case 'cropPrices':
      return `the crops alone were worth ${than} ${sayPercent(level)} of what they are`;
    case 'cv':
      return `${lead} varied by ${than} ${sayPercent(level / 100)} of its mean`;
    default:
      return `${lead} were alike over ${than} ${sayDistance(level, o)}`;
  }
}
