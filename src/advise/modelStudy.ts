import type { WorkingScale } from '../describe/index.ts';
import { leaveOneOut, pointSamples, type LeaveOneOut } from '../krige/index.ts';
import {
  ALL_CANDIDATES,
  chooseModel,
  experimentalVariogram,
  fitLeastSquares,
  fitUncertainty,
  prepareFit,
  sensibleLags,
  variogramOf,
  type Candidate,
  type Estimator,
  type FitUncertainty,
  type LeastSquaresFit,
  type ModelChoice,
  type ModelKind,
  type VariogramBin,
} from '../variogram/index.ts';
import type { FieldInput } from './fieldInput.ts';
import type { AdviceOptions } from './options.ts';
import { prepareSeries } from './series.ts';

/** The variogram models of one property compared, with the chosen one's uncertainty and its leave-one-out check. */
export interface ModelStudy {
  readonly id: string;
  readonly label: string;
  readonly unit: string;
  readonly scale: WorkingScale;
  readonly scaleWhy: string;
  readonly n: number;
  readonly bins: readonly VariogramBin[];
  readonly leastSquares: readonly LeastSquaresFit[];
  readonly choice: ModelChoice;
  readonly uncertainty: FitUncertainty;
  /** Of the chosen model, with its trend; near 1 the mean squared standardised error says its variances are honest. */
  readonly check: LeaveOneOut['summary'];
}

export interface ModelStudyOptions {
  /** Property ids; all measured ones by default. */
  readonly analytes?: readonly string[];
  readonly estimator?: Estimator;
  /** Lag classes' upper ends, m; by default from the points' spacing. */
  readonly boundariesM?: readonly number[];
  /** Direction in degrees clockwise from north, with its half-tolerance and greatest distance off the line. */
  readonly directionDeg?: number;
  readonly toleranceDeg?: number;
  readonly bandwidthM?: number;
  readonly candidates?: readonly Candidate[];
}

/** Fewer values leave nothing to compare models by. Judgement of this project. */
export const LEAST_FOR_MODELS = 20;
const LEAST_SQUARES: readonly ModelKind[] = ['spherical', 'exponential', 'gaussian'];

/** @returns a study of each property with enough values that vary, in file order */
export function studyModels(
  field: FieldInput,
  options: AdviceOptions,
  asked: ModelStudyOptions = {},
  progress: (share: number, doing: string) => void = () => undefined,
): readonly ModelStudy[] {
  const { tests } = field;
  if (!tests) return [];
  const aside = new Set(options.setAside);
  const chosen = tests.series.filter((s) => !asked.analytes || asked.analytes.includes(s.id));
  return chosen.flatMap((series, i) => {
    progress(i / chosen.length, series.label);
    const prepared = prepareSeries(
      series,
      tests.xy,
      field.answers,
      [],
      (place) => aside.has(`${series.id}:${tests.rows[place]}`),
      options.scales[series.id],
    );
    const { sample } = prepared;
    if (!sample || sample.z.length < LEAST_FOR_MODELS) return [];
    const { xy, z } = sample;
    const bins = experimentalVariogram(xy, z, {
      ...(asked.boundariesM ? { boundariesM: asked.boundariesM } : sensibleLags(xy)),
      estimator: asked.estimator,
      directionDeg: asked.directionDeg,
      toleranceDeg: asked.toleranceDeg,
      bandwidthM: asked.bandwidthM,
    });
    // The mean is the user's to fix; left to choose, it is one of the candidates.
    const candidates = (asked.candidates ?? ALL_CANDIDATES).filter(
      (c) => c !== 'linear trend' || options.mean === 'choose',
    );
    const mean = options.mean === 'linear' ? 'linear' : 'constant';
    const choice = chooseModel({ xy, z, trend: mean }, { candidates });
    if (!choice) return [];
    const fit = choice.chosen;
    const trend = fit.trendNames.length > 1 ? 'linear' : 'constant';
    const prepare = prepareFit({ xy, z, trend }, { restricted: fit.restricted });
    return [
      {
        id: series.id,
        label: series.label,
        unit: series.unit,
        scale: prepared.scale,
        scaleWhy: prepared.scaleWhy,
        n: z.length,
        bins,
        leastSquares: LEAST_SQUARES.flatMap((kind) => fitLeastSquares(bins, kind) ?? []),
        choice,
        uncertainty: fitUncertainty(prepare, fit),
        check: leaveOneOut(xy, z, pointSamples(variogramOf(fit)), { trend }).summary,
      },
    ];
  });
}
