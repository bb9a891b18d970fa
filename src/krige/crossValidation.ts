import { stretched, type Anisotropy } from '../variogram/index.ts';
import { indexSamples, nearestInto } from './nearest.ts';
import { fitTrend, sampleSystem, solveSmall } from './sampleSystem.ts';
import type { SampleCovariance } from './support.ts';
import { driftOf, type KrigingTrend } from './trend.ts';

export interface LeaveOneOutOptions {
  /** Form of the mean; constant by default. Of covariates only the samples' are used. */
  readonly trend?: 'constant' | 'linear' | { readonly samples: Float64Array };
  readonly anisotropy?: Anisotropy;
  /** Nearest other samples that predict each; all of them by default. */
  readonly neighbours?: number;
}

/** Each sample predicted from the others; NaN where these are too few for the trend. */
export interface LeaveOneOut {
  /** Measured less predicted. */
  readonly residuals: Float64Array;
  /** Kriging variances of a sample's own value, its noise included. */
  readonly variances: Float64Array;
  /** Residuals over the square roots of their variances. */
  readonly standardised: Float64Array;
  readonly summary: LeaveOneOutSummary;
}

export interface LeaveOneOutSummary {
  readonly meanError: number;
  readonly rmse: number;
  /** Mean squared standardised residual: 1 when the variances are right. */
  readonly msdr: number;
  /** Median squared standardised residual: 0.455 when the variances are right and errors normal (Lark 2000, EJSS 51: 137-157). */
  readonly medianSdr: number;
}

/**
 * Leave-one-out cross-validation of ordinary or universal kriging without leaving any out (Dubrule 1983, Math. Geology
 * 15: 687-699): with P = K⁻¹ − K⁻¹F(FᵀK⁻¹F)⁻¹FᵀK⁻¹ the residual is (Pz)ᵢ/Pᵢᵢ and its variance 1/Pᵢᵢ. With `neighbours`
 * the same for each sample and its nearest others.
 * @param xy samples, 2n metres; @param values n values
 * @throws RangeError as `kriging` does
 */
export function leaveOneOut(
  xy: Float64Array,
  values: Float64Array,
  cov: SampleCovariance,
  { trend = 'constant', anisotropy = cov.anisotropy, neighbours }: LeaveOneOutOptions = {},
): LeaveOneOut {
  const n = values.length;
  const plane = stretched(xy, anisotropy);
  const known: KrigingTrend =
    typeof trend === 'string' ? trend : { samples: trend.samples, nodes: new Float64Array(0) };
  const { columns, samples } = driftOf(known, xy, new Float64Array(0));
  const residuals = new Float64Array(n);
  const variances = new Float64Array(n);
  if (neighbours === undefined || neighbours >= n - 1) {
    const all = leftOut(plane, values, samples, columns, cov);
    residuals.set(all.residuals);
    variances.set(all.variances);
  } else {
    const tree = indexSamples(plane);
    const near = new Uint32Array(neighbours + 1);
    const distance2 = new Float64Array(neighbours + 1);
    for (let i = 0; i < n; i++) {
      const held = nearestInto(
        tree,
        plane[2 * i],
        plane[2 * i + 1],
        neighbours + 1,
        Infinity,
        near,
        distance2,
      );
      // The sample itself goes first; where many share its place it may not be among the nearest.
      const self = near.indexOf(i);
      near[self < 0 ? held - 1 : self] = near[0];
      near[0] = i;
      const set = near.subarray(0, held);
      const some = leftOut(
        rows(plane, set, 2),
        rows(values, set, 1),
        rows(samples, set, columns),
        columns,
        cov,
        1,
      );
      residuals[i] = some.residuals[0];
      variances[i] = some.variances[0];
    }
  }
  const standardised = residuals.map((r, i) => r / Math.sqrt(variances[i]));
  return { residuals, variances, standardised, summary: summarise(residuals, standardised) };
}

function rows(all: Float64Array, which: Uint32Array, width: number): Float64Array {
  const out = new Float64Array(which.length * width);
  which.forEach((from, to) => {
    for (let k = 0; k < width; k++) out[to * width + k] = all[from * width + k];
  });
  return out;
}

/** (Pz)ᵢ/Pᵢᵢ and 1/Pᵢᵢ of the first `count` samples. */
function leftOut(
  xy: Float64Array,
  values: Float64Array,
  trend: Float64Array,
  q: number,
  cov: SampleCovariance,
  count = values.length,
): { readonly residuals: Float64Array; readonly variances: Float64Array } {
  const n = values.length;
  const residuals = new Float64Array(count).fill(NaN);
  const variances = new Float64Array(count).fill(NaN);
  if (n <= q) return { residuals, variances };
  const { stride, whiten } = sampleSystem(xy, cov);
  const fit = fitTrend({ count: n, stride, whiten }, trend, q, values);
  const g = new Float64Array(q);
  for (let i = 0; i < count; i++) {
    let inverse = 0;
    for (let r = i; r < n; r++) inverse += whiten[r * stride + i] * whiten[r * stride + i];
    let explained = 0;
    for (let a = 0; a < q; a++) g[a] = fit.solvedTrend[a * n + i];
    solveSmall(fit.factor, fit.inverse, q, g, 0);
    for (let a = 0; a < q; a++) explained += g[a] * fit.solvedTrend[a * n + i];
    // A sample that alone tells a term of the trend cannot be predicted from the others.
    if (!(inverse - explained > 1e-10 * inverse)) continue;
    residuals[i] = fit.solvedResidual[i] / (inverse - explained);
    variances[i] = 1 / (inverse - explained);
  }
  return { residuals, variances };
}

function summarise(residuals: Float64Array, standardised: Float64Array): LeaveOneOutSummary {
  const known = residuals.filter((r) => !Number.isNaN(r));
  const squares = standardised.filter((r) => !Number.isNaN(r)).map((r) => r * r);
  const mean = (v: Float64Array) => v.reduce((s, x) => s + x, 0) / v.length;
  const sorted = squares.slice().sort();
  const half = sorted.length >> 1;
  return {
    meanError: mean(known),
    rmse: Math.sqrt(mean(known.map((r) => r * r))),
    msdr: mean(squares),
    medianSdr: sorted.length % 2 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2,
  };
}
