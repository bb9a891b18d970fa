import type { PreparedFit } from './fitModel.ts';
import { fromWorking, workingNames, type ModelSpec } from './modelSpec.ts';
import { trendLogLikelihood, type TrendParts } from './trend.ts';

/** Steps of the numerical derivatives on the working scale; the wider the smaller rounding's part. */
const STEPS = [0.02, 0.01] as const;

/** The log-likelihood of working parameters with ln sill last. */
function fullLogLikelihood(prepared: PreparedFit, spec: ModelSpec): (w: Float64Array) => number {
  const { restricted } = prepared;
  const k = workingNames(spec).length;
  // The sill needs no new factor: the parts at one set of the others are kept.
  const kept = new Map<string, TrendParts | undefined>();
  return (w) => {
    const others = w.subarray(0, k);
    const key = others.join();
    if (!kept.has(key)) {
      const p = fromWorking(spec, others, prepared);
      kept.set(key, p && prepared.likelihood(p));
    }
    const parts = kept.get(key);
    return parts ? trendLogLikelihood(parts, Math.exp(w[k]), restricted) : NaN;
  };
}

/** Minus the second derivatives by central differences of one step. */
function informationByStep(f: (w: Float64Array) => number, at: Float64Array, step: number): Float64Array {
  const m = at.length;
  const shifted = (i: number, si: number, j: number, sj: number) => {
    const w = at.slice();
    w[i] += si * step;
    w[j] += sj * step;
    return f(w);
  };
  const centre = f(at);
  const out = new Float64Array(m * m);
  for (let i = 0; i < m; i++) {
    out[i * m + i] = -(shifted(i, 1, i, 0) - 2 * centre + shifted(i, -1, i, 0)) / step ** 2;
    for (let j = 0; j < i; j++) {
      const mixed = shifted(i, 1, j, 1) - shifted(i, 1, j, -1) - shifted(i, -1, j, 1) + shifted(i, -1, j, -1);
      out[i * m + j] = out[j * m + i] = -mixed / (4 * step ** 2);
    }
  }
  return out;
}

export interface ObservedInformation {
  /** Row-major, in the order of `workingNames` with ln sill last. */
  readonly matrix: Float64Array;
  /** The greatest change of a diagonal value between the two steps, relative: large where the likelihood has a kink. */
  readonly unsteadiness: number;
}

/**
 * Observed information: minus the second derivatives of the (restricted) log-likelihood in the working parameters and
 * ln sill, by central differences of two steps extrapolated to none (Richardson 1911).
 * @param working the working parameters of the spec, then ln sill
 */
export function observedInformation(
  prepared: PreparedFit,
  spec: ModelSpec,
  working: readonly number[],
): ObservedInformation {
  const f = fullLogLikelihood(prepared, spec);
  const at = Float64Array.from(working);
  const [wide, narrow] = STEPS.map((step) => informationByStep(f, at, step));
  const m = at.length;
  let unsteadiness = 0;
  for (let i = 0; i < m; i++) {
    const [a, b] = [wide[i * m + i], narrow[i * m + i]];
    unsteadiness = Math.max(unsteadiness, Math.abs(a - b) / Math.max(Math.abs(a), Math.abs(b), 1e-12));
  }
  return { matrix: narrow.map((v, i) => (4 * v - wide[i]) / 3), unsteadiness };
}

/** Inverse of a symmetric positive definite m × m matrix by its Cholesky factor; undefined when it is not. */
export function inverseOfPositive(a: Float64Array, m: number): Float64Array | undefined {
  const l = a.slice();
  for (let i = 0; i < m; i++)
    for (let j = 0; j <= i; j++) {
      let s = l[i * m + j];
      for (let k = 0; k < j; k++) s -= l[i * m + k] * l[j * m + k];
      // Below a hundredth of the numerical derivative's own noise a direction is flat.
      if (i === j && !(s > 1e-6 * Math.abs(a[i * m + i]) && s > 1e-8)) return undefined;
      l[i * m + j] = i === j ? Math.sqrt(s) : s / l[j * m + j];
    }
  const inverse = new Float64Array(m * m);
  for (let c = 0; c < m; c++) {
    const x = new Float64Array(m);
    for (let i = 0; i < m; i++) {
      x[i] = i === c ? 1 : 0;
      for (let k = 0; k < i; k++) x[i] -= l[i * m + k] * x[k];
      x[i] /= l[i * m + i];
    }
    for (let i = m - 1; i >= 0; i--) {
      for (let k = i + 1; k < m; k++) x[i] -= l[k * m + i] * x[k];
      x[i] /= l[i * m + i];
    }
    x.forEach((v, i) => (inverse[i * m + c] = v));
  }
  return inverse;
}
