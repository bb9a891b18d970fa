import type { LikelihoodParts } from './likelihood.ts';
import { correlationOf, type ModelKind } from './structure.ts';
import { factorTridiagonal, tridiagonalise, type Tridiagonal } from './tridiagonal.ts';

/** A linear target that samples predict, such as the mean of the field, given by its structured correlation with each. */
export interface LinearTarget {
  /** Correlation of the structured part between each sample and the target, n values. */
  readonly withSamples: (kind: ModelKind, effectiveRangeM: number) => Float64Array;
  /** Variance of the target over that of the structured part at a point. */
  readonly own: (kind: ModelKind, effectiveRangeM: number) => number;
}

/** The structured correlation of the samples at one range, tridiagonalised, with the values carried along. */
export interface ReducedCorrelation {
  readonly kind: ModelKind;
  readonly effectiveRangeM: number;
  readonly t: Tridiagonal;
  readonly ones: Float64Array;
  /** One vector a variable, each centred by `shifts` before. */
  readonly values: readonly Float64Array[];
  readonly shifts: readonly number[];
  readonly target?: { readonly withSamples: Float64Array; readonly own: number };
}

/** Reduces the structured correlation for any kind and range, the samples' distances and values given once. */
export interface Reduction {
  /** @param withTarget whether the target is carried along; it is unless told otherwise */
  (kind: ModelKind, effectiveRangeM: number, withTarget?: boolean): ReducedCorrelation;
  /** Number of samples. */
  readonly n: number;
}

/**
 * Prepares the reduction for several variables measured at the same places.
 * A reduction costs four Cholesky factors' arithmetic, after which the likelihood of every variable at every nugget share
 * costs O(n): R = (1 − ν)·C + ν·I has the eigenvectors of C, and so its tridiagonal basis.
 * @param xy 2n metres; @param variables each n values on its working scale
 */
export function prepareReduction(
  xy: Float64Array,
  variables: readonly Float64Array[],
  target?: LinearTarget,
): Reduction {
  const n = xy.length / 2;
  const apart = new Float64Array((n * (n - 1)) / 2);
  for (let i = 0, k = 0; i < n; i++)
    for (let j = 0; j < i; j++, k++) {
      const dx = xy[2 * i] - xy[2 * j];
      const dy = xy[2 * i + 1] - xy[2 * j + 1];
      apart[k] = Math.sqrt(dx * dx + dy * dy);
    }
  const shifts = variables.map((z) => z.reduce((s, v) => s + v, 0) / n);
  const a = new Float64Array(n * n);
  const reduce = (kind: ModelKind, effectiveRangeM: number, withTarget = true): ReducedCorrelation => {
    const structured = correlationOf({ kind, effectiveRangeM });
    for (let i = 0, k = 0; i < n; i++) {
      for (let j = 0; j < i; j++, k++) a[i * n + j] = structured(apart[k]);
      a[i * n + i] = 1;
    }
    const ones = new Float64Array(n).fill(1);
    // Centring first keeps zᵀR⁻¹z − μ̂·1ᵀR⁻¹z from cancelling.
    const values = variables.map((z, v) => z.map((x) => x - shifts[v]));
    const withSamples = withTarget ? target?.withSamples(kind, effectiveRangeM) : undefined;
    const t = tridiagonalise(a, n, withSamples ? [ones, ...values, withSamples] : [ones, ...values]);
    return {
      kind,
      effectiveRangeM,
      t,
      ones,
      values,
      shifts,
      target: withSamples && { withSamples, own: target!.own(kind, effectiveRangeM) },
    };
  };
  return Object.assign(reduce, { n });
}

/** Prediction of the target from one variable, its variance as a share of the sill. */
export interface TargetPrediction {
  readonly mean: number;
  readonly varianceOverSill: number;
}

/** The likelihood's parts of one variable at one nugget share, and the target's prediction where there is a target. */
export interface ReducedParts extends LikelihoodParts {
  readonly target?: TargetPrediction;
}

/** Scratch for {@link reducedParts}: five vectors of n values. */
export interface ReducedScratch {
  readonly lower: Float64Array;
  readonly pivots: Float64Array;
  readonly u1: Float64Array;
  readonly uz: Float64Array;
  readonly uc: Float64Array;
}

export function reducedScratch(n: number): ReducedScratch {
  const make = () => new Float64Array(n);
  return { lower: make(), pivots: make(), u1: make(), uz: make(), uc: make() };
}

/**
 * The likelihood's parts at a nugget share, in O(n); equal to `prepareLikelihood(xy, z)` of the same correlation.
 * The target is predicted by ordinary kriging: mean μ̂ + cᵀR⁻¹(z − μ̂), variance over the sill
 * c̄ − cᵀR⁻¹c + (1 − 1ᵀR⁻¹c)²/1ᵀR⁻¹1, with c and c̄ the structured share's (Cressie 1993, eq. 3.2.16).
 * @returns undefined when the correlation is not positive definite
 */
export function reducedParts(
  reduced: ReducedCorrelation,
  variable: number,
  nuggetShare: number,
  scratch: ReducedScratch,
): ReducedParts | undefined {
  const { t, ones, values, shifts, target } = reduced;
  const { n } = t;
  const { lower, pivots } = scratch;
  const structured = 1 - nuggetShare;
  const logDet = factorTridiagonal(t, structured, nuggetShare, lower, pivots);
  if (Number.isNaN(logDet)) return undefined;
  // Solved and summed on the way: what a row leaves for the next is one number of each.
  const z = values[variable];
  let u = 0;
  let uz = 0;
  let oneRone = 0;
  let oneRz = 0;
  let zRz = 0;
  for (let i = 0; i < n; i++) {
    const l = lower[i];
    const w = 1 / pivots[i];
    u = ones[i] - l * u;
    uz = z[i] - l * uz;
    oneRone += u * u * w;
    oneRz += uz * u * w;
    zRz += uz * uz * w;
  }
  const mean = oneRz / oneRone;
  const parts = {
    n,
    logDet,
    oneRone,
    mean: mean + shifts[variable],
    residualSS: Math.max(zRz - mean * oneRz, 1e-300),
  };
  if (!target) return parts;
  const c = target.withSamples;
  let uc = 0;
  let cRc = 0;
  let oneRc = 0;
  let cRz = 0;
  u = uz = 0;
  for (let i = 0; i < n; i++) {
    const l = lower[i];
    const w = 1 / pivots[i];
    u = ones[i] - l * u;
    uz = z[i] - l * uz;
    uc = c[i] - l * uc;
    cRc += uc * uc * w;
    oneRc += uc * u * w;
    cRz += uc * uz * w;
  }
  const short = 1 - structured * oneRc;
  return {
    ...parts,
    target: {
      mean: structured * cRz + short * mean + shifts[variable],
      varianceOverSill: Math.max(
        0,
        structured * target.own - structured * structured * cRc + (short * short) / oneRone,
      ),
    },
  };
}
