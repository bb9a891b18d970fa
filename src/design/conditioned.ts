import { targetOf, type SampleCovariance } from '../krige/index.ts';
import { choleskyInPlace, solveLowerInPlace, stretched } from '../variogram/index.ts';
import type { FlatPositions } from '../field/index.ts';

/**
 * Candidate stops and field nodes given the stops already taken, the mean being unknown. Simple-kriging covariances
 * C(a,b) = c(a,b) − c_aᵀK⁻¹c_b, and apart from them what the unknown mean adds: h_a = 1 − 1ᵀK⁻¹c_a and q = 1ᵀK⁻¹1, so
 * that the ordinary-kriging covariance is C(a,b) + h_a·h_b / q (Cressie 1993, section 3.4.5; Rasmussen & Williams
 * 2006, eq. 2.42 with a flat prior). Kept apart, they also hold where no stop has been taken (q = 0).
 */
export interface Conditioned {
  readonly candidates: number;
  readonly nodes: number;
  /** candidates × nodes, row-major: candidate's sample with node's block. */
  readonly toNode: Float64Array;
  /** candidates × candidates, symmetric: their samples, each with its own noise on the diagonal. */
  readonly among: Float64Array;
  readonly nodeVariance: Float64Array;
  readonly nodeDrift: Float64Array;
  readonly candidateDrift: Float64Array;
  /** q; 0 while no stop has been taken. */
  driftPrecision: number;
  /** Variance of a sample before any was taken. */
  readonly sampleVariance: number;
}

/**
 * Candidates and nodes given samples taken: places in flat metres, none taken perhaps.
 * Work and memory go with n²·(candidates + nodes) and candidates².
 * @param blockM side of the block a node stands for, m; 0 for points
 * @throws RangeError when two samples without noise share a place
 */
export function conditionedOn(
  taken: FlatPositions,
  stops: FlatPositions,
  centres: FlatPositions,
  cov: SampleCovariance,
  blockM: number,
): Conditioned {
  const { anisotropy } = cov;
  const takenXy = stretched(taken, anisotropy);
  const candidatesXy = stretched(stops, anisotropy);
  const nodesXy = stretched(centres, anisotropy);
  const [n, candidates, nodes] = [takenXy.length / 2, candidatesXy.length / 2, nodesXy.length / 2];
  const target = targetOf(cov, blockM, anisotropy);
  const toBlock = (xy: FlatPositions, i: number, x: number) =>
    target.withSample(nodesXy[2 * x] - xy[2 * i], nodesXy[2 * x + 1] - xy[2 * i + 1]);
  const state: Conditioned = {
    candidates,
    nodes,
    toNode: new Float64Array(candidates * nodes),
    among: new Float64Array(candidates * candidates),
    nodeVariance: new Float64Array(nodes).fill(target.own),
    nodeDrift: new Float64Array(nodes).fill(1),
    candidateDrift: new Float64Array(candidates).fill(1),
    driftPrecision: 0,
    sampleVariance: cov.variance,
  };
  const { toNode, among } = state;
  for (let s = 0; s < candidates; s++) {
    for (let x = 0; x < nodes; x++) toNode[s * nodes + x] = toBlock(candidatesXy, s, x);
    for (let t = 0; t < s; t++)
      among[s * candidates + t] = cov.between(apart(candidatesXy, s, candidatesXy, t));
    among[s * candidates + s] = cov.variance;
  }
  if (n > 0) {
    const k = new Float64Array(n * n);
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < i; j++) k[i * n + j] = cov.between(apart(takenXy, i, takenXy, j));
      k[i * n + i] = cov.variance;
    }
    if (!choleskyInPlace(k, n)) throw new RangeError('Two samples without noise lie at one place.');
    const ones = new Float64Array(n).fill(1);
    solveLowerInPlace(k, n, ones);
    // A = L⁻¹·(samples to candidates) and B = L⁻¹·(samples to nodes), row by row.
    const a = new Float64Array(n * candidates);
    const b = new Float64Array(n * nodes);
    for (let i = 0; i < n; i++) {
      for (let t = 0; t < candidates; t++)
        a[i * candidates + t] = cov.between(apart(takenXy, i, candidatesXy, t));
      for (let x = 0; x < nodes; x++) b[i * nodes + x] = toBlock(takenXy, i, x);
    }
    solveLowerRows(k, n, a, candidates);
    solveLowerRows(k, n, b, nodes);
    for (let i = 0; i < n; i++) {
      for (let s = 0; s < candidates; s++) {
        const f = a[i * candidates + s];
        addScaled(toNode, s * nodes, b, i * nodes, nodes, -f);
        addScaled(among, s * candidates, a, i * candidates, s + 1, -f);
      }
      for (let x = 0; x < nodes; x++) state.nodeVariance[x] -= b[i * nodes + x] ** 2;
      addScaled(state.nodeDrift, 0, b, i * nodes, nodes, -ones[i]);
      addScaled(state.candidateDrift, 0, a, i * candidates, candidates, -ones[i]);
      state.driftPrecision += ones[i] * ones[i];
    }
  }
  for (let s = 0; s < candidates; s++)
    for (let t = 0; t < s; t++) among[t * candidates + s] = among[s * candidates + t];
  return state;
}

