/** Kriging in an endless lattice: samples about one cell, and the variances over it. */
import type { LatticeBasis } from '../../src/design/index.ts';
import { ordinaryKriging, type SampleCovariance } from '../../src/krige/index.ts';
import { stretched } from '../../src/variogram/index.ts';

/** Points of a lattice within `reachM` of the middle of one of its cells, in the plane of the covariance. */
function around({ u, v }: LatticeBasis, reachM: number, cov: SampleCovariance): Float64Array {
  const out: number[] = [];
  for (let j = -30; j <= 30; j++)
    for (let i = -30; i <= 30; i++) {
      const [x, y] = [(i - 0.5) * u[0] + (j - 0.5) * v[0], (i - 0.5) * u[1] + (j - 0.5) * v[1]];
      if (Math.hypot(...stretched(Float64Array.of(x, y), cov.anisotropy)) < reachM) out.push(x, y);
    }
  return Float64Array.from(out);
}

/** Places over that cell: its middle and those of its two halves (triangles), then `steps`² centres of its parts. */
function overCell({ u, v }: LatticeBasis, steps: number): Float64Array {
  const half = [(u[0] + v[0]) / 6, (u[1] + v[1]) / 6];
  const out = [0, 0, half[0], half[1], -half[0], -half[1]];
  for (let j = 0; j < steps; j++)
    for (let i = 0; i < steps; i++) {
      const [a, b] = [(i + 0.5) / steps - 0.5, (j + 0.5) / steps - 0.5];
      out.push(a * u[0] + b * v[0], a * u[1] + b * v[1]);
    }
  return Float64Array.from(out);
}

/** Mean and greatest point-kriging variance in an endless lattice. */
export function endlessVariance(basis: LatticeBasis, cov: SampleCovariance, reachM: number) {
  const { variances } = ordinaryKriging(around(basis, reachM, cov), undefined, overCell(basis, 16), cov);
  const sum = variances.subarray(3).reduce((s, v) => s + v, 0);
  return { mean: sum / (variances.length - 3), greatest: Math.max(...variances) };
}
