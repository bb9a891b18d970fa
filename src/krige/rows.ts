/**
 * Cholesky factors whose rows and right-hand sides lie in one row-major array: a right-hand side solved is a row like
 * those of the factor. Four rows are solved at a time against two rows of the factor, so that each number fetched is used
 * several times and the sums do not wait for one another.
 */

/**
 * Solves L x = b for the four rows from `row` on, in place. L is rows 0…n−1; `inverse` holds 1 / L_ii.
 */
export function solveFourRows(
  a: Float64Array,
  stride: number,
  n: number,
  inverse: Float64Array,
  row: number,
): void {
  const p = row * stride;
  const q = p + stride;
  const r = q + stride;
  const s = r + stride;
  let j = 0;
  for (; j + 1 < n; j += 2) {
    const u = j * stride;
    const v = u + stride;
    let p0 = a[p + j];
    let q0 = a[q + j];
    let r0 = a[r + j];
    let s0 = a[s + j];
    let p1 = a[p + j + 1];
    let q1 = a[q + j + 1];
    let r1 = a[r + j + 1];
    let s1 = a[s + j + 1];
    for (let k = 0; k < j; k++) {
      const lu = a[u + k];
      const lv = a[v + k];
      const pk = a[p + k];
      const qk = a[q + k];
      const rk = a[r + k];
      const sk = a[s + k];
      p0 -= lu * pk;
      q0 -= lu * qk;
      r0 -= lu * rk;
      s0 -= lu * sk;
      p1 -= lv * pk;
      q1 -= lv * qk;
      r1 -= lv * rk;
      s1 -= lv * sk;
    }
    const i0 = inverse[j];
    const i1 = inverse[j + 1];
    const l = a[v + j];
    a[p + j] = p0 *= i0;
    a[q + j] = q0 *= i0;
    a[r + j] = r0 *= i0;
    a[s + j] = s0 *= i0;
    a[p + j + 1] = (p1 - l * p0) * i1;
    a[q + j + 1] = (q1 - l * q0) * i1;
    a[r + j + 1] = (r1 - l * r0) * i1;
    a[s + j + 1] = (s1 - l * s0) * i1;
  }
  if (j < n) {
    const u = j * stride;
    let p0 = a[p + j];
    let q0 = a[q + j];
    let r0 = a[r + j];
    let s0 = a[s + j];
    for (let k = 0; k < j; k++) {
      const lu = a[u + k];
      p0 -= lu * a[p + k];
      q0 -= lu * a[q + k];
      r0 -= lu * a[r + k];
      s0 -= lu * a[s + k];
    }
    const i0 = inverse[j];
    a[p + j] = p0 * i0;
    a[q + j] = q0 * i0;
    a[r + j] = r0 * i0;
    a[s + j] = s0 * i0;
  }
}

/**
 * Cholesky factor of rows 0…n−1 in place, lower triangle; `inverse` is filled with 1 / L_ii.
 * @returns false when a pivot falls below 1e-12 of its diagonal (not positive definite to working precision)
 */
export function factorRows(a: Float64Array, stride: number, n: number, inverse: Float64Array): boolean {
  for (let i = 0; i < n; i += 4) {
    const to = Math.min(n, i + 4);
    let solved = 0;
    if (to === i + 4) {
      solveFourRows(a, stride, i, inverse, i);
      solved = i;
    }
    for (let g = i; g < to; g++) {
      const pg = g * stride;
      for (let j = solved; j < g; j++) a[pg + j] = (a[pg + j] - dotRows(a, pg, j * stride, j)) * inverse[j];
      const pivot = a[pg + g] - dotRows(a, pg, pg, g);
      if (!(pivot > 1e-12 * a[pg + g])) return false;
      a[pg + g] = Math.sqrt(pivot);
      inverse[g] = 1 / a[pg + g];
    }
  }
  return true;
}

/** Σ a[p + k]·a[q + k] over k < n, in four sums that do not wait for one another. */
export function dotRows(a: Float64Array, p: number, q: number, n: number): number {
  let s0 = 0;
  let s1 = 0;
  let s2 = 0;
  let s3 = 0;
  let k = 0;
  for (; k + 3 < n; k += 4) {
    s0 += a[p + k] * a[q + k];
    s1 += a[p + k + 1] * a[q + k + 1];
    s2 += a[p + k + 2] * a[q + k + 2];
    s3 += a[p + k + 3] * a[q + k + 3];
  }
  for (; k < n; k++) s0 += a[p + k] * a[q + k];
  return s0 + s1 + (s2 + s3);
}
