import { normalQuantile } from '../describe/index.ts';
import { prepareFit, type FitData, type ModelFit, type PreparedFit } from './fitModel.ts';
import {
  MOST_LOGIT,
  fromWorking,
  logistic,
  logit,
  toWorking,
  workingNames,
  type ModelSpec,
  type WorkingName,
} from './modelSpec.ts';
import { inverseOfPositive, observedInformation } from './observedInformation.ts';
import { bestOthers, profileInterval } from './profileInterval.ts';
import { profiledSill, trendLogLikelihood } from './trend.ts';
import type { GramOptions } from './whitenedGram.ts';

/** An interval; an open end is where the search stopped with the likelihood still high: "at least", "at most". */
export interface ParameterInterval {
  readonly low: number;
  readonly high: number;
  readonly lowOpen?: boolean;
  readonly highOpen?: boolean;
}

/** A parameter on its natural scale. */
export type NaturalName =
  | 'effective range, m'
  | 'nugget share'
  | 'sill'
  | 'smoothness'
  | 'long effective range, m'
  | 'long share'
  | 'anisotropy ratio'
  | 'direction, deg';

export interface ParameterUncertainty {
  readonly name: NaturalName;
  readonly estimate: number;
  /** By the delta method from the observed information; absent where that could not be trusted. */
  readonly standardError?: number;
  readonly interval80: ParameterInterval;
  readonly interval95: ParameterInterval;
}

export interface FitUncertainty {
  /** Where the intervals are from: observed information and delta method, or profile likelihood. */
  readonly method: 'information' | 'profile';
  /** Why, in a sentence. */
  readonly why: string;
  readonly parameters: readonly ParameterUncertainty[];
  /** Covariance of the working parameters and ln sill (row-major), in the order of `workingNames` with ln sill last. */
  readonly workingCovariance?: Float64Array;
}

/** Above this the two steps disagree by more than a curvature can be trusted; judgement of this project. */
const UNSTEADY = 0.2;
const LEVELS = [0.8, 0.95] as const;

/**
 * Twice the drop of the log-likelihood, greatest over the other parameters, that is let pass for the 3.84 that a parabola
 * has at the ends of its 95 % interval; judgement of this project.
 */
const PARABOLIC = [2.2, 6.7] as const;

/**
 * Standard errors and 80 % and 95 % intervals of a fit's parameters.
 * Standard errors are from the observed information at the maximum, by the delta method to the natural scale; so are the
 * intervals, symmetric on the working scale (ln, logit) and thus inside the parameter's bounds, where the likelihood is
 * near enough a parabola: it must have dropped by about 1.92 at the ends of the 95 % interval of range and nugget share,
 * and not have risen again at twice that distance. Else, and where the information is not positive definite or a
 * parameter is at a bound, range, nugget share and sill have profile-likelihood intervals: 2·(lnL̂ − lnL) ≤ χ²₁ (Pawitan
 * 2001, In All Likelihood, 3.4; Venzon & Moolgavkar 1988).
 * @param data as the fit was made of; @param options as it was made with
 */
export function standardErrors(data: FitData, fit: ModelFit, options: GramOptions = {}): FitUncertainty {
  const prepared = prepareFit(data, { ...options, restricted: fit.restricted, rangesM: fit.rangesM });
  return fitUncertainty(prepared, fit);
}

/** As {@link standardErrors}, of prepared data. */
export function fitUncertainty(prepared: PreparedFit, fit: ModelFit): FitUncertainty {
  const { spec } = fit;
  const working = Float64Array.of(...toWorking(spec, fit.parameters), Math.log(fit.sill));
  if (fit.atBound.length > 0)
    return byProfile(
      prepared,
      fit,
      `The maximum is at an edge of the search (${fit.atBound.join(', ')})`,
      [],
    );
  const { matrix, unsteadiness } = observedInformation(prepared, spec, Array.from(working));
  const covariance = inverseOfPositive(matrix, working.length);
  if (!covariance)
    return byProfile(prepared, fit, 'The likelihood’s curvature at its maximum is not that of a peak', []);
  if (unsteadiness > UNSTEADY)
    return byProfile(
      prepared,
      fit,
      'The likelihood has a kink at its maximum, so its curvature there means little',
      [],
    );
  const parameters = naturalNames(spec).map((name) => byDelta(prepared, fit, name, working, covariance));
  if (!parabolic(prepared, fit, working, covariance))
    return {
      ...byProfile(
        prepared,
        fit,
        'The likelihood is not the parabola that its curvature suggests',
        parameters,
      ),
      workingCovariance: covariance,
    };
  return {
    method: 'information',
    why: 'Intervals are from the likelihood’s curvature at its maximum (observed information).',
    parameters,
    workingCovariance: covariance,
  };
}

