import type { Target } from './block.ts';
import type { KrigeOutput } from './kriged.ts';
import { fitTrend, sampleSystem, solveSmall } from './sampleSystem.ts';
import type { SampleCovariance } from './support.ts';
import type { Drift } from './trend.ts';

/** Nodes whitened together, so that L⁻¹ is fetched once for all of them. */
const TOGETHER = 4;

/** Samples met by none of the nodes taken together are left out when they are more than this part of all. */
const LEFT_OUT = 0.25;

/**
 * Kriging from all samples. Predictions are dual: z*(x₀) = f₀ᵀβ + cᵀK⁻¹(z − Fβ) (Cressie 1993, sec. 3.4.5), n products a
 * node; the variance needs |L⁻¹c|², n²/2 products less those with samples beyond the range of all nodes together.
 */
export function krigeFromAll(
  xy: Float64Array,
  values: Float64Array | undefined,
  nodes: Float64Array,
  cov: SampleCovariance,
  target: Target,
  drift: Drift,
  out: KrigeOutput,
): void {
  const n = xy.length / 2;
  const m = nodes.length / 2;
  const q = drift.columns;
  const system = sampleSystem(xy, cov);
  const fit = fitTrend(system, drift.samples, q, values);
  const { withSample } = target;
  // Covariances of the samples met, four nodes side by side, and which samples they are.
  const c = new Float64Array(TOGETHER * system.stride);
  const met = new Uint32Array(n);
  const squares = new Float64Array(TOGETHER);
  // Per column of [K⁻¹F, K⁻¹(z − Fβ)], its product with the four nodes' covariances.
  const products = new Float64Array(TOGETHER * (q + 1));
  const multiplier = new Float64Array(q);
  for (let first = 0; first < m; first += TOGETHER) {
    const here = Math.min(TOGETHER, m - first);
    // The last batch repeats its last node.
    const last = first + here - 1;
    const [p1, p2, p3] = [Math.min(first + 1, last), Math.min(first + 2, last), Math.min(first + 3, last)];
    const x0 = nodes[2 * first];
    const y0 = nodes[2 * first + 1];
    const x1 = nodes[2 * p1];
    const y1 = nodes[2 * p1 + 1];
    const x2 = nodes[2 * p2];
    const y2 = nodes[2 * p2 + 1];
    const x3 = nodes[2 * p3];
    const y3 = nodes[2 * p3 + 1];
    let held = 0;
    for (let k = 0; k < n; k++) {
      const x = xy[2 * k];
      const y = xy[2 * k + 1];
      const c0 = withSample(x0 - x, y0 - y);
      const c1 = withSample(x1 - x, y1 - y);
      const c2 = withSample(x2 - x, y2 - y);
      const c3 = withSample(x3 - x, y3 - y);
      const j = TOGETHER * k;
      c[j] = c0;
      c[j + 1] = c1;
      c[j + 2] = c2;
      c[j + 3] = c3;
      if (c0 !== 0 || c1 !== 0 || c2 !== 0 || c3 !== 0) met[held++] = k;
    }
    if (held < (1 - LEFT_OUT) * n) {
      for (let k = 0; k < held; k++)
        for (let r = 0; r < TOGETHER; r++) c[TOGETHER * k + r] = c[TOGETHER * met[k] + r];
      squaresOfSome(system.whiten, system.stride, c, met, held, squares);
    } else {
      for (held = 0; held < n; held++) met[held] = held;
      squaresOfAll(system.whiten, system.stride, c, squares);
    }
    for (let a = 0; a < q; a++) fourProducts(fit.solvedTrend, a * n, c, met, held, products, TOGETHER * a);
    if (values) fourProducts(fit.solvedResidual, 0, c, met, held, products, TOGETHER * q);
    for (let r = 0; r < here; r++) {
      const p = first + r;
      let prediction = fit.shift + products[TOGETHER * q + r];
      for (let a = 0; a < q; a++) {
        const f = drift.nodes[p * q + a];
        multiplier[a] = f - products[TOGETHER * a + r];
        prediction += f * fit.beta[a];
      }
      solveSmall(fit.factor, fit.inverse, q, multiplier, 0);
      let added = 0;
      let lagrange = 0;
      for (let a = 0; a < q; a++) {
        const f = drift.nodes[p * q + a];
        added += (f - products[TOGETHER * a + r]) * multiplier[a];
        lagrange += f * multiplier[a];
      }
      // Rounding can leave a hair below zero at a noiseless sample.
      out.variances[p] = Math.max(0, target.own - squares[r] + added);
      if (out.lagrange) out.lagrange[p] = lagrange;
      if (values) out.predictions[p] = prediction;
    }
  }
}

