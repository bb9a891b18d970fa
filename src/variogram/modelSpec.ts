import type { CorrelationParameters } from './correlationParameters.ts';
import type { ModelKind } from './structure.ts';

/** A covariance model with what of it is free. Range and sill always are, but for the pure nugget's range. */
export interface ModelSpec {
  /** 'nugget' is a model without spatial structure. */
  readonly kind: ModelKind | 'nugget';
  /** Matérn only: its smoothness, or 'free'. 1.5 by default. */
  readonly smoothness?: number | 'free';
  /** A known nugget share, or 'free' (the default). */
  readonly nuggetShare?: number | 'free';
  /** Two structures of the kind, of two ranges. */
  readonly nested?: boolean;
  /** Geometric anisotropy: ratio and direction are two more parameters. */
  readonly anisotropic?: boolean;
}

/** Limits of what is searched. */
export interface SearchLimits {
  /** Least and greatest effective range, m (of the geometric mean of the two axes when anisotropic). */
  readonly rangesM: readonly [number, number];
}

/** Of a Matérn's smoothness: rougher than 0.15 is a nugget, smoother than 5 hardly to be told from the Gaussian. */
export const SMOOTHNESS_RANGE = [0.15, 5] as const;
/** Least ratio of the two ranges; judgement of this project. */
export const LEAST_RATIO = 0.1;
/** Greatest |logit| of a share: 6e-6 and 1 − 6e-6. */
export const MOST_LOGIT = 12;
/** The long range is at least this many times the short one; closer they are one structure. */
const LEAST_RANGE_RATIO = 1.1;

/** A free parameter on the scale it is searched on. */
export type WorkingName =
  | 'ln range'
  | 'logit nugget share'
  | 'ln smoothness'
  | 'ln long range'
  | 'logit long share'
  | 'stretch north'
  | 'stretch northeast';

/**
 * The free parameters in their order, the sill apart, which is profiled out. Anisotropy is searched as
 * −ln(ratio)·(cos 2φ, sin 2φ) and the range as the geometric mean of the axes, which is smooth through isotropy
 * and has no ends in direction φ (measured from north, so that the first is north-south against east-west).
 */
export function workingNames(spec: ModelSpec): readonly WorkingName[] {
  if (spec.kind === 'nugget') return [];
  return [
    'ln range',
    ...((spec.nuggetShare ?? 'free') === 'free' ? (['logit nugget share'] as const) : []),
    ...(spec.kind === 'matern' && spec.smoothness === 'free' ? (['ln smoothness'] as const) : []),
    ...(spec.nested ? (['ln long range', 'logit long share'] as const) : []),
    ...(spec.anisotropic ? (['stretch north', 'stretch northeast'] as const) : []),
  ];
}

/** Free covariance parameters, the sill among them. */
export function covarianceParameters(spec: ModelSpec): number {
  return workingNames(spec).length + 1;
}

export const logistic = (t: number): number => 1 / (1 + Math.exp(-t));
export const logit = (p: number): number => Math.log(p / (1 - p));

/** The correlation that working parameters mean; undefined outside the limits. */
export function fromWorking(
  spec: ModelSpec,
  working: ArrayLike<number>,
  { rangesM }: SearchLimits,
): CorrelationParameters | undefined {
  const { kind } = spec;
  if (kind === 'nugget') return { kind: 'spherical', effectiveRangeM: rangesM[0], nuggetShare: 1 };
  let at = 0;
  const logRange = working[at++];
  if (!(logRange >= Math.log(rangesM[0]) - 1e-12 && logRange <= Math.log(rangesM[1]) + 1e-12))
    return undefined;
  let nuggetShare = spec.nuggetShare ?? 'free';
  if (nuggetShare === 'free') {
    const t = working[at++];
    if (!(Math.abs(t) <= MOST_LOGIT)) return undefined;
    nuggetShare = logistic(t);
  }
  let { smoothness } = spec;
  if (kind !== 'matern') smoothness = undefined;
  else if (smoothness === 'free') {
    smoothness = Math.exp(working[at++]);
    if (!(smoothness >= SMOOTHNESS_RANGE[0] && smoothness <= SMOOTHNESS_RANGE[1])) return undefined;
  }
  let long: { logRange: number; share: number } | undefined;
  if (spec.nested) {
    long = { logRange: working[at], share: logistic(working[at + 1]) };
    if (!(long.logRange >= logRange + Math.log(LEAST_RANGE_RATIO))) return undefined;
    if (!(long.logRange <= Math.log(2 * rangesM[1])) || !(Math.abs(working[at + 1]) <= MOST_LOGIT))
      return undefined;
    at += 2;
  }
  let [stretch, anisotropy] = [1, undefined as CorrelationParameters['anisotropy']];
  if (spec.anisotropic) {
    const [u, v] = [working[at], working[at + 1]];
    const size = Math.hypot(u, v);
    if (!(size <= -Math.log(LEAST_RATIO))) return undefined;
    stretch = Math.exp(size / 2);
    const directionDeg = (Math.atan2(v, u) * 90) / Math.PI;
    anisotropy = {
      ratio: Math.exp(-size),
      directionDeg: directionDeg < 0 ? directionDeg + 180 : directionDeg,
    };
  }
  return {
    kind,
    effectiveRangeM: Math.exp(logRange) * stretch,
    nuggetShare,
    ...(smoothness === undefined ? {} : { smoothness }),
    ...(long && { long: { effectiveRangeM: Math.exp(long.logRange) * stretch, share: long.share } }),
    ...(anisotropy && { anisotropy }),
  };
}

/** The working parameters of a correlation: the inverse of {@link fromWorking}, shares drawn in from 0 and 1. */
export function toWorking(spec: ModelSpec, p: CorrelationParameters): readonly number[] {
  const share = (s: number) => Math.min(Math.max(logit(s), -MOST_LOGIT), MOST_LOGIT);
  const ratio = p.anisotropy?.ratio ?? 1;
  const double = ((p.anisotropy?.directionDeg ?? 0) * Math.PI) / 90;
  const value: Readonly<Record<WorkingName, () => number>> = {
    'ln range': () => Math.log(p.effectiveRangeM * Math.sqrt(ratio)),
    'logit nugget share': () => share(p.nuggetShare),
    'ln smoothness': () => Math.log(p.smoothness ?? (p.kind === 'exponential' ? 0.5 : 1.5)),
    'ln long range': () => Math.log((p.long?.effectiveRangeM ?? 3 * p.effectiveRangeM) * Math.sqrt(ratio)),
    'logit long share': () => share(p.long?.share ?? 0),
    'stretch north': () => -Math.log(ratio) * Math.cos(double),
    'stretch northeast': () => -Math.log(ratio) * Math.sin(double),
  };
  return workingNames(spec).map((name) => value[name]());
}

const kindNames: Readonly<Record<ModelKind, string>> = {
  spherical: 'spherical',
  exponential: 'exponential',
  gaussian: 'Gaussian',
  matern: 'Matérn',
};

/** A model in words: "anisotropic nested spherical", "Matérn 2.5", "pure nugget". */
export function modelName(spec: ModelSpec): string {
  if (spec.kind === 'nugget') return 'pure nugget';
  const smoothness =
    spec.kind !== 'matern'
      ? ''
      : spec.smoothness === 'free'
        ? ' of free smoothness'
        : ` ${spec.smoothness ?? 1.5}`;
  return `${spec.anisotropic ? 'anisotropic ' : ''}${spec.nested ? 'nested ' : ''}${kindNames[spec.kind]}${smoothness}`;
}
