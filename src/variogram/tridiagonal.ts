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
 * Reduces in place: the lower triangle of `a` (row-major n × n) is destroyed and each vector b becomes Qᵀb.
 * @param vectors each of n values
 */
export function tridiagonalise(a: Float64Array, n: number, vectors: readonly Float64Array[]): Tridiagonal {
  const diagonal = new Float64Array(n);
  const offDiagonal = new Float64Array(n);
  const v = new Float64Array(n);
  const q = new Float64Array(n);
  for (let i = n - 1; i > 0; i--) {
    const ri = i * n;
    diagonal[i] = a[ri + i];
    let square = 0;
    for (let k = 0; k < i; k++) {
      v[k] = a[ri + k];
      square += v[k] * v[k];
    }
    // Nothing to annihilate: the row is zero but for its last entry.
    if (square - v[i - 1] * v[i - 1] <= 1e-300) {
      offDiagonal[i] = v[i - 1];
      continue;
    }
    const norm = v[i - 1] > 0 ? -Math.sqrt(square) : Math.sqrt(square);
    offDiagonal[i] = norm;
    const h = square - v[i - 1] * norm;
    v[i - 1] -= norm;
    timesLower(a, n, i, v, q);
    let vq = 0;
    for (let k = 0; k < i; k++) {
      q[k] /= h;
      vq += v[k] * q[k];
    }
    const half = vq / (2 * h);
    for (let k = 0; k < i; k++) q[k] -= half * v[k];
    subtractRankTwo(a, n, i, v, q);
    for (const b of vectors) {
      let vb = 0;
      for (let k = 0; k < i; k++) vb += v[k] * b[k];
      vb /= h;
      for (let k = 0; k < i; k++) b[k] -= vb * v[k];
    }
  }
  diagonal[0] = a[0];
  return { n, diagonal, offDiagonal };
}

/** q = A v for the leading m × m symmetric block held in the lower triangle; two rows at a time share the loads of v and q. */
function timesLower(a: Float64Array, n: number, m: number, v: Float64Array, q: Float64Array): void {
  let i = 0;
  if (m % 2) {
    q[0] = a[0] * v[0];
    i = 1;
  }
  for (; i < m; i += 2) {
    const r0 = i * n;
    const r1 = r0 + n;
    const v0 = v[i];
    const v1 = v[i + 1];
    let [s0, s1] = [0, 0];
    for (let k = 0; k < i; k++) {
      const a0 = a[r0 + k];
      const a1 = a[r1 + k];
      const vk = v[k];
      s0 += a0 * vk;
      s1 += a1 * vk;
      q[k] += a0 * v0 + a1 * v1;
    }
    const across = a[r1 + i];
    q[i] = s0 + a[r0 + i] * v0 + across * v1;
    q[i + 1] = s1 + across * v0 + a[r1 + i + 1] * v1;
  }
}

/** A −= v qᵀ + q vᵀ on the lower triangle of the leading m × m block. */
function subtractRankTwo(a: Float64Array, n: number, m: number, v: Float64Array, q: Float64Array): void {
  let i = 0;
  if (m % 2) {
    a[0] -= 2 * v[0] * q[0];
    i = 1;
  }
  for (; i < m; i += 2) {
    const r0 = i * n;
    const r1 = r0 + n;
    const [v0, q0, v1, q1] = [v[i], q[i], v[i + 1], q[i + 1]];
    for (let k = 0; k <= i; k++) {
      const vk = v[k];
      const qk = q[k];
      a[r0 + k] -= v0 * qk + q0 * vk;
      a[r1 + k] -= v1 * qk + q1 * vk;
    }
    a[r1 + i + 1] -= 2 * v1 * q1;
  }
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
    const l = i === 0 ? 0 : off / pivot;
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
