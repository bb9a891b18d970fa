import { normalQuantile, type WorkingTransform } from '../describe/index.ts';
import { agedLeast, keepingBand, wanderingAt, yearlyChange, type Ageing, type DriftModel } from './drift.ts';
import { GUIDANCE_LONGEST_YEARS } from './driftDefaults.ts';
import { expectedLossBy, type JointAccuracy, type LeastLoss } from './expectedLoss.ts';
import type { RateCase } from './rateCase.ts';

/** Longest interval looked at, years. */
export const LONGEST_LOOKED_AT = 6;

/** Intervals within this of the cheapest, money per ha and year, cost about the same. Judgement of this project. */
export const SAME_COST_PER_HA_YEAR = 1.25;

/**
 * A field is being corrected while on more than this share of it the plan raises the test by more than it wanders in a year.
 * Judgement of this project.
 */
export const CORRECTING_ABOVE_SHARE = 0.25;

/** Longest time a correction is followed, years. */
export const LONGEST_CORRECTION = 12;

export interface IntervalOption {
  readonly years: number;
  /** Money per ha and year. */
  readonly samplingPerHa: number;
  readonly lossPerHa: number;
  readonly totalPerHa: number;
}

/** What keeps an interval from being longer, besides its cost. */
export type IntervalLimit = 'guidance' | 'end of correction';

/** Every interval looked at, and the one advised. */
export interface IntervalChoice {
  /** From 1 to {@link LONGEST_LOOKED_AT} years. */
  readonly options: readonly IntervalOption[];
  /** Longest allowed, and by what. */
  readonly atMostYears: number;
  readonly limitedBy: IntervalLimit;
  /** Cheapest of those allowed. */
  readonly cheapestYears: number;
  /** Allowed intervals that cost about the same as the cheapest. */
  readonly sameCostYears: readonly number[];
  /** The longest of these. */
  readonly advisedYears: number;
}

export interface IntervalInput {
  /** One for each decision that the sampling serves; their losses add up. */
  readonly decisions: readonly {
    /** Expected loss per ha and year in the `age`th year after a sampling, when rates are kept `everyYears`. */
    readonly lossAtAge: (age: number, everyYears: number) => number;
  }[];
  /** Of one sampling. */
  readonly samplingCostPerHa: number;
  /** Default {@link GUIDANCE_LONGEST_YEARS}. */
  readonly atMostYears?: number;
  /** Default guidance. */
  readonly limitedBy?: IntervalLimit;
  /** Default {@link SAME_COST_PER_HA_YEAR}. */
  readonly sameCostPerHaYear?: number;
}

/**
 * How often to sample: the yearly cost of every interval T is the sampling's over T, and the mean over the ages 1 to T of what
 * rates by an estimate of that age lose. Advised is the longest allowed one that costs about the same as the cheapest:
 * a dearer sampling never makes it shorter.
 * @throws RangeError when the cost is negative or not finite, or less than a year is allowed
 */
export function resamplingInterval(input: IntervalInput): IntervalChoice {
  const { decisions, samplingCostPerHa } = input;
  const atMostYears = Math.min(LONGEST_LOOKED_AT, Math.floor(input.atMostYears ?? GUIDANCE_LONGEST_YEARS));
  const sameCost = input.sameCostPerHaYear ?? SAME_COST_PER_HA_YEAR;
  if (!(samplingCostPerHa >= 0 && samplingCostPerHa < Infinity))
    throw new RangeError(`A sampling cannot cost ${samplingCostPerHa} per ha.`);
  if (!(atMostYears >= 1))
    throw new RangeError(`The longest interval must be at least 1 year, not ${atMostYears}.`);
  const options = yearsTo(LONGEST_LOOKED_AT).map((years): IntervalOption => {
    const losses = yearsTo(years).flatMap((age) => decisions.map((d) => d.lossAtAge(age, years)));
    const lossPerHa = losses.reduce((s, v) => s + v, 0) / years;
    const samplingPerHa = samplingCostPerHa / years;
    return { years, samplingPerHa, lossPerHa, totalPerHa: samplingPerHa + lossPerHa };
  });
  const allowed = options.slice(0, atMostYears);
  const cheapest = allowed.reduce((a, b) => (b.totalPerHa <= a.totalPerHa ? b : a));
  const sameCostYears = allowed
    .filter((o) => o.totalPerHa <= cheapest.totalPerHa + sameCost)
    .map((o) => o.years);
  return {
    options,
    atMostYears,
    limitedBy: input.limitedBy ?? 'guidance',
    cheapestYears: cheapest.years,
    sameCostYears,
    advisedYears: Math.max(...sameCostYears),
  };
}

const yearsTo = (last: number) => Array.from({ length: last }, (_, i) => i + 1);

