import { choleskyInPlace, solveLowerInPlace, solveUpperInPlace, stretched } from '../variogram/index.ts';
import { sampleSystem, type SampleSystem } from './sampleSystem.ts';
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
  const projection = projectionOf(sampleSystem(at, cov), drift);
  const { slopes } = projection;
  const pz = projected(projection, values);
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
    if (held.length === 0) return surface(values, pz);
    const residuals = residualsOf(projection, pz, held);
    const z = values.slice();
    held.forEach((f, a) => (z[f] -= residuals[a]));
    return surface(z, projected(projection, z));
  });
  return { whole: surface(values, pz), without };
}

/** What P is made of: it is n × n, and never needed whole. */
interface Projection {
  readonly system: SampleSystem;
  readonly columns: number;
  /** FᵀK⁻¹, row by row. */
  readonly solved: Float64Array;
  /** (FᵀK⁻¹F)⁻¹FᵀK⁻¹, a row for each column of the trend. */
  readonly slopes: Float64Array;
}

function projectionOf(system: SampleSystem, { columns: q, samples }: Drift): Projection {
  const n = system.count;
  const solved = new Float64Array(q * n);
  const column = new Float64Array(n);
  for (let a = 0; a < q; a++) {
    for (let i = 0; i < n; i++) column[i] = samples[i * q + a];
    solved.set(solvedBy(system, column), a * n);
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
  return { system, columns: q, solved, slopes };
}

/** K⁻¹b. */
function solvedBy({ count: n, stride, whiten }: SampleSystem, b: Float64Array): Float64Array {
  const out = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const row = i * stride;
    let sum = 0;
    for (let k = 0; k <= i; k++) sum += whiten[row + k] * b[k];
    for (let k = 0; k <= i; k++) out[k] += whiten[row + k] * sum;
  }
  return out;
}

/** Pz. */
function projected({ system, columns, solved, slopes }: Projection, z: Float64Array): Float64Array {
  const n = system.count;
  const out = solvedBy(system, z);
  for (let a = 0; a < columns; a++) {
    let slope = 0;
    for (let i = 0; i < n; i++) slope += slopes[a * n + i] * z[i];
    for (let i = 0; i < n; i++) out[i] -= solved[a * n + i] * slope;
  }
  return out;
}

/** P_FF⁻¹(Pz)_F: measured less predicted from the others, for the samples held out together. */
function residualsOf(
  { system: { count: n, stride, whiten }, columns, solved, slopes }: Projection,
  pz: Float64Array,
  held: readonly number[],
): Float64Array {
  const h = held.length;
  // The lower triangle of P_FF; K⁻¹ is the product of L⁻¹'s columns.
  const own = new Float64Array(h * h);
  const row = new Float64Array(h);
  for (let k = held[0]; k < n; k++) {
    let met = 0;
    for (; met < h && held[met] <= k; met++) row[met] = whiten[k * stride + held[met]];
    for (let a = 0; a < met; a++) {
      const w = row[a];
      for (let b = 0; b <= a; b++) own[a * h + b] += w * row[b];
    }
  }
  for (let a = 0; a < h; a++)
    for (let b = 0; b <= a; b++)
      for (let t = 0; t < columns; t++) own[a * h + b] -= solved[t * n + held[a]] * slopes[t * n + held[b]];
  const residuals = Float64Array.from(held, (f) => pz[f]);
  if (!choleskyInPlace(own, h)) throw new RangeError('The samples not held out cannot tell the trend.');
  solveLowerInPlace(own, h, residuals);
  solveUpperInPlace(own, h, residuals);
  return residuals;
}
