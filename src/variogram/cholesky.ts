/**
 * Cholesky factor of a symmetric positive definite matrix, in place: row-major n × n, the lower triangle
 * becomes L with A = L Lᵀ; the upper triangle is left alone.
 * Four rows by two columns are summed at a time, which keeps eight sums in registers; each sum still runs in the order of
 * the textbook's loop (Golub & Van Loan 2013, Matrix Computations, algorithm 4.2.2), so the result is the same to the bit.
 * @returns false when a pivot falls below 1e-12 of its diagonal (not positive definite to working precision)
 */
export function choleskyInPlace(a: Float64Array, n: number): boolean {
  let i = 0;
  for (; i + 3 < n; i += 4) {
    fourRows(a, n, i);
    for (let row = i; row < i + 4; row++) if (!finishRow(a, n, row, i)) return false;
  }
  for (; i < n; i++) if (!finishRow(a, n, i, 0)) return false;
  return true;
}

/** Columns 0 … i − 1 of L's rows i … i + 3; i is a multiple of four. */
function fourRows(a: Float64Array, n: number, i: number): void {
  const [r0, r1, r2, r3] = [i * n, (i + 1) * n, (i + 2) * n, (i + 3) * n];
  for (let j = 0; j < i; j += 2) {
    const [p, q] = [j * n, (j + 1) * n];
    let s00 = a[r0 + j];
    let s10 = a[r1 + j];
    let s20 = a[r2 + j];
    let s30 = a[r3 + j];
    let s01 = a[r0 + j + 1];
    let s11 = a[r1 + j + 1];
    let s21 = a[r2 + j + 1];
    let s31 = a[r3 + j + 1];
    for (let k = 0; k < j; k++) {
      const x = a[p + k];
      const y = a[q + k];
      const c0 = a[r0 + k];
      s00 -= c0 * x;
      s01 -= c0 * y;
      const c1 = a[r1 + k];
      s10 -= c1 * x;
      s11 -= c1 * y;
      const c2 = a[r2 + k];
      s20 -= c2 * x;
      s21 -= c2 * y;
      const c3 = a[r3 + k];
      s30 -= c3 * x;
      s31 -= c3 * y;
    }
    const d0 = a[p + j];
    const between = a[q + j];
    const d1 = a[q + j + 1];
    a[r0 + j] = s00 /= d0;
    a[r1 + j] = s10 /= d0;
    a[r2 + j] = s20 /= d0;
    a[r3 + j] = s30 /= d0;
    a[r0 + j + 1] = (s01 - s00 * between) / d1;
    a[r1 + j + 1] = (s11 - s10 * between) / d1;
    a[r2 + j + 1] = (s21 - s20 * between) / d1;
    a[r3 + j + 1] = (s31 - s30 * between) / d1;
  }
}

/** Row i of L from column `from` on, its earlier columns being done. */
function finishRow(a: Float64Array, n: number, i: number, from: number): boolean {
  const ri = i * n;
  const least = 1e-12 * a[ri + i];
  for (let j = from; j <= i; j++) {
    const rj = j * n;
    let s = a[ri + j];
    for (let k = 0; k < j; k++) s -= a[ri + k] * a[rj + k];
    if (i === j) {
      if (!(s > least)) return false;
      a[ri + i] = Math.sqrt(s);
    } else a[ri + j] = s / a[rj + j];
  }
  return true;
}

/** Solves L x = b in place for the lower factor L (row-major n × n), four rows at a time. */
export function solveLowerInPlace(l: Float64Array, n: number, b: Float64Array): void {
  let i = 0;
  for (; i + 3 < n; i += 4) {
    const [r0, r1, r2, r3] = [i * n, (i + 1) * n, (i + 2) * n, (i + 3) * n];
    let s0 = b[i];
    let s1 = b[i + 1];
    let s2 = b[i + 2];
    let s3 = b[i + 3];
    for (let k = 0; k < i; k++) {
      const x = b[k];
      s0 -= l[r0 + k] * x;
      s1 -= l[r1 + k] * x;
      s2 -= l[r2 + k] * x;
      s3 -= l[r3 + k] * x;
    }
    b[i] = s0 /= l[r0 + i];
    b[i + 1] = s1 = (s1 - l[r1 + i] * s0) / l[r1 + i + 1];
    b[i + 2] = s2 = (s2 - l[r2 + i] * s0 - l[r2 + i + 1] * s1) / l[r2 + i + 2];
    b[i + 3] = (s3 - l[r3 + i] * s0 - l[r3 + i + 1] * s1 - l[r3 + i + 2] * s2) / l[r3 + i + 3];
  }
  for (; i < n; i++) {
    const ri = i * n;
    let s = b[i];
    for (let k = 0; k < i; k++) s -= l[ri + k] * b[k];
    b[i] = s / l[ri + i];
  }
}

/** Solves Lᵀ x = b in place for the lower factor L (row-major n × n). */
export function solveUpperInPlace(l: Float64Array, n: number, b: Float64Array): void {
  for (let i = n - 1; i >= 0; i--) {
    const x = (b[i] /= l[i * n + i]);
    const ri = i * n;
    for (let k = 0; k < i; k++) b[k] -= l[ri + k] * x;
  }
}