/** A property that rates are set by, and what is believed of it and of the sampling. */
export interface SampledProperty {
  readonly rateCase: RateCase;
  readonly working: Pick<WorkingTransform, 'forward' | 'inverse'>;
  readonly drift: DriftModel;
  /** Least loss of one rate that is kept so many years (asked for 1 to 6), for truths on the working scale. */
  readonly leastFor: (years: number) => LeastLoss;
  /**
   * Share of the fresh map's squared error that is drawn anew at every sampling: what cores and laboratory err, or nearly all
   * when stops are moved each time. Default 0: the same stops, whose gaps dominate.
   */
  readonly renewedShare?: number;
  /** What is believable, equally so: mean of the field and accuracy of the design, what is not known of the mean within. */
  readonly members: readonly SampledMember[];
}

export interface SampledMember {
  /** On the working scale. */
  readonly mean: number;
  readonly accuracy: JointAccuracy;
}

/** How far a field is from where its rates would keep it, by one property. */
export interface CorrectionState {
  readonly analyte: string;
  /** Share of the field on which the plan raises the test by more than it wanders in a year. */
  readonly shareBelow: number;
  /** Years of the advised rates after which that share is at most {@link CORRECTING_ABOVE_SHARE}; 0 when it is already. */
  readonly years: number;
}

/** Places that stand for the field, at equal probability. */
const PLACES = 64;
const deviates = Float64Array.from({ length: PLACES }, (_, i) => normalQuantile((i + 0.5) / PLACES));

/** The share of a field below where its rates would keep it, and the years they need to bring it there. */
export function correctionState({ rateCase, working, drift, members }: SampledProperty): CorrectionState {
  const band = keepingBand(rateCase);
  const wait = new Float64Array(members.length * PLACES);
  members.forEach(({ mean, accuracy }, m) => {
    const sd = Math.sqrt(Math.max(0, accuracy.truthVariance));
    for (let i = 0; i < PLACES; i++) {
      const test = Math.max(0, working.inverse(mean + sd * deviates[i]));
      const perYear = yearlyChange(rateCase, test);
      const short = band.from - test;
      if (perYear > 0 && short > wanderingAt(drift, test)) wait[m * PLACES + i] = short / perYear;
    }
  });
  wait.sort();
  const shareBelow = wait.length > 0 ? wait.filter((w) => w > 0).length / wait.length : 0;
  // At most the stated share waits longer than this one.
  const last = wait[Math.max(0, Math.ceil(wait.length * (1 - CORRECTING_ABOVE_SHARE)) - 1)] ?? 0;
  return { analyte: rateCase.analyte, shareBelow, years: Math.min(LONGEST_CORRECTION, last) };
}

/** Yearly or so while correcting, less often afterwards. */
export interface ResamplingPlan {
  readonly states: readonly CorrectionState[];
  /** Whole years until no property is being corrected any more; 0 when none is. {@link LONGEST_CORRECTION} may mean more. */
  readonly correctingYears: number;
  /** While correcting; undefined when nothing is. */
  readonly whileCorrecting?: IntervalChoice;
  readonly after: IntervalChoice;
  /** The interval to the next sampling. */
  readonly nextYears: number;
}

/** What a plan is worked out with; the fresh map's errors are charged as by rates kept `freshYears` (default the longest allowed). */
export interface PlanInput extends Omit<IntervalInput, 'decisions' | 'limitedBy'> {
  readonly freshYears?: number;
}

/**
 * How often to sample a field now and once its levels are right. While correcting, the loss is taken halfway through the
 * correction and the test's answer to what is spread is unsure; afterwards where the plan has brought the field. The interval
 * while correcting ends with the correction at the latest, since rates change there.
 */
export function resamplingPlan(properties: readonly SampledProperty[], input: PlanInput): ResamplingPlan {
  const states = properties.map(correctionState);
  const correctingYears = Math.max(0, Math.ceil(Math.max(0, ...states.map((s) => s.years)) - 1e-6));
  const longest = input.atMostYears ?? GUIDANCE_LONGEST_YEARS;
  const decided = (atYears: number, settled: boolean) =>
    properties.map((p) => ({ lossAtAge: lossAtAge(p, atYears, settled, input.freshYears ?? longest) }));
  const after = resamplingInterval({ ...input, decisions: decided(correctingYears, true) });
  if (correctingYears === 0) return { states, correctingYears, after, nextYears: after.advisedYears };
  const ends = correctingYears < longest;
  const whileCorrecting = resamplingInterval({
    ...input,
    atMostYears: ends ? correctingYears : longest,
    limitedBy: ends ? 'end of correction' : 'guidance',
    decisions: decided(correctingYears / 2, false),
  });
  return { states, correctingYears, whileCorrecting, after, nextYears: whileCorrecting.advisedYears };
}

