import { kernels } from './kernels.ts';

/**
 * Householder reduction of a symmetric matrix to tridiagonal form, A = Q T Qᵀ, with Qᵀ carried to chosen vectors.
 * Then (A + s·I) x = b is solved in O(n) for any s, which is what makes a nugget cheap to vary.
 * Golub & Van Loan 2013, Matrix Computations, sec. 8.3.1; from the last row upwards, so that rows are read in order.
 */
export interface Tridiagonal {
  readonly n: number;
  /** n values. */
  readonly diagonal: Float64Array;
  /** offDiagonal[i] couples i − 1 and i; offDiagonal[0] is 0. */
  readonly offDiagonal: Float64Array;
}

/**
 * Reduces: each vector b becomes Qᵀb in place; `a` is left as it is.
 * A step's rank-two update A − w pᵀ − p wᵀ waits for the next step's vector v and is made on the way to A v, so that the
 * matrix is gone through once a step.
 * @param a row-major n × n, of which the lower triangle is read; @param vectors each of n values
 */
export function tridiagonalise(a: Float64Array, n: number, vectors: readonly Float64Array[]): Tridiagonal {
  const diagonal = new Float64Array(n);
  const offDiagonal = new Float64Array(n);
  // In one array: the matrix, v, q, w, p and the vectors, rows made up to fours with zeros, and two numbers more.
  const row = (n + 3) & ~3;
  const count = vectors.length;
  const from = (row + 4) * row;
  const scratch = from + count * row;
  const { reserve, takeRow, updateAndMultiply, reflect } = kernels();
  const held = reserve(scratch + 2);
  for (let i = 0; i < n; i++) for (let k = 0; k <= i; k++) held[i * row + k] = a[i * n + k];
  held.fill(0, n * row, scratch);
  for (let c = 0; c < count; c++) held.set(vectors[c], from + c * row);
  // Where the vectors begin; `w` and `p` are the waiting update's, zero when none waits.
  let v = row * row;
  let q = v + row;
  let w = q + row;
  let p = w + row;
  for (let i = n - 1; i > 0; i--) {
    const ri = i * row;
    diagonal[i] = held[ri + i] - 2 * held[w + i] * held[p + i];
    takeRow(ri, i, i, w, p, v, scratch);
    held[v + i] = held[w + i] = held[p + i] = 0;
    const square = held[scratch];
    const last = held[v + i - 1];
    // Nothing to annihilate: the row is zero but for its last entry, and the update waits on.
    if (square - last * last <= 1e-300) {
      offDiagonal[i] = last;
      continue;
    }
    const norm = last > 0 ? -Math.sqrt(square) : Math.sqrt(square);
    offDiagonal[i] = norm;
    held[v + i - 1] = last - norm;
    held[scratch + 1] = 1 / (square - last * norm);
    updateAndMultiply(0, row, i, w, p, v, q);
    reflect(v, q, i, scratch + 1, from, count, row);
    // Rows made up to fours leave something there.
    for (let k = i; k & 3; k++) held[q + k] = 0;
    [v, w] = [w, v];
    [q, p] = [p, q];
  }
  diagonal[0] = held[0] - 2 * held[w] * held[p];
  for (let c = 0; c < count; c++) for (let i = 0; i < n; i++) vectors[c][i] = held[from + c * row + i];
  return { n, diagonal, offDiagonal };
}

/**
 * Factors scale·T + shift·I = L D Lᵀ into `lower` (unit subdiagonal) and `pivots`.
 * @returns its log determinant, or NaN when a pivot is not positive
 */
export function factorTridiagonal(
  t: Tridiagonal,
  scale: number,
  shift: number,
  lower: Float64Array,
  pivots: Float64Array,
): number {
  const { n, diagonal, offDiagonal } = t;
  let logDet = 0;
  let product = 1;
  let pivot = 1;
  for (let i = 0; i < n; i++) {
    const own = scale * diagonal[i] + shift;
    const off = scale * offDiagonal[i];
    const l = off / pivot;
    pivot = own - l * off;
    // As in the Cholesky factor: below 1e-12 of its diagonal a pivot is rounding.
    if (!(pivot > 1e-12 * own)) return NaN;
    lower[i] = l;
    pivots[i] = pivot;
    product *= pivot;
    // One logarithm for many pivots, taken before the product leaves the doubles.
    if (product < 1e-200 || product > 1e200) {
      logDet += Math.log(product);
      product = 1;
    }
  }
  return logDet + Math.log(product);
}

/** Solves L y = b in place for the unit subdiagonal of {@link factorTridiagonal}. */
export function solveTridiagonalLower(lower: Float64Array, b: Float64Array): void {
  for (let i = 1; i < lower.length; i++) b[i] -= lower[i] * b[i - 1];
}
