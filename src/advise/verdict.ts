import type { AnalyteAdvice, DesignOutcome, Verdict } from './advice.ts';
import type { Direction } from './direction.ts';
import type { AdviceOptions } from './options.ts';
import { shownUnit } from '../read/index.ts';
import {
  sayMoney,
  headline,
  inSentence,
  sayArea,
  sayDistance,
  sayHours,
  sayNumber,
  sayPercent,
  sayPerArea,
} from './words.ts';

/**
 * Designs whose total is within this of the cheapest are taken to be as good, since the optimum is flat: the larger of a
 * sum per ha and year and a share of what the best design gains over one mixed sample. Judgement of this project.
 */
export const NEAR_BEST_PER_HA_YEAR = 1.25;
export const NEAR_BEST_SHARE_OF_GAIN = 0.1;

/** Loss per ha and year from which a field without pattern is called one that no grid can map. Judgement of this project. */
const UNMAPPED_LOSS_PER_HA_YEAR = 5;

export const toleranceOf = (bestTotal: number, wholeFieldTotal: number): number =>
  Math.max(NEAR_BEST_PER_HA_YEAR, NEAR_BEST_SHARE_OF_GAIN * (wholeFieldTotal - bestTotal));

/** Totals per ha and year of every design under every member: rows are members. */
export type MemberTotals = readonly (readonly number[])[];

export interface VerdictInput {
  readonly designs: readonly DesignOutcome[];
  readonly chosen: number;
  readonly memberTotals: MemberTotals;
  readonly analytes: readonly AnalyteAdvice[];
  readonly leadAnalyte: string;
  /** The design that would be advised without any limit, when it is another. */
  readonly unlimitedLabel?: string;
  /** Expected loss of the best single rate over the whole field, per ha and year. */
  readonly singleRateLoss: number;
  /** The design it is held against: what one would go on to. */
  readonly rival?: number;
  /** Best design when the field varies like the lowest or the highest third of the belief, and at other lab prices. */
  readonly whatIf: readonly { readonly when: string; readonly designLabel: string; readonly same: boolean }[];
  readonly areaHa: number;
  readonly hasPoints: boolean;
  /** Whether any question about the ground was answered. */
  readonly answered: boolean;
  readonly direction?: Direction;
  /** Tests above which guidance has nothing spread. */
  readonly caps: readonly { readonly analyte: string; readonly cap: number }[];
  readonly options: AdviceOptions;
}

/** The answer in words, every figure from the designs compared. */
export function sayVerdict(v: VerdictInput): Verdict {
  const { designs, options: o } = v;
  const best = designs[v.chosen];
  const lead = v.analytes.find((a) => a.id === v.leadAnalyte)!;
  const whole = designs.findIndex((d) => d.kind === 'whole');
  // Wrong rates cost plenty, yet the tests show no pattern that a grid could follow: not the same as even ground.
  const unmapped =
    best.kind === 'whole' &&
    lead.structure.kind === 'none at this spacing' &&
    !lead.trend?.used &&
    best.lossPerHaYear.mid > UNMAPPED_LOSS_PER_HA_YEAR;
  const nothingFits = designs.every((d) => !d.admissible);
  const comparable = designs.map((d) => d.admissible || (nothingFits && d.kind !== 'cells'));
  const near = v.memberTotals.filter((row) => {
    const least = Math.min(...row.filter((_, d) => comparable[d]));
    return row[v.chosen] <= least + toleranceOf(least, row[whole]);
  }).length;
  const share = near / v.memberTotals.length;
  const words = share >= 0.8 ? 'sure' : share >= 0.5 ? 'fairly sure' : 'unsure';
  return {
    designId: best.id,
    headline: nothingFits
      ? `Nothing fits what you allow; nearest to it: ${headline(best, o, false, unmapped).replace(/^./, (c) => c.toLowerCase())}`
      : headline(best, o, v.unlimitedLabel !== undefined, unmapped),
    why: [
      ...(nothingFits
        ? [sayLimits(v)]
        : v.unlimitedLabel === undefined
          ? []
          : [`Without your limits the advice would be ${v.unlimitedLabel}.`]),
      sayVariation(lead, v),
      ...sayTrend(lead),
      ...(lead.structure.kind === 'none at this spacing' ? [lead.structure.sentence] : []),
      sayError(best, lead, v),
      ...sayCells(best, lead, v),
      sayEconomy(best, v),
    ],
    confidence: {
      share,
      words,
      sentence: `In ${sayPercent(share)} of what is believable about this field no other design${v.unlimitedLabel === undefined ? '' : ' within your limits'} would be better by more than ${sayPerArea(NEAR_BEST_PER_HA_YEAR, o)} and year, or a tenth of what sampling can gain.${
        lead.structure.kind !== 'no points'
          ? ''
          : v.hasPoints
            ? ` ${lead.label} was not among the tests, so this rests on ${priorSource(v)}; testing it would make it surer.`
            : ` It rests on ${priorSource(v)}; test points would make it surer.`
      }`,
    },
    nextTighter: sayNext(v),
    wouldChange: sayWhatIf(v),
    leadAnalyte: v.leadAnalyte,
    cautions: cautions(v),
  };
}

