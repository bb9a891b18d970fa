import type { CorrelationParameters } from './correlationParameters.ts';
import { prepareGram, type GramOptions } from './whitenedGram.ts';

/** A covariate of the mean, known at every sample. */
export interface Covariate {
  readonly name: string;
  /** n values, in the user's unit. */
  readonly values: Float64Array;
}

/** How the mean goes: one number, a plane in the coordinates, or linear in covariates (to which x and y may belong). */
export type Trend = 'constant' | 'linear' | { readonly covariates: readonly Covariate[] };

/** The design matrix of a trend. */
export interface TrendColumns {
  /** Column names, the constant first: '1', then 'x', 'y' or the covariates'. */
  readonly names: readonly string[];
  /** Row-major n × p. */
  readonly x: Float64Array;
  readonly n: number;
  readonly p: number;
  /** Covariates that are constant or a combination of earlier columns, and so left out (as R's lm aliases them). */
  readonly leftOut: readonly string[];
}

/** A column whose part not explained by earlier ones is a smaller share than this of its spread is left out (as R's lm). */
const ALIASED = 1e-7;

/**
 * The design matrix of a trend at positions.
 * @param xy 2n metres
 * @throws RangeError when a covariate has not n finite values
 */
export function trendColumns(trend: Trend, xy: Float64Array): TrendColumns {
  const n = xy.length / 2;
  const wanted = [{ name: '1', values: new Float64Array(n).fill(1) }, ...covariatesOf(trend, xy)];
  for (const { name, values } of wanted)
    if (values.length !== n || !values.every(Number.isFinite))
      throw new RangeError(`Covariate ${name} needs ${n} finite values, one a sample.`);
  const basis: Float64Array[] = [];
  const kept = wanted.filter(({ values }) => {
    const added = orthogonalTo(basis, values);
    if (added) basis.push(added.direction);
    return added !== undefined;
  });
  const p = kept.length;
  const x = new Float64Array(n * p);
  kept.forEach(({ values }, c) => values.forEach((v, i) => (x[i * p + c] = v)));
  return {
    names: kept.map((c) => c.name),
    x,
    n,
    p,
    leftOut: wanted.filter((c) => !kept.includes(c)).map((c) => c.name),
  };
}

function covariatesOf(trend: Trend, xy: Float64Array): readonly Covariate[] {
  if (trend === 'constant') return [];
  if (trend !== 'linear') return trend.covariates;
  const along = (axis: number) => Float64Array.from({ length: xy.length / 2 }, (_, i) => xy[2 * i + axis]);
  return [
    { name: 'x', values: along(0) },
    { name: 'y', values: along(1) },
  ];
}

/** A column as a combination of orthonormal ones and a new direction; undefined when there is hardly any new. */
function orthogonalTo(
  basis: readonly Float64Array[],
  column: Float64Array,
):
  | { readonly direction: Float64Array; readonly coefficients: readonly number[]; readonly length: number }
  | undefined {
  const left = column.slice();
  const coefficients: number[] = basis.map(() => 0);
  let spread = norm(left);
  const size = spread;
  // Twice is enough for orthogonality to working precision (Giraud, Langou & Rozložník 2005).
  for (let round = 0; round < 2; round++)
    basis.forEach((q, c) => {
      const dot = q.reduce((s, v, i) => s + v * left[i], 0);
      coefficients[c] += dot;
      for (let i = 0; i < left.length; i++) left[i] -= dot * q[i];
      if (round === 0 && c === 0) spread = norm(left);
    });
  const length = norm(left);
  if (!(length > ALIASED * spread) || !(spread > 1e-13 * size)) return undefined;
  return { direction: left.map((v) => v / length), coefficients, length };
}

const norm = (v: Float64Array) => Math.sqrt(v.reduce((s, x) => s + x * x, 0));

/**
 * What the Gaussian likelihood with mean Xβ and unknown variance needs of R. Everything about X is on the user's scale.
 */
export interface TrendParts {
  readonly n: number;
  readonly p: number;
  /** ln|R| */
  readonly logDet: number;
  /** ln|XᵀR⁻¹X| */
  readonly logDetInformation: number;
  /** Generalised least-squares coefficients, p values. */
  readonly beta: Float64Array;
  /** (XᵀR⁻¹X)⁻¹, row-major p × p: times the variance, the covariance of β̂. */
  readonly betaShape: Float64Array;
  /** (z − Xβ̂)ᵀR⁻¹(z − Xβ̂) */
  readonly residualSS: number;
}

/** `(parameters) => parts`, or undefined where R is not positive definite. */
export type TrendLikelihood = (parameters: CorrelationParameters) => TrendParts | undefined;

/**
 * Prepares the likelihood of values whose mean is linear in known columns; exact or Vecchia as `prepareLikelihood`.
 * Inside, X is made orthonormal (X = QU), so that coordinates of any size do no harm.
 * @param xy 2n metres; no two points at one place; @param z n values on the working scale
 * @throws RangeError with no more values than coefficients
 */
