import {
  chooseWorkingScale,
  moments,
  normalScore,
  workingTransform,
  type Moments,
  type WorkingScale,
  type WorkingTransform,
} from '../describe/index.ts';
import { makePrior, priorOf, type Answers, type Prior, type RangeHint, type Sample } from '../prior/index.ts';
import type { TestSeries } from './fieldInput.ts';

/** Fewest values an update of the belief is tried with. */
export const LEAST_VALUES = 3;

/** One property made ready to be studied: its values, the scale they are worked on, and the belief before them. */
export interface PreparedSeries {
  readonly id: string;
  readonly label: string;
  readonly unit: string;
  readonly extractant?: string;
  readonly belowDetection: number;
  /** Indices of the test places with a value in use. */
  readonly kept: readonly number[];
  readonly values: readonly number[];
  readonly summary?: Moments;
  readonly scale: WorkingScale;
  readonly scaleWhy: string;
  readonly working: WorkingTransform;
  /** The values on the working scale, when they can update the belief. */
  readonly sample?: Sample;
  readonly prior: Prior;
}

/**
 * @param xy of all test places, 2n metres
 * @param setAside whether the value at a place was set aside by the user
 * @param asked scale asked for by the user
 */
export function prepareSeries(
  series: Pick<TestSeries, 'id' | 'label' | 'unit'> & Partial<TestSeries>,
  xy: Float64Array | undefined,
  answers: Answers,
  hints: readonly RangeHint[],
  setAside: (place: number) => boolean = () => false,
  asked?: WorkingScale,
): PreparedSeries {
  const kept: number[] = [];
  if (series.values && xy)
    series.values.forEach((v, i) => {
      if (Number.isFinite(v) && !setAside(i)) kept.push(i);
    });
  const values = kept.map((i) => series.values![i]);
  const summary = values.length > 0 ? moments(values) : undefined;
  const varies =
    summary !== undefined && summary.max - summary.min > 1e-9 * Math.max(1, Math.abs(summary.mean));
  const usable = varies && values.length >= LEAST_VALUES;
  // Values that cannot update the belief have no say in its scale either.
  const chosen = chooseWorkingScale(usable ? values : [], priorOf(series.id).usualScale, asked);
  const scores = chosen.scale === 'normalScore' ? normalScore(values) : undefined;
  const working = workingTransform(scores ?? (chosen.scale as Exclude<WorkingScale, 'normalScore'>));
  const sample: Sample | undefined = usable
    ? {
        xy: Float64Array.from(kept.flatMap((i) => [xy![2 * i], xy![2 * i + 1]])),
        z: Float64Array.from(values, working.forward),
      }
    : undefined;
  const seen =
    usable && summary.mean > 0
      ? {
          mean: summary.mean,
          scores: scores && {
            unitsPerScore: Math.max(scores.inverse(0.5) - scores.inverse(-0.5), 1e-9 * summary.mean),
            cv: summary.sd / summary.mean,
          },
        }
      : undefined;
  return {
    id: series.id,
    label: series.label,
    unit: series.unit,
    extractant: series.extractant,
    belowDetection: series.belowDetection ?? 0,
    kept,
    values,
    summary,
    scale: chosen.scale,
    scaleWhy: chosen.refused ? `${chosen.refused} ${chosen.why}` : chosen.why,
    working,
    sample,
    prior: makePrior(series.id, chosen.scale, answers, hints, seen),
  };
}