/** Products of a vector, from v[at] on, with four others side by side of which only the rows of `met` are held. */
function fourProducts(
  v: Float64Array,
  at: number,
  c: Float64Array,
  met: Uint32Array,
  held: number,
  products: Float64Array,
  to: number,
): void {
  let s0 = 0;
  let s1 = 0;
  let s2 = 0;
  let s3 = 0;
  for (let k = 0, j = 0; k < held; k++, j += 4) {
    const w = v[at + met[k]];
    s0 += w * c[j];
    s1 += w * c[j + 1];
    s2 += w * c[j + 2];
    s3 += w * c[j + 3];
  }
  products[to] = s0;
  products[to + 1] = s1;
  products[to + 2] = s2;
  products[to + 3] = s3;
}

/** |L⁻¹c|² of four vectors side by side, of which only the rows of `met` are not 0 and held. */
function squaresOfSome(
  whiten: Float64Array,
  stride: number,
  c: Float64Array,
  met: Uint32Array,
  held: number,
  squares: Float64Array,
): void {
  let q0 = 0;
  let q1 = 0;
  let q2 = 0;
  let q3 = 0;
  // Rows before the first sample met come to nothing; of a row only the samples up to it count.
  let upTo = 0;
  for (let i = held > 0 ? met[0] & ~1 : stride; i < stride; i += 2) {
    while (upTo < held && met[upTo] <= i + 1) upTo++;
    const u = i * stride;
    const v = u + stride;
    let a0 = 0;
    let a1 = 0;
    let a2 = 0;
    let a3 = 0;
    let b0 = 0;
    let b1 = 0;
    let b2 = 0;
    let b3 = 0;
    for (let k = 0, j = 0; k < upTo; k++, j += 4) {
      const at = met[k];
      const lu = whiten[u + at];
      const lv = whiten[v + at];
      const c0 = c[j];
      const c1 = c[j + 1];
      const c2 = c[j + 2];
      const c3 = c[j + 3];
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
  squares[0] = q0;
  squares[1] = q1;
  squares[2] = q2;
  squares[3] = q3;
}

/** |L⁻¹c|² of four vectors side by side. */
function squaresOfAll(whiten: Float64Array, stride: number, c: Float64Array, squares: Float64Array): void {
  let q0 = 0;
  let q1 = 0;
  let q2 = 0;
  let q3 = 0;
  for (let i = 0; i < stride; i += 2) {
    // The row's end, in the four vectors' counting.
    const end = 4 * (i + 2);
    let u = i * stride;
    let v = u + stride;
    let a0 = 0;
    let a1 = 0;
    let a2 = 0;
    let a3 = 0;
    let b0 = 0;
    let b1 = 0;
    let b2 = 0;
    let b3 = 0;
    for (let j = 0; j < end; j += 4) {
      const lu = whiten[u++];
      const lv = whiten[v++];
      const c0 = c[j];
      const c1 = c[j + 1];
      const c2 = c[j + 2];
      const c3 = c[j + 3];
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
  squares[0] = q0;
  squares[1] = q1;
  squares[2] = q2;
  squares[3] = q3;
}
