import {
  choleskyInPlace,
  orderedNeighbours,
  semivariance,
  solveLowerInPlace,
  type VariogramModel,
} from '../variogram/index.ts';
import { randomNormal, type Random } from '../describe/random.ts';

/**
 * One realisation of a Gaussian field with zero mean at positions, nugget included.
 * Each position is drawn given its nearest earlier ones (sequential Gaussian simulation on Vecchia's conditionals);
 * exact while there are no more positions than `neighbours` + 1.
 * @throws RangeError when positions lie at one place
 */
export function simulateField(
  xy: Float64Array,
  model: VariogramModel,
  random: Random,
  { neighbours = 40 } = {},
): Float64Array {
  const n = xy.length / 2;
  const sill = model.nugget + model.partialSill;
  const { order, neighbours: list, starts } = orderedNeighbours(xy, neighbours);
  const z = new Float64Array(n);
  const k = new Float64Array(neighbours * neighbours);
  const c = new Float64Array(neighbours);
  const v = new Float64Array(neighbours);
  const between = (p: number, q: number) => {
    const h = Math.hypot(xy[2 * p] - xy[2 * q], xy[2 * p + 1] - xy[2 * q + 1]);
    return sill - semivariance(model, h);
  };
  for (let i = 0; i < n; i++) {
    const p = order[i];
    const from = starts[i];
    const m = starts[i + 1] - from;
    for (let a = 0; a < m; a++) {
      for (let b = 0; b <= a; b++) k[a * m + b] = between(list[from + a], list[from + b]);
      c[a] = between(list[from + a], p);
      v[a] = z[list[from + a]];
    }
    if (!choleskyInPlace(k, m)) throw new RangeError('Two positions to simulate lie at one place.');
    solveLowerInPlace(k, m, c);
    solveLowerInPlace(k, m, v);
    let [mean, variance] = [0, sill];
    for (let a = 0; a < m; a++) {
      mean += c[a] * v[a];
      variance -= c[a] * c[a];
    }
    z[p] = mean + Math.sqrt(Math.max(variance, 0)) * randomNormal(random);
  }
  return z;
}