function sayLimits({ options: o, analytes }: VerdictInput): string {
  const errors = Object.entries(o.maxError).flatMap(([id, most]) => {
    const of = analytes.find((a) => a.id === id);
    return of
      ? [`an error of ${inSentence(of.label)} up to ${sayNumber(most)} ${shownUnit(of.errorUnit)}`]
      : [];
  });
  const limits = [
    ...(o.budget > 0 ? [`a budget of ${sayMoney(o.budget, o)}`] : []),
    ...(o.minSamples > 1 ? [`at least ${o.minSamples} samples`] : []),
    ...errors,
    ...(o.minRightClass > 0 ? [`the right class on at least ${sayNumber(o.minRightClass)} % of blocks`] : []),
  ];
  const remedy = limits.length > 1 ? ': relax one of them' : '';
  const last = limits.pop();
  return `No design keeps to ${[limits.join(', '), last].filter(Boolean).join(' and ')}${remedy}.`;
}

const priorSource = (v: VerdictInput) =>
  v.answered ? 'what is published and your answers' : 'what is published';

function sayVariation(lead: AnalyteAdvice, v: VerdictInput): string {
  const o = v.options;
  const { cv, rangeM } = lead.belief;
  const source =
    lead.summary && lead.structure.kind !== 'no points'
      ? `${lead.summary.n} test points and what is published say`
      : `${priorSource(v)}${v.answered ? ' say' : ' says'}`;
  return `${lead.label} leads the decision: ${source} that it varies by about ${sayPercent(cv.mid)} of its mean (${sayPercent(cv.low)} to ${sayPercent(cv.high)}) and that places stop being alike after some ${sayDistance(rangeM.mid, o)} (${sayDistance(rangeM.low, o)} to ${sayDistance(rangeM.high, o)})${sayDirection(v.direction)}${lead.trend?.used ? ', once its trend is taken out' : ''}.`;
}

/** The trend that the answer rests on, or that it leaves out though it is clear. */
const sayTrend = ({ trend }: AnalyteAdvice): readonly string[] =>
  trend === undefined ? [] : trend.used ? [trend.sentence] : trend.warning ? [trend.warning] : [];

/** ", lengthwise about north-east; across only 0.4 of that". */
function sayDirection(d: Direction | undefined): string {
  if (!d) return '';
  const names = [
    'north',
    'north-north-east',
    'north-east',
    'east-north-east',
    'east',
    'east-south-east',
    'south-east',
    'south-south-east',
  ];
  return ` towards ${names[Math.round(d.directionDeg / 22.5) % 8]}, and across after ${d.ratio} of that`;
}

function sayError(best: DesignOutcome, lead: AnalyteAdvice, v: VerdictInput): string {
  const own = best.errors[lead.id];
  const whole = v.designs.find((d) => d.kind === 'whole')!.errors[lead.id];
  const unit = ` ${shownUnit(lead.errorUnit)}`;
  const say = (x: number) => `${sayNumber(x)}${unit}`;
  const range = `typically off by ${say(own.typical.mid)} (one standard error; ${say(own.typical.low)} to ${say(own.typical.high)})`;
  if (best.kind === 'whole')
    return v.unlimitedLabel === undefined
      ? `One composite is ${range} at any one spot; tighter sampling would lower that by too little to pay.`
      : `One composite is ${range} at any one spot.`;
  return `Its map of ${inSentence(lead.label)} at any spot the spreader can treat apart (${sayDistance(v.options.blockM, v.options)} square) is ${range}; one composite of the whole field would be off by ${say(whole.typical.mid)}.`;
}

/** What mixing cores from all over each cell would change, where it lowers the error noticeably. */
function sayCells(best: DesignOutcome, lead: AnalyteAdvice, v: VerdictInput): readonly string[] {
  const cells = v.designs.find((d) => d.kind === 'cells' && d.samples === best.samples);
  if (best.kind !== 'grid' || !cells) return [];
  const [own, mixed] = [best, cells].map((d) => d.errors[lead.id].typical.mid);
  if (mixed > 0.95 * own) return [];
  const unit = shownUnit(lead.errorUnit);
  return [
    `Mixing ${cells.coresPerSample} cores from all over each cell instead of ${best.coresPerSample} about its stop would bring that to ${sayNumber(mixed)} ${unit}, for ${sayHours(cells.cost.hours - best.cost.hours)} more.`,
  ];
}

