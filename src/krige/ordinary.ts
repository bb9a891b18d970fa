import { choleskyInPlace, solveLowerInPlace, solveUpperInPlace } from '../variogram/index.ts';
import { blockPoints, blockVariance, sampleToBlock } from './block.ts';
import type { SampleCovariance } from './support.ts';

export interface KrigeOptions {
  /** Side of the square block to predict, m; 0 for points. */
  readonly blockM?: number;
  /** Nearest samples used at each node; all of them by default. */
  readonly neighbours?: number;
}

export interface Kriged {
  /** Predictions at the nodes; NaN-filled when no values were given. */
  readonly predictions: Float64Array;
  /** Ordinary kriging variances at the nodes. */
  readonly variances: Float64Array;
}

/**
 * Ordinary kriging of square blocks (or points) at nodes from samples of any support.
 * σ² = C̄(B,B) − cᵀK⁻¹c + (1 − 1ᵀK⁻¹c)² / 1ᵀK⁻¹1 (Cressie 1993, eq. 3.2.16, in covariances).
 * @param xy samples, 2n metres
 * @param values n values, or undefined for variances only
 * @param nodes 2m metres
 * @throws RangeError when two samples without noise share a place (K is singular)
 */
export function ordinaryKriging(
  xy: Float64Array,
  values: Float64Array | undefined,
  nodes: Float64Array,
  cov: SampleCovariance,
  options: KrigeOptions = {},
): Kriged {
  const { blockM = 0 } = options;
  const n = xy.length / 2;
  const m = nodes.length / 2;
  const used = Math.min(n, options.neighbours ?? n);
  const block = blockPoints(blockM);
  const own = blockVariance(cov.ground, block);
  const predictions = new Float64Array(m).fill(NaN);
  const variances = new Float64Array(m);
  const k = new Float64Array(used * used);
  const c = new Float64Array(used);
  const ones = new Float64Array(used);
  const index = new Uint32Array(used);
  const near = new Float64Array(used);
  let oneKone = 0;

  const factor = () => {
    for (let i = 0; i < used; i++) {
      const xi = xy[2 * index[i]];
      const yi = xy[2 * index[i] + 1];
      for (let j = 0; j < i; j++) {
        const dx = xy[2 * index[j]] - xi;
        const dy = xy[2 * index[j] + 1] - yi;
        // Math.hypot guards against overflow that metres never meet, at several times the cost.
        k[i * used + j] = cov.between(Math.sqrt(dx * dx + dy * dy));
      }
      k[i * used + i] = cov.variance;
      ones[i] = 1;
    }
    if (!choleskyInPlace(k, used)) throw new RangeError('Two samples without noise lie at one place.');
    solveLowerInPlace(k, used, ones);
    oneKone = 0;
    for (let i = 0; i < used; i++) oneKone += ones[i] * ones[i];
  };

  const whole = used === n;
  if (whole) {
    for (let i = 0; i < n; i++) index[i] = i;
    factor();
  }
  for (let p = 0; p < m; p++) {
    const [px, py] = [nodes[2 * p], nodes[2 * p + 1]];
    if (!whole) {
      nearest(xy, px, py, index, near);
      factor();
    }
    for (let i = 0; i < used; i++)
      c[i] = sampleToBlock(cov, px - xy[2 * index[i]], py - xy[2 * index[i] + 1], blockM, block);
    solveLowerInPlace(k, used, c);
    let [cKc, oneKc] = [0, 0];
    for (let i = 0; i < used; i++) {
      cKc += c[i] * c[i];
      oneKc += c[i] * ones[i];
    }
    const lagrange = (1 - oneKc) / oneKone;
    // Rounding can leave a hair below zero at a noiseless sample.
    variances[p] = Math.max(0, own - cKc + (1 - oneKc) * lagrange);
    if (!values) continue;
    // Weights are K⁻¹(c + 1·lagrange); L⁻ᵀ brings them back from the factored side.
    for (let i = 0; i < used; i++) c[i] += ones[i] * lagrange;
    solveUpperInPlace(k, used, c);
    let sum = 0;
    for (let i = 0; i < used; i++) sum += c[i] * values[index[i]];
    predictions[p] = sum;
  }
  return { predictions, variances };
}

/** Fills `index` with the nearest samples to (px, py), nearest first. */
function nearest(xy: Float64Array, px: number, py: number, index: Uint32Array, near: Float64Array): void {
  const want = index.length;
  let held = 0;
  for (let i = 0; 2 * i < xy.length; i++) {
    const dx = xy[2 * i] - px;
    const dy = xy[2 * i + 1] - py;
    const d2 = dx * dx + dy * dy;
    if (held === want && d2 >= near[want - 1]) continue;
    let k = held < want ? held++ : want - 1;
    while (k > 0 && near[k - 1] > d2) {
      near[k] = near[k - 1];
      index[k] = index[k - 1];
      k--;
    }
    near[k] = d2;
    index[k] = i;
  }
}
