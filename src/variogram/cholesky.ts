/**
 * Cholesky factor of a symmetric positive definite matrix, in place: row-major n × n, the lower triangle
 * becomes L with A = L Lᵀ; the upper triangle is left alone.
 * @returns false when a pivot falls below 1e-12 of its diagonal (not positive definite to working precision)
 */
export function choleskyInPlace(a: Float64Array, n: number): boolean {
  for (let i = 0; i < n; i++) {
    const ri = i * n;
    const least = 1e-12 * a[ri + i];
    for (let j = 0; j <= i; j++) {
      const rj = j * n;
      let s = a[ri + j];
      for (let k = 0; k < j; k++) s -= a[ri + k] * a[rj + k];
      if (i === j) {
        if (!(s > least)) return false;
        a[ri + i] = Math.sqrt(s);
      } else a[ri + j] = s / a[rj + j];
    }
  }
  return true;
}

/** Solves L x = b in place for the lower factor L (row-major n × n). */
export function solveLowerInPlace(l: Float64Array, n: number, b: Float64Array): void {
  for (let i = 0; i < n; i++) {
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
