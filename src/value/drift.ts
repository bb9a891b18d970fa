import type { WorkingTransform } from '../describe/index.ts';
import type { LeastLoss } from './expectedLoss.ts';
import type { RateCase } from './rateCase.ts';

/** How a block's test strays from what was expected of it between two samplings. */
export interface DriftModel {
  /** Unexplained wandering: standard deviation after a year, growing with the square root of time. */
  readonly wanderSd: number;
  /** What `wanderSd` is measured in: a share of the test value, or the test's unit. */
  readonly wanderIn: 'share' | 'unit';
  /** CV, block to block, of what the test moves per kg/ha of input beyond what keeps it. */
  readonly buildupCv: number;
  /** CV of what a block uses up in a year, independent from year to year. */
  readonly keepingYearlyCv: number;
  /** CV, block to block, of what is used up year after year: the better parts of a field always remove more. */
  readonly keepingLastingCv: number;
}

/** Test values between which the advised rate keeps the test: below it builds up, above it draws down. */
export interface KeepingBand {
  readonly from: number;
  readonly to: number;
}

/** Rates within this of keeping keep. */
const SAME_RATE = 1e-6;

/** The band of a case whose rate does not rise with the test; `from` 0 or `to` Infinity when nothing builds up or draws down. */
export function keepingBand(rateCase: RateCase): KeepingBand {
  const { annualRate, keepingKgHa } = rateCase;
  const slack = SAME_RATE * Math.max(1, keepingKgHa);
  const bounds = [...rateCase.bends, ...rateCase.classes.map((c) => c.below), rateCase.cap ?? 0];
  const top = 4 * Math.max(1, ...bounds.filter(Number.isFinite));
  const builds = (test: number) => annualRate(test) > keepingKgHa + slack;
  const doesNotDraw = (test: number) => annualRate(test) >= keepingKgHa - slack;
  return {
    from: lastWhere(builds, top) ?? 0,
    to: doesNotDraw(top) ? Infinity : (lastWhere(doesNotDraw, top) ?? 0),
  };
}

/** Greatest value from 0 to `top` at which a condition that holds below and not above still holds, by bisection. */
function lastWhere(holds: (test: number) => boolean, top: number): number | undefined {
  if (!holds(0)) return undefined;
  let [low, high] = [0, top];
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    if (holds(middle)) low = middle;
    else high = middle;
  }
  return low;
}

/** Change of the test in a year of the rate advised at `test`, in the test's unit; negative while drawing down. */
export const yearlyChange = ({ annualRate, keepingKgHa, kgHaPerUnit }: RateCase, test: number): number =>
  (annualRate(test) - keepingKgHa) / kgHaPerUnit;

/** Standard deviation of a year's wandering at a test value, in the test's unit. */
export const wanderingAt = ({ wanderSd, wanderIn }: DriftModel, test: number): number =>
  wanderIn === 'share' ? wanderSd * Math.max(0, test) : wanderSd;

/**
 * Change of the test meant by the plan over some years: the rate advised at `test` is kept, less what keeps, until the
 * test enters the band, and then it is kept there. In the test's unit, negative while drawing down.
 */
export function meantChange(rateCase: RateCase, band: KeepingBand, test: number, years: number): number {
  const perYear = yearlyChange(rateCase, test);
  return perYear > 0
    ? Math.min(perYear * years, Math.max(0, band.from - test))
    : Math.max(perYear * years, Math.min(0, band.to - test));
}

/**
 * Variance, in the test's unit squared, that `years` add to what a sampling left open about a block:
 * wandering as a random walk, s²t; removal, (c₁k)²t for what differs between years and (c₂kt)² for what differs between
 * blocks, with k the yearly removal in units of the test; and the response to input, (c₃·change)², large while the test
 * is being moved and none while it is kept. Sum of independent parts to first order; the model is this project's.
 * @param change cumulated change of the test meant by the plan over these years
 */
export function addedVariance(
  rateCase: Pick<RateCase, 'keepingKgHa' | 'kgHaPerUnit'>,
  drift: DriftModel,
  test: number,
  change: number,
  years: number,
): number {
  const keeping = rateCase.keepingKgHa / rateCase.kgHaPerUnit;
  return (
    (wanderingAt(drift, test) ** 2 + (drift.keepingYearlyCv * keeping) ** 2) * years +
    (drift.keepingLastingCv * keeping * years) ** 2 +
    (drift.buildupCv * change) ** 2
  );
}

/** A property whose tests age. */
export interface Ageing {
  readonly rateCase: RateCase;
  readonly band: KeepingBand;
  readonly working: Pick<WorkingTransform, 'forward' | 'inverse'>;
  readonly drift: DriftModel;
  /** Standard deviation of the field on the working scale: the span that slopes of the transform are taken over. */
  readonly fieldSd: number;
}

/**
 * Least loss at a block whose estimate is `age` years old, from the least loss at a fresh one. The plan has meanwhile moved the
 * test for `atYears` years: the loss is taken there, so that intervals of all lengths are compared at the same state of the field.
 * @param atYears years of the plan behind the field; @param settled whether the plan has been followed before this sampling, so
 * that only what it still moves from there on is unsure, or starts with it
 */
export function agedLeast(
  least: LeastLoss,
  ageing: Ageing,
  age: number,
  atYears: number,
  settled: boolean,
): LeastLoss {
  const { rateCase, band, working, drift } = ageing;
  return (middle, sd) => {
    const sampled = Math.max(0, working.inverse(middle));
    const moved = meantChange(rateCase, band, sampled, atYears);
    const test = sampled + moved;
    const y = moved === 0 ? middle : working.forward(test);
    const change = meantChange(rateCase, band, settled ? test : sampled, age);
    const added = addedVariance(rateCase, drift, test, change, age) / slopeAt(ageing, y) ** 2;
    return least(y, Math.sqrt(sd * sd + added));
  };
}

/** A transform by a table of normal scores can lie flat over ties: its slope counts for at least this share of the field's. */
const LEAST_SLOPE = 0.2;

/** Units of the test per unit of the working scale about y. */
function slopeAt({ working: { inverse }, fieldSd }: Ageing, y: number): number {
  const half = Math.max(fieldSd, 1e-6);
  const over = (h: number) => (inverse(y + h) - inverse(y - h)) / (2 * h);
  return Math.max(over(half / 8), LEAST_SLOPE * over(half), Number.MIN_VALUE);
}
