import { nearestPoints } from '../clean/nearest.ts';
import { metresToFeet } from '../units/index.ts';
import type { MoranTest } from './moran.ts';
import { proposeNestedSample, type NestedSample } from './nestedSample.ts';
import { moranPower, pointsToSee } from './structurePower.ts';

/** Ends and middle of an 80 % interval. */
export interface Interval80 {
  readonly low: number;
  readonly mid: number;
  readonly high: number;
}

export interface StructureEvidence {
  /** Points with a value. */
  readonly n: number;
  /** Undefined where it could not be had. */
  readonly moran: MoranTest | undefined;
  /** Of the belief after the data. */
  readonly nuggetShare: Interval80;
  readonly rangeM: Interval80;
  /** Typical distance between neighbours, m. */
  readonly neighbourSpacingM: number;
  /** Best log-likelihood of a structured model less that of pure nugget, where both were fitted. */
  readonly logLikelihoodGain?: number;
}

export interface StructureVerdict {
  readonly kind: 'structured' | 'none at this spacing' | 'too few to tell';
  /** What was found, with the figures. */
  readonly sentence: string;
  /** Chance that the points would have shown the pattern named in `sought`. */
  readonly power: number;
  readonly sought: { readonly rangeM: number; readonly nuggetShare: number };
  /** What to do next. */
  readonly next: string;
  /** The small sample that would tell more, where there is room for one. */
  readonly nestedSample?: NestedSample;
}

/** Fewer points are never called structured: one odd value can make the pattern. Judgement of this project. */
const LEAST_POINTS = 12;
/** The usual level of the test. */
const SIGNIFICANT = 0.05;
/** Half the χ²(2) quantile at 1 %: range and nugget share are what the structured model has more (Wilks 1938; conservative, since nugget share 1 is an end of its scale). */
const CLEAR_GAIN = 4.605;
/** A nugget share that may reach this leaves no pattern to speak of. Judgement of this project. */
const ALL_NUGGET = 0.9;
/** Chance of being seen from which not seeing a pattern counts as there being none (Cohen 1988). */
const ENOUGH_POWER = 0.8;
/** The weakest pattern worth a map at a spacing: half nugget (middle of the moderate class of Cambardella et al. 1994), three spacings across. Judgement of this project. */
const SOUGHT_NUGGET = 0.5;
const SOUGHT_SPACINGS = 3;

/**
 * Whether test points show a pattern that a grid like theirs can map.
 *
 * - structured: at least twelve points; Moran's p at or below 0.05, or a likelihood gain of 4.6 over pure nugget; and the upper
 *   end of the nugget share below 0.9;
 * - none at this spacing: neither sign, and the chance to see a pattern of half nugget that reaches three spacings (or the lower
 *   end of the range where that is longer) was 80 % or more (`moranPower`);
 * - too few to tell: otherwise.
 */
export function structureTest(evidence: StructureEvidence): StructureVerdict {
  const { n, moran, nuggetShare, rangeM, neighbourSpacingM, logLikelihoodGain = 0 } = evidence;
  const soughtRangeM = Math.max(SOUGHT_SPACINGS * neighbourSpacingM, rangeM.low);
  const pattern = { rangeInSpacings: soughtRangeM / neighbourSpacingM, nuggetShare: SOUGHT_NUGGET };
  const power = moranPower(n, pattern);
  const sign = (moran !== undefined && moran.p <= SIGNIFICANT) || logLikelihoodGain >= CLEAR_GAIN;
  const sure = nuggetShare.high < ALL_NUGGET;
  const nested = proposeNestedSample(neighbourSpacingM);
  const base = { power, sought: { rangeM: soughtRangeM, nuggetShare: SOUGHT_NUGGET } };
  const found = figures(moran, nuggetShare, logLikelihoodGain);
  const spacing = distance(neighbourSpacingM);
  const nestedNext = nested
    ? nested.sentence
    : 'The points are as close as composites can be; more points are what would tell.';

  if (n >= LEAST_POINTS && sign && sure) {
    // Webster & Oliver 2007, ch. 8: neighbours should be well within the range, half of it at most (from memory).
    const coarse = neighbourSpacingM > rangeM.mid / 2;
    return {
      ...base,
      kind: 'structured',
      sentence: `Near points are alike (${found}), so a grid can map it.`,
      next: coarse
        ? `Neighbours are ${spacing} apart, more than half the range of about ${distance(rangeM.mid)}: a closer grid maps more of it. ${nested?.sentence ?? ''}`.trim()
        : `Neighbours ${spacing} apart lie within half the range of about ${distance(rangeM.mid)}: what a closer or wider grid is worth is for the comparison to say.`,
      nestedSample: coarse ? nested : undefined,
    };
  }
  if (n >= LEAST_POINTS && !sign && moran !== undefined && power >= ENOUGH_POWER)
    return {
      ...base,
      kind: 'none at this spacing',
      sentence: `Neighbours ${spacing} apart are no more alike than any two points (${found}); ${n} points would have shown a pattern ${distance(soughtRangeM)} across, half of it nugget, ${percent(power)} of the time.`,
      next: `A grid of this spacing can’t map it: sample by zones or take one mixed sample. To learn whether there is a finer pattern: ${lowerFirst(nestedNext)}`,
      nestedSample: nested,
    };
  const needed = pointsToSee(pattern);
  const doubt =
    sign && n >= LEAST_POINTS
      ? `Moran’s test and the variogram disagree (${found})`
      : `${n} ${n === 1 ? 'point is' : 'points are'} too few to tell a pattern from chance (${found}): a pattern ${distance(soughtRangeM)} across, half of it nugget, would show ${percent(power)} of the time`;
  return {
    ...base,
    kind: 'too few to tell',
    sentence: `${doubt}.`,
    next:
      (needed !== undefined && needed > n
        ? `About ${needed} points at this spacing would tell, or fewer close pairs. `
        : '') + nestedNext,
    nestedSample: nested,
  };
}

/**
 * Typical distance between neighbours: the median distance to the nearest other point, m.
 * @param xy 2n metres
 * @returns undefined with fewer than two points
 */
export function neighbourSpacingM(xy: Float64Array): number | undefined {
  const { k, distanceM } = nearestPoints(xy, 1);
  if (k === 0) return undefined;
  const sorted = distanceM.slice().sort();
  const half = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
}

function figures(moran: MoranTest | undefined, nugget: Interval80, gain: number): string {
  const parts = [
    moran ? `Moran’s I ${moran.i.toFixed(2)}, p ${moran.p.toFixed(3)} by permutation` : 'no Moran’s I',
    `nugget share ${percent(nugget.low)} to ${percent(nugget.high)}`,
  ];
  if (gain >= CLEAR_GAIN) parts.push(`log-likelihood ${gain.toFixed(1)} above pure nugget`);
  return parts.join('; ');
}

const percent = (share: number): string => `${Math.round(100 * share)} %`;
const round = (v: number): number => Number(v.toPrecision(2));
const distance = (m: number): string => `${round(m)} m (${round(metresToFeet(m))} ft)`;
const lowerFirst = (text: string): string => text.charAt(0).toLowerCase() + text.slice(1);