export function prepareTrendLikelihood(
  xy: Float64Array,
  z: Float64Array,
  trend: Trend | TrendColumns = 'constant',
  options: GramOptions = {},
): TrendLikelihood {
  const columns = typeof trend === 'object' && 'x' in trend ? trend : trendColumns(trend, xy);
  const { n, p, x } = columns;
  if (n <= p) throw new RangeError(`A trend of ${p} coefficients needs more than ${n} values.`);
  const q: Float64Array[] = [];
  const u = new Float64Array(p * p);
  for (let c = 0; c < p; c++) {
    const step = orthogonalTo(
      q,
      Float64Array.from({ length: n }, (_, i) => x[i * p + c]),
    );
    if (!step)
      throw new RangeError(`Column ${columns.names[c]} of the trend depends on the columns before it.`);
    step.coefficients.forEach((v, row) => (u[row * p + c] = v));
    u[c * p + c] = step.length;
    q.push(step.direction);
  }
  // Ordinary least squares first: what is left of z does not cancel.
  const left = z.slice();
  const ordinary = q.map((column) => {
    const dot = column.reduce((s, v, i) => s + v * left[i], 0);
    for (let i = 0; i < n; i++) left[i] -= dot * column[i];
    return dot;
  });
  let logDetU = 0;
  for (let c = 0; c < p; c++) logDetU += Math.log(u[c * p + c]);
  const gramOf = prepareGram(xy, [...q, left], options);
  return (parameters) => {
    const whitened = gramOf(parameters);
    if (!whitened) return undefined;
    const solved = eliminate(whitened.gram, p);
    if (!solved) return undefined;
    const gamma = solved.coefficients.map((v, c) => v + ordinary[c]);
    return {
      n,
      p,
      logDet: whitened.logDet,
      logDetInformation: solved.logDet + 2 * logDetU,
      beta: solveUpper(u, p, gamma),
      betaShape: congruent(u, p, solved.inverse),
      residualSS: Math.max(solved.residualSS, 1e-300),
    };
  };
}

/** From the Gram matrix of [Q, z]: ln|QᵀQ|, (QᵀQ)⁻¹, its product with Qᵀz and the residual sum of squares. */
function eliminate(gram: Float64Array, p: number) {
  const m = p + 1;
  const a = gram.slice();
  let logDet = 0;
  // Sweeps each column in turn (Beaton 1964): the p × p block becomes −inverse, the last column the coefficients.
  for (let k = 0; k < p; k++) {
    const pivot = a[k * m + k];
    if (!(pivot > 0)) return undefined;
    logDet += Math.log(pivot);
    for (let j = 0; j < m; j++) if (j !== k) a[k * m + j] /= pivot;
    for (let i = 0; i < m; i++) {
      if (i === k) continue;
      const f = a[i * m + k];
      for (let j = 0; j < m; j++) if (j !== k) a[i * m + j] -= f * a[k * m + j];
      a[i * m + k] = f / pivot;
    }
    a[k * m + k] = -1 / pivot;
  }
  const inverse = new Float64Array(p * p);
  for (let i = 0; i < p; i++) for (let j = 0; j < p; j++) inverse[i * p + j] = -a[i * m + j];
  const coefficients = Float64Array.from({ length: p }, (_, i) => a[i * m + p]);
  return { logDet, inverse, coefficients, residualSS: a[p * m + p] };
}

/** x with U x = b, U upper p × p. */
function solveUpper(u: Float64Array, p: number, b: Float64Array): Float64Array {
  const x = b.slice();
  for (let i = p - 1; i >= 0; i--) {
    for (let j = i + 1; j < p; j++) x[i] -= u[i * p + j] * x[j];
    x[i] /= u[i * p + i];
  }
  return x;
}

/** U⁻¹ A U⁻ᵀ for symmetric A. */
function congruent(u: Float64Array, p: number, a: Float64Array): Float64Array {
  const half = new Float64Array(p * p);
  for (let c = 0; c < p; c++) {
    const x = solveUpper(
      u,
      p,
      Float64Array.from({ length: p }, (_, i) => a[i * p + c]),
    );
    x.forEach((v, i) => (half[c * p + i] = v));
  }
  const whole = new Float64Array(p * p);
  for (let c = 0; c < p; c++) {
    const x = solveUpper(
      u,
      p,
      Float64Array.from({ length: p }, (_, i) => half[i * p + c]),
    );
    x.forEach((v, i) => (whole[i * p + c] = v));
  }
  return whole;
}

/**
 * Log-likelihood with the variance σ² given. Full: −½[n·ln(2πσ²) + ln|R| + S/σ²].
 * Restricted (Patterson & Thompson 1971; Harville 1974 without his term ½ln|XᵀX|, as nlme's gls reports it):
 * −½[(n − p)·ln(2πσ²) + ln|R| + ln|XᵀR⁻¹X| + S/σ²]. It changes with the unit of a covariate, and values of
 * different trends cannot be compared.
 */
export function trendLogLikelihood(parts: TrendParts, variance: number, restricted: boolean): number {
  const { n, p, logDet, logDetInformation, residualSS } = parts;
  const freedom = restricted ? n - p : n;
  return (
    -0.5 *
    (freedom * Math.log(2 * Math.PI * variance) +
      logDet +
      (restricted ? logDetInformation : 0) +
      residualSS / variance)
  );
}

/** The variance at which that is greatest: S/(n − p) restricted, S/n full. */
export function profiledSill(parts: TrendParts, restricted: boolean): number {
  return parts.residualSS / (restricted ? parts.n - parts.p : parts.n);
}
