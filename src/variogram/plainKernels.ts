import type { Kernels } from './kernels.ts';

/** {@link Kernels} in plain loops, for engines without vectors and pages that may not compile code. */
export function plainKernels(): Kernels {
  let held = new Float64Array(0);
  return {
    reserve: (numbers) => {
      if (held.length < numbers) held = new Float64Array(numbers);
      return held;
    },
    takeRow: (a, i, m, w, p, v, square) => takeRow(held, a, i, m, w, p, v, square),
    updateAndMultiply: (a, row, m, w, p, v, q) => updateAndMultiply(held, a, row, m, w, p, v, q),
    reflect: (v, q, m, scale, b, count, row) => reflect(held, v, q, m, scale, b, count, row),
    squaresOfFour: (l, row, rows, c, out) => squaresOfFour(held, l, row, rows, c, out),
    squaresOfSome: (l, row, rows, c, out, met) => squaresOfSome(held, l, row, rows, c, out, met),
  };
}

function takeRow(
  a: Float64Array,
  from: number,
  i: number,
  m: number,
  w: number,
  p: number,
  v: number,
  square: number,
): void {
  const wi = a[w + i];
  const pi = a[p + i];
  let sum = 0;
  for (let k = 0; k < m; k++) {
    const x = a[from + k] - (wi * a[p + k] + pi * a[w + k]);
    a[v + k] = x;
    sum += x * x;
  }
  a[square] = sum;
}

/** Four rows at a time share the loads of w, p, v and q; what spills above the diagonal is never read. */
function updateAndMultiply(
  a: Float64Array,
  start: number,
  row: number,
  m: number,
  w: number,
  p: number,
  v: number,
  q: number,
): void {
  for (let i = 0; i < m; i += 4) {
    const r0 = start + i * row;
    const r1 = r0 + row;
    const r2 = r1 + row;
    const r3 = r2 + row;
    const w0 = a[w + i];
    const w1 = a[w + i + 1];
    const w2 = a[w + i + 2];
    const w3 = a[w + i + 3];
    const p0 = a[p + i];
    const p1 = a[p + i + 1];
    const p2 = a[p + i + 2];
    const p3 = a[p + i + 3];
    const v0 = a[v + i];
    const v1 = a[v + i + 1];
    const v2 = a[v + i + 2];
    const v3 = a[v + i + 3];
    let s0 = 0;
    let s1 = 0;
    let s2 = 0;
    let s3 = 0;
    for (let k = 0; k < i; k++) {
      const wk = a[w + k];
      const pk = a[p + k];
      const vk = a[v + k];
      const a0 = (a[r0 + k] -= w0 * pk + p0 * wk);
      const a1 = (a[r1 + k] -= w1 * pk + p1 * wk);
      const a2 = (a[r2 + k] -= w2 * pk + p2 * wk);
      const a3 = (a[r3 + k] -= w3 * pk + p3 * wk);
      s0 += a0 * vk;
      s1 += a1 * vk;
      s2 += a2 * vk;
      s3 += a3 * vk;
      a[q + k] += a0 * v0 + a1 * v1 + (a2 * v2 + a3 * v3);
    }
    for (let k = i; k < i + 4; k++) {
      const wk = a[w + k];
      const pk = a[p + k];
      a[r0 + k] -= w0 * pk + p0 * wk;
      a[r1 + k] -= w1 * pk + p1 * wk;
      a[r2 + k] -= w2 * pk + p2 * wk;
      a[r3 + k] -= w3 * pk + p3 * wk;
    }
    const b10 = a[r1 + i];
    const b20 = a[r2 + i];
    const b21 = a[r2 + i + 1];
    const b30 = a[r3 + i];
    const b31 = a[r3 + i + 1];
    const b32 = a[r3 + i + 2];
    a[q + i] = s0 + a[r0 + i] * v0 + b10 * v1 + b20 * v2 + b30 * v3;
    a[q + i + 1] = s1 + b10 * v0 + a[r1 + i + 1] * v1 + b21 * v2 + b31 * v3;
    a[q + i + 2] = s2 + b20 * v0 + b21 * v1 + a[r2 + i + 2] * v2 + b32 * v3;
    a[q + i + 3] = s3 + b30 * v0 + b31 * v1 + b32 * v2 + a[r3 + i + 3] * v3;
  }
}

