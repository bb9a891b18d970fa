import type { FlatPositions } from '../field/geometry.ts';
import type { Problem } from '../read/problem.ts';
import { cellGrid } from './cellGrid.ts';
import { medianAndSdInPlace } from './robust.ts';
import { spreadIndex } from './spread.ts';

/** The screens' limits. The order of the screens follows Sudduth & Drummond 2007; the numbers are judgement of this project unless said. */
export interface CleanYieldOptions {
  readonly file?: string;
  /** Ground speed of each point, any unit; NaN where missing. */
  readonly speeds?: Float64Array;
  /** First screen: robust standard deviations from the median. */
  readonly preScreenSd?: number;
  /** Second screen: standard deviations from the mean (3: common practice, no source). */
  readonly globalSd?: number;
  /** Local screen: neighbours within this distance, m. */
  readonly neighbourM?: number;
  /** Local screen: robust standard deviations from the neighbours' median. */
  readonly localSd?: number;
}

/** One screen and what it took away. */
export interface CleaningStep {
  readonly name:
    'not positive' | 'speed' | 'far from the median' | 'far from the mean' | 'unlike its neighbours';
  readonly dropped: number;
}

export interface CleanedYield {
  /** Indices of the points kept, rising. */
  readonly kept: Uint32Array;
  readonly steps: readonly CleaningStep[];
  readonly notes: readonly Problem[];
}

/** Fewer neighbours than this say nothing of a point. */
const LEAST_NEIGHBOURS = 5;
/** More than these are thinned: a median of two hundred is as good, and points heaped at one place stay cheap. */
const MOST_NEIGHBOURS = 200;
/** A local spread below this share of the field's is taken as this share, so that even ground isn't combed bare. */
const LEAST_LOCAL_SHARE = 0.25;
/** Above this share dropped the user is told. */
const NOTABLE_SHARE = 0.3;

/**
 * Cleans yield-monitor points in published steps, thinly: no yield; standing or racing; far from the field's median,
 * then from its mean; unlike the neighbours. Delays and swath overlaps are not corrected, since only the pattern
 * over tens of metres is used. (Sudduth & Drummond 2007, Agronomy Journal 99: 1471-1482, from memory.)
 *
 * @param localXY x0, y0, x1, y1, … in metres
 * @param yields one for each point, any unit
 */
export function cleanYield(
  localXY: FlatPositions,
  yields: Float64Array,
  options: CleanYieldOptions = {},
): CleanedYield {
  const { file = '', speeds, preScreenSd = 5, globalSd = 3, neighbourM = 30, localSd = 3 } = options;
  const steps: CleaningStep[] = [];
  let kept = Array.from(yields.keys());
  const screen = (name: CleaningStep['name'], passes: (index: number) => boolean): void => {
    const before = kept.length;
    kept = kept.filter(passes);
    steps.push({ name, dropped: before - kept.length });
  };
  screen('not positive', (i) => Number.isFinite(yields[i]) && yields[i] > 0);
  if (speeds) screen('speed', speedTest(speeds, kept, preScreenSd));
  screen('far from the median', withinMedian(yields, kept, preScreenSd));
  screen('far from the mean', withinMean(yields, kept, globalSd));
  const { median, sd } = robustOf(yields, kept);
  const leastSd = Math.max(LEAST_LOCAL_SHARE * sd, 1e-9 * Math.abs(median));
  screen('unlike its neighbours', likeNeighbours(localXY, yields, kept, neighbourM, localSd, leastSd));
  return { kept: Uint32Array.from(kept), steps, notes: notesOn(file, yields.length, kept.length, steps) };
}

function robustOf(values: Float64Array, kept: readonly number[]): { median: number; sd: number } {
  return kept.length === 0
    ? { median: NaN, sd: NaN }
    : medianAndSdInPlace(
        Float64Array.from(kept, (i) => values[i]),
        kept.length,
      );
}

/** Standing points have no yield; points at a missing speed pass. A field driven at one speed has no spread to judge by. */
function speedTest(speeds: Float64Array, kept: readonly number[], limit: number): (i: number) => boolean {
  const moving = kept.filter((i) => speeds[i] > 0);
  const { median, sd } = robustOf(speeds, moving);
  return (i) =>
    Number.isNaN(speeds[i]) || (speeds[i] > 0 && (!(sd > 0) || Math.abs(speeds[i] - median) <= limit * sd));
}

function withinMedian(yields: Float64Array, kept: readonly number[], limit: number): (i: number) => boolean {
  const { median, sd } = robustOf(yields, kept);
  return (i) => !(sd > 0) || Math.abs(yields[i] - median) <= limit * sd;
}

function withinMean(yields: Float64Array, kept: readonly number[], limit: number): (i: number) => boolean {
  const mean = kept.reduce((sum, i) => sum + yields[i], 0) / kept.length;
  const squares = kept.reduce((sum, i) => sum + (yields[i] - mean) ** 2, 0);
  const sd = Math.sqrt(squares / Math.max(1, kept.length - 1));
  return (i) => !(sd > 0) || Math.abs(yields[i] - mean) <= limit * sd;
}

function likeNeighbours(
  xy: FlatPositions,
  yields: Float64Array,
  kept: readonly number[],
  radiusM: number,
  limit: number,
  leastSd: number,
): (i: number) => boolean {
  const grid = cellGrid(xy, kept, radiusM);
  const candidates: number[] = [];
  const values = new Float64Array(MOST_NEIGHBOURS);
  return (i) => {
    const [x, y] = [xy[2 * i], xy[2 * i + 1]];
    candidates.length = 0;
    grid.near(x, y, (j) => {
      if (j !== i && (xy[2 * j] - x) ** 2 + (xy[2 * j + 1] - y) ** 2 <= radiusM * radiusM) candidates.push(j);
    });
    if (candidates.length < LEAST_NEIGHBOURS) return true;
    const n = Math.min(candidates.length, MOST_NEIGHBOURS);
    for (let k = 0; k < n; k++) values[k] = yields[candidates[spreadIndex(k, n, candidates.length)]];
    const { median, sd } = medianAndSdInPlace(values, n);
    return Math.abs(yields[i] - median) <= limit * Math.max(sd, leastSd);
  };
}

function notesOn(file: string, given: number, left: number, steps: readonly CleaningStep[]): Problem[] {
  const notes: Problem[] = steps
    .filter((s) => s.dropped > 0)
    .map((s) => ({
      file,
      problem: `${s.dropped} of ${given} yield points were set aside: ${s.name}.`,
      remedy: 'Nothing to do; the pattern rests on the others.',
    }));
  if (given > 0 && (given - left) / given > NOTABLE_SHARE)
    notes.push({
      file,
      problem: `Cleaning took ${Math.round((100 * (given - left)) / given)} % of the yield points.`,
      remedy: 'Check that the file holds one crop of one year in this field.',
    });
  return notes;
}
