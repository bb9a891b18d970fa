import { choleskyInPlace, solveLowerInPlace, solveUpperInPlace, stretched } from '../variogram/index.ts';
import { meanCovariance } from './dispersion.ts';
import type { SampleCovariance } from './support.ts';

/** Samples used at most: more are thinned evenly, since by then the mean is known well. */
const MOST_SAMPLES = 300;

/**
 * The field's own mean (not the process's) by ordinary block kriging with the field as the block.
 * @param samples 2n metres; @param z their n values; @param field nodes spread evenly over the field
 * @returns prediction and its variance, not below 0
 */
export function krigedFieldMean(
  samples: Float64Array,
  z: Float64Array,
  field: Float64Array,
  cov: SampleCovariance,
): { readonly mean: number; readonly variance: number } {
  const xy = stretched(samples, cov.anisotropy);
  const fieldNodes = stretched(field, cov.anisotropy);
  const n = Math.min(z.length, MOST_SAMPLES);
  const used = Uint32Array.from({ length: n }, (_, i) => Math.floor(((i + 0.5) * z.length) / n));
  const k = new Float64Array(n * n);
  const c = new Float64Array(n);
  const ones = new Float64Array(n).fill(1);
  const apart = (ax: number, ay: number, bx: number, by: number) =>
    Math.sqrt((ax - bx) * (ax - bx) + (ay - by) * (ay - by));
  const nodes = fieldNodes.length / 2;
  for (let i = 0; i < n; i++) {
    const [x, y] = [xy[2 * used[i]], xy[2 * used[i] + 1]];
    for (let j = 0; j < i; j++) k[i * n + j] = cov.between(apart(x, y, xy[2 * used[j]], xy[2 * used[j] + 1]));
    k[i * n + i] = cov.variance;
    for (let q = 0; q < nodes; q++)
      c[i] += cov.toPoint(apart(x, y, fieldNodes[2 * q], fieldNodes[2 * q + 1])) / nodes;
  }
  if (!choleskyInPlace(k, n)) throw new RangeError('Two samples without noise lie at one place.');
  solveLowerInPlace(k, n, c);
  solveLowerInPlace(k, n, ones);
  let [cKc, oneKc, oneKone] = [0, 0, 0];
  for (let i = 0; i < n; i++) {
    cKc += c[i] * c[i];
    oneKc += c[i] * ones[i];
    oneKone += ones[i] * ones[i];
  }
  const lagrange = (1 - oneKc) / oneKone;
  for (let i = 0; i < n; i++) c[i] += ones[i] * lagrange;
  solveUpperInPlace(k, n, c);
  let mean = 0;
  for (let i = 0; i < n; i++) mean += c[i] * z[used[i]];
  return {
    mean,
    variance: Math.max(0, meanCovariance(fieldNodes, cov.ground) - cKc + (1 - oneKc) * lagrange),
  };
}
