import { median } from 'd3';
import { analytePriors } from '../prior/index.ts';
import { findAnalyte, type LabColumn } from '../read/index.ts';

/** What a column's level is held against, on the log scale. */
export interface Level {
  readonly from: 'earlier results' | 'usual levels';
  readonly median: number;
  /** Standard deviation of the log of this batch's median about it, were all units right and the batch endless. */
  readonly sdLn: number;
}

/** A unit that a column may be in though it was read in another. */
export interface UnitSlip {
  /** Unit the values would be in; of the earlier results for `whose` earlier. */
  readonly unit: string;
  readonly whose: 'this file' | 'earlier results';
  /** Value as read to value if it is so. */
  readonly factor: number;
  /** Median of the batch over the level's. */
  readonly ratio: number;
  /** Chance that there is a slip at all, given that ratio. */
  readonly probability: number;
  /** Other units of this file that would explain it about as well, the likelier first. */
  readonly alternatives: readonly string[];
}

/** Change of a field's median from one sampling to the next without any slip, as a standard deviation of logs: judgement of this project. */
const CHANGE_SD_LN = 0.1;
/** Chance beforehand that a column is in another unit than it was read in: judgement of this project. */
const CHANCE = { named: 0.03, unnamed: 0.1 } as const;
/** How usual each slip is among them; other units 0.2. Judgement of this project. */
const WEIGHTS: Readonly<Record<string, number>> = {
  ppm: 1,
  'lb/ac': 1,
  'ppm P2O5': 1,
  'ppm K2O': 1,
  'lb/ac P2O5': 0.5,
  'lb/ac K2O': 0.5,
  '%': 0.5,
  'meq/100 g': 0.5,
  'kg/ha': 0.3,
};
const OTHER_WEIGHT = 0.2;
/** Spread of logs within a field where too few values tell: a coefficient of variation near 40 %. Judgement of this project. */
export const USUAL_SD_LN = 0.4;
const FEW = 5;
/** Standard error of a median over that of a mean, normal values: √(π/2). */
const MEDIAN_COST = Math.sqrt(Math.PI / 2);
/** 90th percentile of the standard normal: published levels are 10th and 90th percentiles. */
const Z90 = 1.2815515655446004;
const PERCENT_TO_PPM = 1e4;
/**
 * Against usual levels alone only slips this large are looked for: a manured field has ten
 * times the usual phosphorus. Judgement of this project.
 */
const LARGE = 8;
/** Share of the best explanation's chance that another needs to be named beside it. */
const AS_WELL = 0.25;

/** The level an analyte is expected at: that of the field's earlier results, else the published or judged one of `prior`; undefined when nothing is known. */
export function expectedLevel(analyte: string, earlier: ArrayLike<number> | undefined): Level | undefined {
  const logs = logsOf(earlier ?? []);
  if (logs.length > 0)
    return {
      from: 'earlier results',
      median: Math.exp(median(logs) ?? 0),
      sdLn: Math.hypot(CHANGE_SD_LN, standardErrorLn(logs)),
    };
  const prior = Object.hasOwn(analytePriors, analyte) ? analytePriors[analyte].mean : undefined;
  if (!prior || !(prior.low > 0)) return undefined;
  return {
    from: 'usual levels',
    median: Math.sqrt(prior.low * prior.high),
    sdLn: Math.log(prior.high / prior.low) / (2 * Z90),
  };
}

/**
 * The likeliest unit slip of a column by Bayes' rule: the log of the batch's median over the expected level is normal about
 * 0 without a slip and about the log of the slip's factor with it. Undefined for pH, for units that don't differ, and
 * without positive values.
 */
export function likeliestSlip(
  column: LabColumn,
  values: readonly number[],
  level: Level,
): UnitSlip | undefined {
  const known = column.analyte === undefined ? undefined : findAnalyte(column.analyte);
  const logs = logsOf(values);
  if (!known || known.unit === 'pH' || logs.length === 0 || column.factor === undefined) return undefined;
  const lnRatio = (median(logs) ?? 0) - Math.log(level.median);
  const sd = Math.hypot(level.sdLn, standardErrorLn(logs));
  const usual = level.from === 'usual levels';
  const candidates = slipsOf(known.units, known.unit, column.factor, !usual).filter(
    (c) => !usual || sizeOf(c.factor) >= LARGE,
  );
  const weights = candidates.reduce((sum, c) => sum + c.weight, 0);
  const chance = column.unitNamed ? CHANCE.named : CHANCE.unnamed;
  const lnOdds = candidates.map(({ weight, factor }) => {
    const lnLikelihoodRatio = (lnRatio ** 2 - (lnRatio + Math.log(factor)) ** 2) / (2 * sd * sd);
    return Math.log(((weight / weights) * chance) / (1 - chance)) + lnLikelihoodRatio;
  });
  const best = lnOdds.indexOf(Math.max(...lnOdds));
  if (best < 0) return undefined;
  // All hypotheses are held against the best one, so that nothing overflows.
  const shares = lnOdds.map((o) => Math.exp(o - lnOdds[best]));
  const slips = shares.reduce((sum, share) => sum + share, 0);
  const { unit, whose, factor } = candidates[best];
  const alternatives = candidates
    .map((candidate, i) => ({ ...candidate, share: shares[i] }))
    .filter((c, i) => i !== best && c.whose === 'this file' && c.share >= AS_WELL)
    .sort((a, b) => b.share - a.share)
    .map((c) => c.unit);
  const probability = slips / (slips + Math.exp(-lnOdds[best]));
  return { unit, whose, factor, ratio: Math.exp(lnRatio), probability, alternatives };
}

/** How far a factor is from 1, either way. */
export const sizeOf = (factor: number): number => Math.max(factor, 1 / factor);

interface Candidate {
  readonly unit: string;
  readonly whose: UnitSlip['whose'];
  readonly factor: number;
  readonly weight: number;
}

/** Every unit that would change the values; and the same slip made with the earlier results. */
function slipsOf(
  units: Readonly<Record<string, number>>,
  insideUnit: string,
  columnFactor: number,
  withEarlier: boolean,
): readonly Candidate[] {
  const found: Candidate[] = [];
  const add = (unit: string, whose: UnitSlip['whose'], factor: number, weight: number) => {
    if (Math.abs(factor - 1) > 0.01 && !found.some((c) => Math.abs(c.factor / factor - 1) < 0.001))
      found.push({ unit, whose, factor, weight });
  };
  const all: Readonly<Record<string, number>> =
    insideUnit === 'mg/kg' ? { ...units, '%': PERCENT_TO_PPM } : units;
  for (const [unit, factor] of Object.entries(all))
    add(unit, 'this file', factor / columnFactor, WEIGHTS[unit] ?? OTHER_WEIGHT);
  if (withEarlier)
    for (const unit of ['lb/ac', 'ppm P2O5', 'ppm K2O'])
      if (unit in all) add(unit, 'earlier results', 1 / all[unit], WEIGHTS[unit] / 2);
  return found;
}

function logsOf(values: ArrayLike<number>): number[] {
  return Array.from(values)
    .filter((v) => v > 0)
    .map(Math.log);
}

function standardErrorLn(logs: readonly number[]): number {
  return (MEDIAN_COST * spreadLn(logs)) / Math.sqrt(logs.length);
}

/** Robust standard deviation of logs (1.4826 × median absolute deviation); the usual one for few values. */
export function spreadLn(logs: readonly number[]): number {
  if (logs.length < FEW) return USUAL_SD_LN;
  const middle = median(logs) ?? 0;
  return 1.4826 * (median(logs.map((v) => Math.abs(v - middle))) ?? 0);
}