export function copyOf(state: Conditioned): Conditioned {
  return {
    ...state,
    toNode: state.toNode.slice(),
    among: state.among.slice(),
    nodeVariance: state.nodeVariance.slice(),
    nodeDrift: state.nodeDrift.slice(),
    candidateDrift: state.candidateDrift.slice(),
  };
}

/** Mean ordinary-kriging variance over the nodes; Infinity while no stop has been taken. */
export function meanVarianceOf(state: Conditioned): number {
  if (state.driftPrecision === 0) return Infinity;
  let sum = 0;
  for (let x = 0; x < state.nodes; x++)
    sum += state.nodeVariance[x] + state.nodeDrift[x] ** 2 / state.driftPrecision;
  return sum / state.nodes;
}

/**
 * The mean ordinary-kriging variance were candidate `s` taken too: with v its variance and g its covariances with the
 * nodes, Σ(V − g²/v + (h − h_s·g/v)² / (q + h_s²/v)). Infinity where its sample would tell nothing new.
 */
export function meanVarianceWith(state: Conditioned, s: number): number {
  const { toNode, nodes, nodeVariance, nodeDrift, candidateDrift, candidates } = state;
  const v = state.among[s * candidates + s];
  if (!(v > 1e-10 * state.sampleVariance)) return Infinity;
  let [variance, gg, gh, hh] = [0, 0, 0, 0];
  for (let x = 0, at = s * nodes; x < nodes; x++, at++) {
    const g = toNode[at];
    const h = nodeDrift[x];
    variance += nodeVariance[x];
    gg += g * g;
    gh += g * h;
    hh += h * h;
  }
  const f = candidateDrift[s] / v;
  const precision = state.driftPrecision + f * candidateDrift[s];
  return (variance - gg / v + (hh - 2 * f * gh + f * f * gg) / precision) / nodes;
}

/** Takes candidate `s`: a rank-one update of every covariance. */
export function takeStop(state: Conditioned, s: number): void {
  const { candidates, nodes } = state;
  const v = state.among[s * candidates + s];
  const own = state.among.slice(s * candidates, (s + 1) * candidates);
  const ownNodes = state.toNode.slice(s * nodes, (s + 1) * nodes);
  addRankOne(state, own, ownNodes, state.candidateDrift[s], -1 / v);
}

/**
 * Gives a stop back. `weights` and `nodeWeights` are the regression weights on it of all candidates and nodes given
 * the other stops; `variance` and `drift` its own given them: {@link takeStop} undone.
 */
export function giveBack(
  state: Conditioned,
  weights: Float64Array,
  nodeWeights: Float64Array,
  variance: number,
  drift: number,
): void {
  // Given the others its covariance with anything is weight × variance, so C⁻ = C + weight·weightᵀ·variance.
  addRankOne(state, weights, nodeWeights, drift / variance, variance);
}

/** C += f·a·aᵀ, h += f·a·d and q −= … with the signs of taking (f < 0) or giving back (f > 0). */
function addRankOne(state: Conditioned, a: Float64Array, b: Float64Array, d: number, f: number): void {
  const { candidates, nodes, among, toNode, nodeVariance } = state;
  for (let t = 0; t < candidates; t++) {
    addScaled(among, t * candidates, a, 0, candidates, f * a[t]);
    addScaled(toNode, t * nodes, b, 0, nodes, f * a[t]);
  }
  for (let x = 0; x < nodes; x++) nodeVariance[x] += f * b[x] * b[x];
  addScaled(state.candidateDrift, 0, a, 0, candidates, f * d);
  addScaled(state.nodeDrift, 0, b, 0, nodes, f * d);
  state.driftPrecision -= f * d * d;
}

function addScaled(
  to: Float64Array,
  toAt: number,
  from: Float64Array,
  fromAt: number,
  count: number,
  factor: number,
): void {
  for (let i = 0; i < count; i++) to[toAt + i] += factor * from[fromAt + i];
}

/** L⁻¹·B in place for B of n rows and `columns` columns, row-major: whole rows at a time, for the cache. */
function solveLowerRows(l: Float64Array, n: number, b: Float64Array, columns: number): void {
  for (let i = 0; i < n; i++) {
    for (let k = 0; k < i; k++) addScaled(b, i * columns, b, k * columns, columns, -l[i * n + k]);
    const own = 1 / l[i * n + i];
    for (let t = 0; t < columns; t++) b[i * columns + t] *= own;
  }
}

function apart(a: FlatPositions, i: number, b: FlatPositions, j: number): number {
  const dx = a[2 * i] - b[2 * j];
  const dy = a[2 * i + 1] - b[2 * j + 1];
  return Math.sqrt(dx * dx + dy * dy);
}
