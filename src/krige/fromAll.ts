import { kernels } from '../variogram/kernels.ts';
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
  const { reserve, squaresOfFour, squaresOfSome } = kernels();
  const { stride, whiten } = system;
  // In the kernels' array: L⁻¹; covariances of the samples met, four nodes side by side; the nodes' squares; which samples are met.
  const from = whiten.length;
  const to = from + TOGETHER * stride;
  const list = to + TOGETHER;
  const work = reserve(list + n);
  work.set(whiten);
  const c = work.subarray(from, to).fill(0);
  const squares = work.subarray(to, list);
  const met = new Int32Array(work.buffer, work.byteOffset + list * work.BYTES_PER_ELEMENT, n + 1);
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
      met[held] = stride;
      if (held === 0) squares.fill(0);
      else squaresOfSome(0, stride, stride, from, to, list);
    } else {
      for (held = 0; held < n; held++) met[held] = held;
      squaresOfFour(0, stride, stride, from, to);
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
  met: Int32Array,
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