function reflect(
  a: Float64Array,
  v: number,
  q: number,
  m: number,
  scale: number,
  b: number,
  count: number,
  row: number,
): void {
  const s = a[scale];
  let vq = 0;
  for (let k = 0; k < m; k++) vq += a[v + k] * a[q + k];
  vq *= 0.5 * s;
  for (let k = 0; k < m; k++) a[q + k] = (a[q + k] - vq * a[v + k]) * s;
  for (let c = 0; c < count; c++, b += row) {
    let vb = 0;
    for (let k = 0; k < m; k++) vb += a[v + k] * a[b + k];
    vb *= s;
    for (let k = 0; k < m; k++) a[b + k] -= vb * a[v + k];
  }
}

/** Two rows at a time share the loads of the vectors. */
function squaresOfFour(a: Float64Array, l: number, row: number, rows: number, c: number, out: number): void {
  let q0 = 0;
  let q1 = 0;
  let q2 = 0;
  let q3 = 0;
  for (let i = 0; i < rows; i += 2) {
    // The row's end, in the four vectors' counting.
    const end = c + 4 * (i + 2);
    let u = l + i * row;
    let v = u + row;
    let a0 = 0;
    let a1 = 0;
    let a2 = 0;
    let a3 = 0;
    let b0 = 0;
    let b1 = 0;
    let b2 = 0;
    let b3 = 0;
    for (let j = c; j < end; j += 4) {
      const lu = a[u++];
      const lv = a[v++];
      const c0 = a[j];
      const c1 = a[j + 1];
      const c2 = a[j + 2];
      const c3 = a[j + 3];
      a0 += lu * c0;
      a1 += lu * c1;
      a2 += lu * c2;
      a3 += lu * c3;
      b0 += lv * c0;
      b1 += lv * c1;
      b2 += lv * c2;
      b3 += lv * c3;
    }
    q0 += a0 * a0 + b0 * b0;
    q1 += a1 * a1 + b1 * b1;
    q2 += a2 * a2 + b2 * b2;
    q3 += a3 * a3 + b3 * b3;
  }
  a[out] = q0;
  a[out + 1] = q1;
  a[out + 2] = q2;
  a[out + 3] = q3;
}

/** As {@link squaresOfFour}, of a row only the numbers up to it and met. */
function squaresOfSome(
  a: Float64Array,
  l: number,
  row: number,
  rows: number,
  c: number,
  out: number,
  list: number,
): void {
  const met = new Int32Array(a.buffer, a.byteOffset + list * a.BYTES_PER_ELEMENT);
  let q0 = 0;
  let q1 = 0;
  let q2 = 0;
  let q3 = 0;
  // Rows before the first sample met come to nothing; of a row only the samples up to it count.
  let upTo = 0;
  for (let i = met[0] & ~1; i < rows; i += 2) {
    while (met[upTo] <= i + 1) upTo++;
    const u = l + i * row;
    const v = u + row;
    let a0 = 0;
    let a1 = 0;
    let a2 = 0;
    let a3 = 0;
    let b0 = 0;
    let b1 = 0;
    let b2 = 0;
    let b3 = 0;
    for (let k = 0, j = c; k < upTo; k++, j += 4) {
      const at = met[k];
      const lu = a[u + at];
      const lv = a[v + at];
      const c0 = a[j];
      const c1 = a[j + 1];
      const c2 = a[j + 2];
      const c3 = a[j + 3];
      a0 += lu * c0;
      a1 += lu * c1;
      a2 += lu * c2;
      a3 += lu * c3;
      b0 += lv * c0;
      b1 += lv * c1;
      b2 += lv * c2;
      b3 += lv * c3;
    }
    q0 += a0 * a0 + b0 * b0;
    q1 += a1 * a1 + b1 * b1;
    q2 += a2 * a2 + b2 * b2;
    q3 += a3 * a3 + b3 * b3;
  }
  a[out] = q0;
  a[out + 1] = q1;
  a[out + 2] = q2;
  a[out + 3] = q3;
}
