import { choleskyInPlace, solveLowerInPlace, solveUpperInPlace } from '../variogram/index.ts';
import { copyOf, giveBack, meanVarianceOf, takeStop, type Conditioned } from './conditioned.ts';

export interface Exchanged {
  /** Candidates taken in the end, in the places of those they replaced. */
  readonly taken: Int32Array;
  readonly meanVariance: number;
  readonly swaps: number;
}

/** A swap must gain this share of the mean variance: less is rounding. */
const LEAST_GAIN = 1e-9;

/**
 * Swaps taken stops for candidates while the mean ordinary-kriging variance falls: each taken stop in turn is given
 * back and the best candidate taken in its stead, until a whole round swaps none (Fedorov 1972; Cook & Nachtsheim 1980,
 * Technometrics 22: 315-324, the modified exchange). Exact, and no chance is involved; it never raises the variance.
 * @param base before any of `taken` was taken; left as it is
 */
export function exchangeStops(base: Conditioned, taken: Int32Array, mostRounds = 20): Exchanged {
  const own = taken.slice();
  const k = own.length;
  const { candidates, nodes } = base;
  let state = afterTaking(base, own);
  let current = meanVarianceOf(state);
  let swaps = 0;
  const isTaken = new Uint8Array(candidates);
  for (const s of own) isTaken[s] = 1;
  const weights = new Float64Array(candidates);
  const nodeWeights = new Float64Array(nodes);

  for (let round = 0; round < mostRounds; round++) {
    let swapped = 0;
    for (let i = 0; i < k; i++) {
      // Row i of the inverse of the taken stops' covariances.
      const row = inverseRow(base, own, i);
      if (!row) continue;
      const variance = 1 / row[i];
      let drift = 0;
      weights.fill(0);
      nodeWeights.fill(0);
      for (let j = 0; j < k; j++) {
        drift += row[j] * base.candidateDrift[own[j]] * variance;
        const [c, n] = [own[j] * candidates, own[j] * nodes];
        for (let t = 0; t < candidates; t++) weights[t] += row[j] * base.among[c + t];
        for (let x = 0; x < nodes; x++) nodeWeights[x] += row[j] * base.toNode[n + x];
      }
      const best = bestInstead(state, isTaken, weights, nodeWeights, variance, drift);
      if (best.candidate < 0 || !(best.meanVariance < current * (1 - LEAST_GAIN))) continue;
      giveBack(state, weights, nodeWeights, variance, drift);
      // The only stop there was: what is left of q is rounding.
      if (k === 1) state.driftPrecision = base.driftPrecision;
      isTaken[own[i]] = 0;
      own[i] = best.candidate;
      isTaken[own[i]] = 1;
      takeStop(state, own[i]);
      current = best.meanVariance;
      swapped++;
    }
    swaps += swapped;
    if (swapped === 0) break;
    // Taken afresh, so that rounding does not add up.
    state = afterTaking(base, own);
    current = meanVarianceOf(state);
  }
  return { taken: own, meanVariance: current, swaps };
}

/** The candidate that leaves the least mean variance once the stop with these weights is given back. */
function bestInstead(
  state: Conditioned,
  isTaken: Uint8Array,
  weights: Float64Array,
  nodeWeights: Float64Array,
  variance: number,
  drift: number,
): { readonly candidate: number; readonly meanVariance: number } {
  const { candidates, nodes, among, toNode, nodeVariance, nodeDrift, candidateDrift } = state;
  // The nodes with the stop given back, then each candidate as in meanVarianceWith.
  const h = new Float64Array(nodes);
  let [total, hh] = [0, 0];
  for (let x = 0; x < nodes; x++) {
    total += nodeVariance[x] + variance * nodeWeights[x] ** 2;
    h[x] = nodeDrift[x] + drift * nodeWeights[x];
    hh += h[x] * h[x];
  }
  const without = Math.max(0, state.driftPrecision - (drift * drift) / variance);
  let best = { candidate: -1, meanVariance: Infinity };
  for (let s = 0; s < candidates; s++) {
    if (isTaken[s]) continue;
    const w = weights[s] * variance;
    const v = among[s * candidates + s] + weights[s] * w;
    if (!(v > 1e-10 * state.sampleVariance)) continue;
    let [gg, gh] = [0, 0];
    for (let x = 0, at = s * nodes; x < nodes; x++, at++) {
      const g = toNode[at] + w * nodeWeights[x];
      gg += g * g;
      gh += g * h[x];
    }
    const own = candidateDrift[s] + drift * weights[s];
    const f = own / v;
    const mean = (total - gg / v + (hh - 2 * f * gh + f * f * gg) / (without + f * own)) / nodes;
    if (mean < best.meanVariance) best = { candidate: s, meanVariance: mean };
  }
  return best;
}

function afterTaking(base: Conditioned, taken: Int32Array): Conditioned {
  const state = copyOf(base);
  for (const s of taken) takeStop(state, s);
  return state;
}

function inverseRow(base: Conditioned, taken: Int32Array, i: number): Float64Array | undefined {
  const k = taken.length;
  const m = new Float64Array(k * k);
  for (let a = 0; a < k; a++)
    for (let b = 0; b < k; b++) m[a * k + b] = base.among[taken[a] * base.candidates + taken[b]];
  if (!choleskyInPlace(m, k)) return undefined;
  const row = new Float64Array(k);
  row[i] = 1;
  solveLowerInPlace(m, k, row);
  solveUpperInPlace(m, k, row);
  return row;
}