/** Whether the profiles of range and nugget share are like the parabola of the covariance. */
function parabolic(
  prepared: PreparedFit,
  fit: ModelFit,
  working: Float64Array,
  covariance: Float64Array,
): boolean {
  const z = normalQuantile(0.975);
  return (['ln range', 'logit nugget share'] as const).every((name) => {
    const index = workingNames(fit.spec).indexOf(name);
    if (index < 0) return true;
    const se = Math.sqrt(covariance[index * working.length + index]);
    const { logLikelihood, estimate, others } = profileOf(prepared, fit, index);
    const top = logLikelihood(estimate, others);
    return [-1, 1].every((side) => {
      const end = bestOthers(logLikelihood, estimate + side * z * se, others);
      const drop = 2 * (top - end.value);
      if (!(drop > PARABOLIC[0] && drop < PARABOLIC[1])) return false;
      const far = bestOthers(logLikelihood, estimate + side * 2 * z * se, end.x);
      return 2 * (top - far.value) > z * z;
    });
  });
}

/** The log-likelihood, sill profiled out, of one working parameter and the others. */
function profileOf(prepared: PreparedFit, fit: ModelFit, index: number) {
  const { spec, restricted } = fit;
  const best = toWorking(spec, fit.parameters);
  return {
    logLikelihood: (value: number, others: readonly number[]): number => {
      const p = fromWorking(spec, [...others.slice(0, index), value, ...others.slice(index)], prepared);
      const parts = p && prepared.likelihood(p);
      return parts ? trendLogLikelihood(parts, profiledSill(parts, restricted), restricted) : -Infinity;
    },
    estimate: best[index],
    others: best.filter((_, i) => i !== index),
  };
}

function naturalNames(spec: ModelSpec): readonly NaturalName[] {
  const names = workingNames(spec);
  const has = (name: WorkingName, natural: readonly NaturalName[]) => (names.includes(name) ? natural : []);
  return [
    ...has('ln range', ['effective range, m']),
    ...has('logit nugget share', ['nugget share']),
    'sill',
    ...has('ln smoothness', ['smoothness']),
    ...has('ln long range', ['long effective range, m', 'long share']),
    ...has('stretch north', ['anisotropy ratio', 'direction, deg']),
  ];
}

/** A natural parameter of working ones with ln sill last, and the scale on which its interval is symmetric. */
function natural(prepared: PreparedFit, spec: ModelSpec, name: NaturalName, w: Float64Array): number {
  if (name === 'sill') return Math.exp(w[w.length - 1]);
  const p = fromWorking(spec, w.subarray(0, w.length - 1), prepared);
  if (!p) return NaN;
  switch (name) {
    case 'effective range, m':
      return p.effectiveRangeM;
    case 'nugget share':
      return p.nuggetShare;
    case 'smoothness':
      return p.smoothness ?? NaN;
    case 'long effective range, m':
      return p.long?.effectiveRangeM ?? NaN;
    case 'long share':
      return p.long?.share ?? NaN;
    case 'anisotropy ratio':
      return p.anisotropy?.ratio ?? 1;
    case 'direction, deg':
      return p.anisotropy?.directionDeg ?? NaN;
  }
}

const scales = {
  log: { to: Math.log, from: Math.exp, slope: (v: number) => v },
  logit: { to: logit, from: logistic, slope: (v: number) => v * (1 - v) },
  plain: { to: (v: number) => v, from: (v: number) => v, slope: () => 1 },
};
const scaleOf = (name: NaturalName) =>
  name === 'nugget share' || name === 'long share'
    ? scales.logit
    : name === 'direction, deg'
      ? scales.plain
      : scales.log;

