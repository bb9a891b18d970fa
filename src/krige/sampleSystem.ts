import { factorRows } from './rows.ts';
import type { SampleCovariance } from './support.ts';

/** The samples' covariance matrix K = L·Lᵀ as L⁻¹ = `whiten`: row-major, an even number of rows and columns. */
export interface SampleSystem {
  readonly count: number;
  /** Row length and number of rows of `whiten`: the count, made even; the odd last row and column are 0. */
  readonly stride: number;
  readonly whiten: Float64Array;
}

/**
 * @param xy samples on the stretched plane
 * @throws RangeError when two samples without noise lie at one place
 */
export function sampleSystem(xy: Float64Array, cov: SampleCovariance): SampleSystem {
  const count = xy.length / 2;
  const stride = count + (count & 1);
  const l = new Float64Array(stride * stride);
  const inverse = new Float64Array(stride);
  for (let i = 0; i < count; i++) {
    const xi = xy[2 * i];
    const yi = xy[2 * i + 1];
    for (let j = 0; j < i; j++) {
      const dx = xy[2 * j] - xi;
      const dy = xy[2 * j + 1] - yi;
      // Math.hypot guards against overflow that metres never meet, at several times the cost.
      l[i * stride + j] = cov.between(Math.sqrt(dx * dx + dy * dy));
    }
    l[i * stride + i] = cov.variance;
  }
  if (!factorRows(l, stride, count, inverse))
    throw new RangeError('Two samples without noise lie at one place.');
  return { count, stride, whiten: invertLower(l, stride, count, inverse) };
}

function invertLower(l: Float64Array, stride: number, n: number, inverse: Float64Array): Float64Array {
  const out = new Float64Array(l.length);
  for (let i = 0; i < n; i++) {
    const pi = i * stride;
    let k = 0;
    // Two rows at a time halve what is written.
    for (; k + 1 < i; k += 2) {
      const l0 = l[pi + k];
      const l1 = l[pi + k + 1];
      const p0 = k * stride;
      const p1 = p0 + stride;
      for (let j = 0; j <= k + 1; j++) out[pi + j] -= l0 * out[p0 + j] + l1 * out[p1 + j];
    }
    if (k < i) {
      const l0 = l[pi + k];
      const p0 = k * stride;
      for (let j = 0; j <= k; j++) out[pi + j] -= l0 * out[p0 + j];
    }
    const scale = inverse[i];
    for (let j = 0; j < i; j++) out[pi + j] *= scale;
    out[pi + i] = scale;
  }
  return out;
}

/** What the trend and the values come to under a {@link SampleSystem}. */
export interface TrendFit {
  /** q × n: K⁻¹F, column by column. */
  readonly solvedTrend: Float64Array;
  /** n: K⁻¹(z − F·β). */
  readonly solvedResidual: Float64Array;
  /** q × q: lower Cholesky factor of FᵀK⁻¹F, with the reciprocals of its diagonal. */
  readonly factor: Float64Array;
  readonly inverse: Float64Array;
  /** Generalised least-squares coefficients of the trend; the first is of the values less `shift`. */
  readonly beta: Float64Array;
  /** Taken off the values before, to keep sums from cancelling. */
  readonly shift: number;
}

/**
 * Generalised least squares of the trend (Cressie 1993, sec. 3.4.5).
 * @param trend n × q row by row, the first column 1
 * @throws RangeError when the samples cannot tell the trend's columns apart
 */
export function fitTrend(
  system: SampleSystem,
  trend: Float64Array,
  q: number,
  values: Float64Array | undefined,
): TrendFit {
  const { count: n, stride, whiten } = system;
  let shift = 0;
  if (values) for (let i = 0; i < n; i++) shift += values[i] / n;
  const w = new Float64Array(n * q);
  const y = new Float64Array(n);
  for (let i = 0; i < n; i++)
    for (let k = 0; k <= i; k++) {
      const t = whiten[i * stride + k];
      for (let a = 0; a < q; a++) w[i * q + a] += t * trend[k * q + a];
      if (values) y[i] += t * (values[k] - shift);
    }
  const factor = new Float64Array(q * q);
  const inverse = new Float64Array(q);
  const beta = new Float64Array(q);
  for (let a = 0; a < q; a++) {
    for (let b = 0; b <= a; b++) for (let i = 0; i < n; i++) factor[a * q + b] += w[i * q + a] * w[i * q + b];
    for (let i = 0; i < n; i++) beta[a] += w[i * q + a] * y[i];
  }
  if (!factorRows(factor, q, q, inverse))
    throw new RangeError(`${n} samples cannot tell the ${q} terms of the trend apart.`);
  solveSmall(factor, inverse, q, beta, 0);
  for (let i = 0; i < n; i++) for (let a = 0; a < q; a++) y[i] -= w[i * q + a] * beta[a];
  const solvedTrend = new Float64Array(n * q);
  const solvedResidual = new Float64Array(n);
  for (let i = 0; i < n; i++)
    for (let k = 0; k <= i; k++) {
      const t = whiten[i * stride + k];
      for (let a = 0; a < q; a++) solvedTrend[a * n + k] += t * w[i * q + a];
      solvedResidual[k] += t * y[i];
    }
  return { solvedTrend, solvedResidual, factor, inverse, beta, shift };
}

/** Solves L·Lᵀ x = b in place at b[at…at + q), L a lower q × q factor with the reciprocals of its diagonal. */
export function solveSmall(
  l: Float64Array,
  inverse: Float64Array,
  q: number,
  b: Float64Array,
  at: number,
): void {
  for (let i = 0; i < q; i++) {
    let s = b[at + i];
    for (let k = 0; k < i; k++) s -= l[i * q + k] * b[at + k];
    b[at + i] = s * inverse[i];
  }
  for (let i = q - 1; i >= 0; i--) {
    let s = b[at + i];
    for (let k = i + 1; k < q; k++) s -= l[k * q + i] * b[at + k];
    b[at + i] = s * inverse[i];
  }
}