/**
 * Expected loss per ha and year by the age of the estimates, mean over the members: that of the fresh map, and what ageing adds.
 *
 * What ageing adds is `expectedLossBy` with the truth's variance grown by {@link agedLeast}, less the same without; the estimate
 * knows nothing of the growth, so that its covariance with the truth stays. Both are taken as by rates kept as long as the
 * interval. The fresh map's own errors are not, but for `renewedShare`: between the stops they are the same at every sampling,
 * and sampling more often does not mend them. Left out, and a little in favour of shorter intervals: that the last
 * test still tells something at the next.
 * @param atYears, @param settled as for {@link agedLeast}; @param freshYears that the fresh map's rates count as kept
 */
export function lossAtAge(
  { rateCase, working, drift, leastFor, members, renewedShare = 0 }: SampledProperty,
  atYears: number,
  settled: boolean,
  freshYears: number,
): (age: number, everyYears: number) => number {
  const band = keepingBand(rateCase);
  const ageings = members.map(({ accuracy }): Ageing => ({
    rateCase,
    band,
    working,
    drift,
    fieldSd: Math.sqrt(Math.max(0, accuracy.truthVariance)),
  }));
  const meanLoss = (least: LeastLoss, age: number) =>
    members.reduce(
      (sum, { mean, accuracy }, i) =>
        sum + expectedLossBy(agedLeast(least, ageings[i], age, atYears, settled), mean, accuracy),
      0,
    ) / Math.max(1, members.length);
  const fresh = remembered((years) => meanLoss(leastFor(years), 0));
  return (age, everyYears) =>
    meanLoss(leastFor(everyYears), age) + (1 - renewedShare) * (fresh(freshYears) - fresh(everyYears));
}

function remembered(of: (years: number) => number): (years: number) => number {
  const known = new Map<number, number>();
  return (years) => {
    const value = known.get(years) ?? of(years);
    known.set(years, value);
    return value;
  };
}

const sayYears = (years: number) => `${years} year${years === 1 ? '' : 's'}`;

/**
 * The interval in words: "Sample again after 3 years: yearly would cost 2.10 USD per acre more a year than it saves;
 * waiting 4 years would lose 0.80 USD per acre more a year than it saves."
 * @param money a sum per ha as the reader has it, such as "2.10 USD per acre"
 */
export function sayInterval(choice: IntervalChoice, money: (perHa: number) => string): string {
  const { options, advisedYears: advised, sameCostYears, atMostYears } = choice;
  const total = (years: number) => options[years - 1].totalPerHa;
  const said: string[] = [];
  if (advised > 1) {
    const more = total(1) - total(advised);
    said.push(
      more > 0
        ? `yearly would cost ${money(more)} more a year than it saves`
        : `yearly would gain only ${money(-more)} a year`,
    );
  }
  if (advised < options.length) {
    const next = advised + 1;
    const more = total(next) - total(advised);
    if (more > 0) said.push(`waiting ${sayYears(next)} would lose ${money(more)} more a year than it saves`);
    else
      said.push(
        choice.limitedBy === 'guidance'
          ? `waiting ${sayYears(next)} would save another ${money(-more)} a year, but guidance asks for a test at least every ${sayYears(atMostYears)}`
          : `waiting ${sayYears(next)} would save another ${money(-more)} a year, but the rates change when the correction ends`,
      );
  }
  const shortest = Math.min(...sameCostYears);
  const same =
    shortest < advised ? ` From ${shortest} to ${sayYears(advised)} the cost is about the same.` : '';
  return `Sample again after ${sayYears(advised)}: ${said.join('; ')}.${same}`;
}

/** The plan in words: the share being corrected and for how long, the next interval, and the one afterwards. */
export function sayPlan(
  plan: ResamplingPlan,
  money: (perHa: number) => string,
  labelOf: (analyte: string) => string = (analyte) => analyte,
): string {
  const { whileCorrecting, correctingYears, after } = plan;
  if (!whileCorrecting) return sayInterval(after, money);
  const shares = plan.states
    .filter((s) => s.years > 0)
    .map((s, i) => {
      const share = `${labelOf(s.analyte)} on ${Math.round(100 * s.shareBelow)} %`;
      return i === 0 ? `${share} of the field` : share;
    });
  const long =
    correctingYears >= LONGEST_CORRECTION ? `${LONGEST_CORRECTION} years or more` : sayYears(correctingYears);
  const every = (years: number) => (years === 1 ? 'every year' : `every ${years} years`);
  const [now, later] = [whileCorrecting.advisedYears, after.advisedYears];
  const then =
    now === later
      ? `Afterwards it is ${every(later)} as well.`
      : `That is ${every(now)} while correcting, then ${every(later)}.`;
  return `The advised rates are still raising ${shares.join(', ')}, which takes ${long}. ${sayInterval(whileCorrecting, money)} ${then}`;
}