function byDelta(
  prepared: PreparedFit,
  fit: ModelFit,
  name: NaturalName,
  working: Float64Array,
  covariance: Float64Array,
): ParameterUncertainty {
  const m = working.length;
  const scale = scaleOf(name);
  const estimate = natural(prepared, fit.spec, name, working);
  const gradient = Array.from({ length: m }, (_, i) => {
    const at = (step: number) => {
      const w = working.slice();
      w[i] += step;
      const value = scale.to(natural(prepared, fit.spec, name, w));
      // Directions a half turn apart are one.
      const centre = scale.to(estimate);
      return name === 'direction, deg' ? centre + ((((value - centre + 90) % 180) + 180) % 180) - 90 : value;
    };
    return (at(1e-5) - at(-1e-5)) / 2e-5;
  });
  let variance = 0;
  for (let i = 0; i < m; i++)
    for (let j = 0; j < m; j++) variance += gradient[i] * gradient[j] * covariance[i * m + j];
  const se = Math.sqrt(variance);
  const interval = (level: number): ParameterInterval => {
    const half = normalQuantile(0.5 + level / 2) * se;
    const centre = scale.to(estimate);
    if (name === 'direction, deg' && half >= 90) return { low: 0, high: 180, lowOpen: true, highOpen: true };
    return {
      low: scale.from(centre - half),
      high: name === 'anisotropy ratio' ? Math.min(1, scale.from(centre + half)) : scale.from(centre + half),
    };
  };
  return {
    name,
    estimate,
    standardError: se * scale.slope(estimate),
    interval80: interval(LEVELS[0]),
    interval95: interval(LEVELS[1]),
  };
}

/**
 * Range, nugget share and sill by profile likelihood.
 * @param known standard errors to keep, and what to say of other parameters
 */
function byProfile(
  prepared: PreparedFit,
  fit: ModelFit,
  reason: string,
  known: readonly ParameterUncertainty[],
): FitUncertainty {
  const { spec, restricted } = fit;
  const names = workingNames(spec);
  const best = toWorking(spec, fit.parameters);
  const [low, high] = prepared.rangesM.map(Math.log);
  const entry = (
    name: NaturalName,
    estimate: number,
    [interval80, interval95]: readonly ParameterInterval[],
  ): ParameterUncertainty => {
    const standardError = known.find((k) => k.name === name)?.standardError;
    return { name, estimate, ...(standardError !== undefined && { standardError }), interval80, interval95 };
  };
  const walked = (name: 'ln range' | 'logit nugget share') =>
    profileInterval({
      ...profileOf(prepared, fit, names.indexOf(name)),
      limits: name === 'ln range' ? [low, high] : [-MOST_LOGIT, MOST_LOGIT],
      // A spherical likelihood has peaks a few per cent of the range wide.
      step: name !== 'ln range' ? 0.35 : spec.kind === 'spherical' ? 0.05 : 0.12,
      levels: LEVELS,
    });
  const result: ParameterUncertainty[] = [];
  if (names.includes('ln range')) {
    // The profile is of the mean axis; the greatest range is told at the fitted ratio.
    const stretch = fit.parameters.effectiveRangeM / Math.exp(best[0]);
    const metres = (logRange: number) => Math.exp(logRange) * stretch;
    const intervals = walked('ln range').map((i) => ({ ...i, low: metres(i.low), high: metres(i.high) }));
    result.push(entry('effective range, m', fit.parameters.effectiveRangeM, intervals));
  }
  if (names.includes('logit nugget share')) {
    // A share has its own ends, 0 and 1, which an interval may reach without being open.
    const intervals = walked('logit nugget share').map((i) => ({
      low: i.lowOpen ? 0 : logistic(i.low),
      high: i.highOpen ? 1 : logistic(i.high),
    }));
    result.push(entry('nugget share', fit.parameters.nuggetShare, intervals));
  }
  const logSill = Math.log(fit.sill);
  const sills = profileInterval({
    logLikelihood: (value, others) => {
      const p = fromWorking(spec, others, prepared);
      const parts = p && prepared.likelihood(p);
      return parts ? trendLogLikelihood(parts, Math.exp(value), restricted) : -Infinity;
    },
    estimate: logSill,
    others: best,
    limits: [logSill - 4, logSill + 6],
    step: 0.1,
    levels: LEVELS,
  });
  result.push(
    entry(
      'sill',
      fit.sill,
      sills.map((i) => ({ ...i, low: Math.exp(i.low), high: Math.exp(i.high) })),
    ),
  );
  return {
    method: 'profile',
    why: `${reason}; intervals of range, nugget share and sill are by profile likelihood.`,
    parameters: [...result, ...known.filter((k) => !result.some((r) => r.name === k.name))],
  };
}
