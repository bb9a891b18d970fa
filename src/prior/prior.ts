import { logSdOfCv, type Scale } from '../describe/index.ts';
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
  readonly restsOn: readonly string[];
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
 * @param meanSeen mean of the test points, where there are any: laboratory error is taken at that level
 */
export function makePrior(
  analyteId: string,
  scale: Scale,
  answers: Answers,
  hints: readonly RangeHint[] = [],
  meanSeen?: number,
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
      meanSeen ?? Math.sqrt(level.low * level.high),
    ),
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

/** Variance on the working scale for a CV and a level. */
export function sillOfCv(cv: number, scale: Scale, mean: number): number {
  return scale === 'log' ? logSdOfCv(cv) ** 2 : (cv * mean) ** 2;
}

function labVarianceOn(scale: Scale, usual: Scale, labSd: number, level: number): number {
  if (scale === usual) return labSd ** 2;
  return scale === 'log' ? (labSd / level) ** 2 : (labSd * level) ** 2;
}

const percent = (fraction: number) => `${Math.round(fraction * 100)} %`;
