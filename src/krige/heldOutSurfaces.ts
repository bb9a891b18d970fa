import { choleskyInPlace, solveLowerInPlace, solveUpperInPlace, stretched } from '../variogram/index.ts';
import type { SampleCovariance } from './support.ts';
import { driftOf, type Drift } from './trend.ts';

/** A property kriged to nodes from all its samples, and again without each part of them. */
export interface HeldOutSurfaces {
  readonly whole: Float64Array;
  /** One a fold. */
  readonly without: readonly Float64Array[];
}

/**
 * Kriging of points at nodes from all samples and from all but each fold, from one factorisation: kriging without a fold is
 * kriging with its values replaced by what the others predict there. With F the trend at the samples and
 * P = K⁻¹ − K⁻¹F(FᵀK⁻¹F)⁻¹FᵀK⁻¹ the fold's residuals are P_FF⁻¹(Pz)_F (Dubrule 1983, Math. Geology 15: 687-699, for
 * several samples at once), and with z′ the values so replaced the prediction is f₀ᵀ(FᵀK⁻¹F)⁻¹FᵀK⁻¹z′ + cᵀPz′ (dual kriging).
 * @param xy samples, 2n metres; @param values n values; @param nodes 2m metres
 * @param foldOf fold of each sample, from 0; the others must tell the trend
 * @param trend form of the mean; under a plane `cov` is the residuals'
 * @throws RangeError when two samples without noise share a place, or when samples cannot tell the trend
 */
export function heldOutSurfaces(
  xy: Float64Array,
  values: Float64Array,
  nodes: Float64Array,
  cov: SampleCovariance,
  foldOf: ArrayLike<number>,
  folds: number,
  trend: 'constant' | 'linear' = 'constant',
): HeldOutSurfaces {
  const n = values.length;
  const m = nodes.length / 2;
  const at = stretched(xy, cov.anisotropy);
  const to = stretched(nodes, cov.anisotropy);
  const drift = driftOf(trend, xy, nodes);
  const { p, slopes } = projections(at, n, cov, drift);
  const pz = new Float64Array(n);
  for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) pz[i] += p[i * n + j] * values[j];
  const c = new Float64Array(m * n);
  for (let q = 0; q < m; q++)
    for (let i = 0; i < n; i++) {
      const dx = to[2 * q] - at[2 * i];
      const dy = to[2 * q + 1] - at[2 * i + 1];
      c[q * n + i] = cov.toPoint(Math.sqrt(dx * dx + dy * dy));
    }
  const { columns } = drift;
  const surface = (z: Float64Array, weights: Float64Array) => {
    const beta = new Float64Array(columns);
    for (let a = 0; a < columns; a++) for (let i = 0; i < n; i++) beta[a] += slopes[a * n + i] * z[i];
    const out = new Float64Array(m);
    for (let q = 0; q < m; q++) {
      let sum = 0;
      for (let a = 0; a < columns; a++) sum += drift.nodes[q * columns + a] * beta[a];
      for (let i = 0; i < n; i++) sum += c[q * n + i] * weights[i];
      out[q] = sum;
    }
    return out;
  };
  const without = Array.from({ length: folds }, (_, fold) => {
    const held = Array.from({ length: n }, (_, i) => i).filter((i) => foldOf[i] === fold);
    const residuals = residualsOf(p, n, pz, held);
    const weights = pz.slice();
    const z = values.slice();
    held.forEach((f, a) => {
      z[f] -= residuals[a];
      for (let i = 0; i < n; i++) weights[i] -= p[i * n + f] * residuals[a];
    });
    return surface(z, weights);
  });
  return { whole: surface(values, pz), without };
}

/** P, n × n, and (FᵀK⁻¹F)⁻¹FᵀK⁻¹, a row for each column of the trend. */
function projections(at: Float64Array, n: number, cov: SampleCovariance, { columns: q, samples }: Drift) {
  const k = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    k[i * n + i] = cov.variance;
    for (let j = 0; j < i; j++) {
      const dx = at[2 * i] - at[2 * j];
      const dy = at[2 * i + 1] - at[2 * j + 1];
      k[i * n + j] = cov.between(Math.sqrt(dx * dx + dy * dy));
    }
  }
  if (!choleskyInPlace(k, n)) throw new RangeError('Two samples without noise lie at one place.');
  const p = new Float64Array(n * n);
  // FᵀK⁻¹, row by row.
  const solved = new Float64Array(q * n);
  for (let i = 0; i < n; i++) {
    const row = p.subarray(i * n, (i + 1) * n);
    row[i] = 1;
    solveLowerInPlace(k, n, row);
    solveUpperInPlace(k, n, row);
    for (let a = 0; a < q; a++) for (let j = 0; j < n; j++) solved[a * n + i] += row[j] * samples[j * q + a];
  }
  const normal = new Float64Array(q * q);
  for (let a = 0; a < q; a++)
    for (let b = 0; b < q; b++)
      for (let i = 0; i < n; i++) normal[a * q + b] += solved[a * n + i] * samples[i * q + b];
  if (!choleskyInPlace(normal, q)) throw new RangeError('The samples cannot tell the trend.');
  const slopes = new Float64Array(q * n);
  const right = new Float64Array(q);
  for (let i = 0; i < n; i++) {
    for (let a = 0; a < q; a++) right[a] = solved[a * n + i];
    solveLowerInPlace(normal, q, right);
    solveUpperInPlace(normal, q, right);
    for (let a = 0; a < q; a++) slopes[a * n + i] = right[a];
  }
  for (let i = 0; i < n; i++)
    for (let a = 0; a < q; a++) {
      const s = solved[a * n + i];
      for (let j = 0; j < n; j++) p[i * n + j] -= s * slopes[a * n + j];
    }
  return { p, slopes };
}

/** P_FF⁻¹(Pz)_F: measured less predicted from the others, for the samples held out together. */
function residualsOf(p: Float64Array, n: number, pz: Float64Array, held: readonly number[]): Float64Array {
  const h = held.length;
  const own = new Float64Array(h * h);
  for (let a = 0; a < h; a++) for (let b = 0; b < h; b++) own[a * h + b] = p[held[a] * n + held[b]];
  const residuals = Float64Array.from(held, (f) => pz[f]);
  if (!choleskyInPlace(own, h)) throw new RangeError('The samples not held out cannot tell the trend.');
  solveLowerInPlace(own, h, residuals);
  solveUpperInPlace(own, h, residuals);
  return residuals;
}
