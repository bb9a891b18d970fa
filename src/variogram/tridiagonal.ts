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

/** q = A v for the leading m × m symmetric block held in the lower triangle; four rows at a time share the loads of v and q. */
function timesLower(a: Float64Array, n: number, m: number, v: Float64Array, q: Float64Array): void {
  let i = 0;
  for (; i < m % 4; i++) plainRow(a, n, i, v, q);
  for (; i < m; i += 4) {
    const r0 = i * n;
    const r1 = r0 + n;
    const r2 = r1 + n;
    const r3 = r2 + n;
    const v0 = v[i];
    const v1 = v[i + 1];
    const v2 = v[i + 2];
    const v3 = v[i + 3];
    let s0 = 0;
    let s1 = 0;
    let s2 = 0;
    let s3 = 0;
    for (let k = 0; k < i; k++) {
      const a0 = a[r0 + k];
      const a1 = a[r1 + k];
      const a2 = a[r2 + k];
      const a3 = a[r3 + k];
      const vk = v[k];
      s0 += a0 * vk;
      s1 += a1 * vk;
      s2 += a2 * vk;
      s3 += a3 * vk;
      q[k] += a0 * v0 + a1 * v1 + (a2 * v2 + a3 * v3);
    }
    // The 4 × 4 block on the diagonal, of which the lower triangle is held.
    const b10 = a[r1 + i];
    const b20 = a[r2 + i];
    const b21 = a[r2 + i + 1];
    const b30 = a[r3 + i];
    const b31 = a[r3 + i + 1];
    const b32 = a[r3 + i + 2];
    q[i] = s0 + a[r0 + i] * v0 + b10 * v1 + b20 * v2 + b30 * v3;
    q[i + 1] = s1 + b10 * v0 + a[r1 + i + 1] * v1 + b21 * v2 + b31 * v3;
    q[i + 2] = s2 + b20 * v0 + b21 * v1 + a[r2 + i + 2] * v2 + b32 * v3;
    q[i + 3] = s3 + b30 * v0 + b31 * v1 + b32 * v2 + a[r3 + i + 3] * v3;
  }
}

function plainRow(a: Float64Array, n: number, i: number, v: Float64Array, q: Float64Array): void {
  const ri = i * n;
  let s = 0;
  for (let k = 0; k < i; k++) {
    s += a[ri + k] * v[k];
    q[k] += a[ri + k] * v[i];
  }
  q[i] = s + a[ri + i] * v[i];
}

/** A −= v qᵀ + q vᵀ on the lower triangle of the leading m × m block; what spills above the diagonal is never read. */
function subtractRankTwo(a: Float64Array, n: number, m: number, v: Float64Array, q: Float64Array): void {
  let i = 0;
  for (; i < m % 4; i++) for (let k = 0; k <= i; k++) a[i * n + k] -= v[i] * q[k] + q[i] * v[k];
  for (; i < m; i += 4) {
    const r0 = i * n;
    const r1 = r0 + n;
    const r2 = r1 + n;
    const r3 = r2 + n;
    const v0 = v[i];
    const v1 = v[i + 1];
    const v2 = v[i + 2];
    const v3 = v[i + 3];
    const q0 = q[i];
    const q1 = q[i + 1];
    const q2 = q[i + 2];
    const q3 = q[i + 3];
    for (let k = 0; k < i + 4; k++) {
      const vk = v[k];
      const qk = q[k];
      a[r0 + k] -= v0 * qk + q0 * vk;
      a[r1 + k] -= v1 * qk + q1 * vk;
      a[r2 + k] -= v2 * qk + q2 * vk;
      a[r3 + k] -= v3 * qk + q3 * vk;
    }
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
