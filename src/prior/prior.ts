import { cvOfLogSd, logSdOfCv, type Scale, type WorkingScale } from '../describe/index.ts';
import { levelMeans, shiftsFor } from './shifts.ts';
import { nuggetSharePrior, priorOf, type Spread } from './published.ts';
import type { Answers } from './questions.ts';

/** A normal distribution of a transformed parameter. */
export interface Normal {
  readonly mean: number;
  readonly sd: number;
}

/** What is believed of one property of one field before its data: independent normals of the parameters below. */
export interface Prior {
  readonly logCv: Normal;
  readonly logRangeM: Normal;
  readonly logitNugget: Normal;
  /** Of the field mean: its logarithm on the log scale, itself on the raw scale. */
  readonly mean: Normal;
  /** Laboratory and bag variance on the working scale. */
  readonly labVariance: number;
  /** On normal scores: the coefficient of variation that a variance of 1 stands for. */
  readonly cvAtUnitSill?: number;
  readonly restsOn: readonly string[];
}

/** What the test points show of the level, for laboratory error and normal scores. */
export interface Seen {
  readonly mean: number;
  /** On normal scores: measured units per unit of the score about the median, and the coefficient of variation. */
  readonly scores?: { readonly unitsPerScore: number; readonly cv: number };
}

/** A range found in another layer, with the weight it is given. */
export interface RangeHint {
  readonly effectiveRangeM: number;
  /** Standard deviation, in natural logarithms, of a nutrient's range about this one. */
  readonly logSd: number;
  readonly from: string;
}

/** 90th percentile of the standard normal: a spread's ends are its 10th and 90th. */
const Z90 = 1.2815515655446004;
const logit = (p: number) => Math.log(p / (1 - p));
const normalOf = (low: number, high: number): Normal => ({
  mean: (low + high) / 2,
  sd: (high - low) / (2 * Z90),
});
const logNormalOf = (s: Spread): Normal => normalOf(Math.log(s.low), Math.log(s.high));

/**
 * The prior of one property: published spreads, shifted by the answers, its range drawn towards what a dense
 * layer shows (precision-weighted mean of two normals).
 * @param seen what the test points show, where there are any: laboratory error is taken at that level
 */
export function makePrior(
  analyteId: string,
  scale: WorkingScale,
  answers: Answers,
  hints: readonly RangeHint[] = [],
  seen?: Seen,
): Prior {
  const published = priorOf(analyteId);
  const applied = shiftsFor(analyteId, answers);
  const cvFactor = applied.reduce((f, s) => f * s.cvFactor, 1);
  const rangeFactor = applied.reduce((f, s) => f * s.rangeFactor, 1);
  const cv = logNormalOf(published.cv);
  let range = logNormalOf(published.rangeM);
  range = { mean: range.mean + Math.log(rangeFactor), sd: range.sd };
  for (const hint of hints) {
    const [a, b] = [1 / range.sd ** 2, 1 / hint.logSd ** 2];
    range = {
      mean: (a * range.mean + b * Math.log(hint.effectiveRangeM)) / (a + b),
      sd: Math.sqrt(1 / (a + b)),
    };
  }
  const level =
    analyteId === 'P' && answers.phosphorus
      ? levelMeans.P[answers.phosphorus]
      : analyteId === 'K' && answers.potassium
        ? levelMeans.K[answers.potassium]
        : published.mean;
  const labMid = (published.labSd.low + published.labSd.high) / 2;
  return {
    logCv: { mean: cv.mean + Math.log(cvFactor), sd: cv.sd },
    logRangeM: range,
    logitNugget: normalOf(logit(nuggetSharePrior.low), logit(nuggetSharePrior.high)),
    mean: scale === 'log' ? logNormalOf(level) : normalOf(level.low, level.high),
    labVariance: labVarianceOn(
      scale,
      published.usualScale,
      labMid,
      seen?.mean ?? Math.sqrt(level.low * level.high),
      seen?.scores?.unitsPerScore,
    ),
    cvAtUnitSill: seen?.scores?.cv,
    restsOn: [
      `CV ${percent(published.cv.low)} to ${percent(published.cv.high)}: ${published.cv.source}.`,
      `Range ${published.rangeM.low} to ${published.rangeM.high} m: ${published.rangeM.source}.`,
      `Nugget share ${percent(nuggetSharePrior.low)} to ${percent(nuggetSharePrior.high)}: ${nuggetSharePrior.source}.`,
      `Field mean ${level.low} to ${level.high}: ${level.source}.`,
      ...applied
        .filter((s) => s.cvFactor !== 1 || s.rangeFactor !== 1)
        .map((s) => `CV × ${s.cvFactor}, range × ${s.rangeFactor}, since ${s.because} (${s.source}).`),
      ...hints.map(
        (h) =>
          `Range drawn towards ${h.effectiveRangeM.toFixed(0)} m, seen in ${h.from}, with a standard deviation of ${h.logSd} in logarithms (${'judgement of this project'}: it is not the nutrient itself).`,
      ),
    ],
  };
}

/**
 * Variance on the working scale for a CV and a level. On normal scores it is (cv/cv₁)², cv₁ the CV of the measured values,
 * whose scores have a variance of 1: exact at cv₁, and proportional about it.
 */
export function sillOfCv(cv: number, scale: WorkingScale, mean: number, cvAtUnitSill = 1): number {
  if (scale === 'log') return logSdOfCv(cv) ** 2;
  return scale === 'raw' ? (cv * mean) ** 2 : (cv / cvAtUnitSill) ** 2;
}

/** The coefficient of variation of a variance on the working scale: the inverse of {@link sillOfCv}. */
export function cvOfSill(sill: number, scale: WorkingScale, mean: number, cvAtUnitSill = 1): number {
  if (scale === 'log') return cvOfLogSd(Math.sqrt(sill));
  return scale === 'raw' ? Math.sqrt(sill) / Math.abs(mean) : cvAtUnitSill * Math.sqrt(sill);
}

function labVarianceOn(
  scale: WorkingScale,
  usual: Scale,
  labSd: number,
  level: number,
  unitsPerScore = 1,
): number {
  const inUnits = usual === 'log' ? labSd * level : labSd;
  if (scale === 'normalScore') return (inUnits / unitsPerScore) ** 2;
  return scale === 'log' ? (inUnits / level) ** 2 : inUnits ** 2;
}

const percent = (fraction: number) => `${Math.round(fraction * 100)} %`;