function sayEconomy(best: DesignOutcome, v: VerdictInput): string {
  const o = v.options;
  const saved = v.singleRateLoss - best.lossPerHaYear.mid;
  const once = `${sayPerArea(best.cost.perHa, o)} once, kept ${o.yearsBetween} years`;
  const against =
    best.kind === 'whole'
      ? `With it wrong rates are expected to cost ${sayPerArea(best.lossPerHaYear.mid, o)} and year${v.unlimitedLabel === undefined ? ', and tighter designs gain too little to count' : ''}; sampling itself costs ${sayPerArea(best.cost.perHaYear, o)} and year (${once})`
      : `${saved < 0.02 ? 'It is not expected to beat the best single rate that full knowledge of the field would set' : `Against the best single rate it is expected to save ${sayPerArea(saved, o)} and year in wrong rates`}, and sampling costs ${sayPerArea(best.cost.perHaYear, o)} and year (${once})`;
  return `${against}.`;
}

function sayWhatIf({ whatIf }: VerdictInput): readonly string[] {
  if (whatIf.every((w) => w.same)) {
    const [even, varied] = whatIf;
    return [
      `None of these: the advice stays the same ${lowerIf(even.when)}, ${lowerIf(varied.when)}, and whether a laboratory analysis costs half or twice as much.`,
    ];
  }
  return whatIf.map((w) =>
    w.same
      ? `${w.when}, the advice stays the same.`
      : `${w.when}, the best choice would be ${w.designLabel}.`,
  );
}

const lowerIf = (when: string) => when.replace(/^If/, 'if');

function sayNext(v: VerdictInput): Verdict['nextTighter'] {
  const best = v.designs[v.chosen];
  const next = v.rival === undefined ? undefined : v.designs[v.rival];
  if (!next || next.samples <= best.samples || next.cost.total <= best.cost.total) return undefined;
  const extraCost = (next.cost.perHaYear - best.cost.perHaYear) * v.areaHa;
  const extraSaved = Math.max(0, best.lossPerHaYear.mid - next.lossPerHaYear.mid) * v.areaHa;
  const savedPerExtra = extraCost > 0 ? extraSaved / extraCost : 0;
  return {
    designId: next.id,
    extraCost,
    extraSaved,
    savedPerExtra,
    sentence:
      extraSaved < 0.005 * v.areaHa
        ? `Going on to ${next.label} would cost ${sayNumber(extraCost)} ${v.options.currency} more a year and save nothing.`
        : `Tightening to ${next.label} would cost ${sayNumber(extraCost)} ${v.options.currency} more a year and save ${sayNumber(extraSaved)}: ${savedPerExtra.toFixed(2)} back for each ${v.options.currency}${next.nearBest && savedPerExtra > 1 ? '; so little in all that the fewer samples are advised' : ''}.`,
  };
}

function cautions({ analytes, caps }: VerdictInput): readonly string[] {
  const high = caps.flatMap(({ analyte, cap }) => {
    const of = analytes.find((a) => a.id === analyte);
    if (!of?.summary || of.summary.mean <= cap) return [];
    const unit = shownUnit(of.unit);
    return [
      `${of.label} averages ${sayNumber(of.summary.mean)} ${unit}, above the ${sayNumber(cap)} ${unit} from which the guidance sees a risk to water and has nothing spread; ask before applying any, manure included.`,
    ];
  });
  return [
    ...high,
    'Rates here only weigh sampling designs against each other; local extension guidance and a certified or licensed adviser decide what is applied. Manure rules and nutrient management plans go before anything said here.',
    'Keep the setbacks from wells, streams, sinkholes and drains that local rules set.',
    'Before probing, have buried lines and pipes located; keep clear of traffic and of machinery at work, and mind the heat.',
  ];
}

/** Sentence where last time's points stay and new stops fill in. */
export const sayInfill = (lastHa: number, added: number, o: AdviceOptions): string =>
  `Last time one sample stood for ${sayArea(lastHa, o)}; keep those points and tighten where they leave most unknown, with ${added} new stops.`;

/** Sentence for last time's spacing. */
export function saySpacing(
  call: 'tighten' | 'keep' | 'relax',
  lastHa: number,
  advisedHa: number,
  wholeField: boolean,
  o: AdviceOptions,
): string {
  const last = `Last time one sample stood for ${sayArea(lastHa, o)}`;
  if (call === 'keep')
    return advisedHa > lastHa * 1.1
      ? `${last}; keeping that spacing is as good as going as wide as ${sayArea(advisedHa, o)}, which takes fewer samples.`
      : `${last}; keep that spacing.`;
  const to = wholeField ? 'one mixed sample of the whole field' : `about ${sayArea(advisedHa, o)} a sample`;
  return call === 'tighten'
    ? `${last}; tighten it to ${to}.`
    : `${last}; relax it to ${to}: more would not pay.`;
}
