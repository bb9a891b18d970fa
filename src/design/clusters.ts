import { ckmeans } from 'simple-statistics';
import type { Random } from '../describe/index.ts';
import type { Covariates } from './covariates.ts';

/** A division of nodes into k clusters, numbered upwards by their centre's first column. */
export interface Clusters {
  readonly k: number;
  readonly labels: Int32Array;
  /** k × p, row by row. */
  readonly centres: Float64Array;
  /** Sum over nodes of the squared distance to their cluster's centre. */
  readonly withinSs: number;
}

/**
 * k-means. Of one column, the exact optimum by dynamic programming (Wang & Song 2011, The R Journal 3(2): 29-33).
 * Of more, the best of `restarts` runs: centres seeded apart (k-means++, Arthur & Vassilvitskii 2007), Lloyd's rounds, then
 * single nodes moved while that lowers the sum (the test of Hartigan & Wong 1979, Applied Statistics 28: 100-108).
 * The same `random` gives the same clusters.
 * @returns undefined when there are fewer distinct rows than k
 * @throws RangeError when k is not a whole number from 1
 */
export function kmeansPlusPlus(
  x: Covariates,
  k: number,
  { restarts = 20, random }: { readonly restarts?: number; readonly random: Random },
): Clusters | undefined {
  checkCount(k);
  if (distinctRows(x, k) < k) return undefined;
  if (x.p === 1) return inOrder(x, k, oneColumn(x, k));
  let best: Clusters | undefined;
  for (let run = 0; run < restarts; run++) {
    const labels = lloyd(x, seedApart(x, k, random), k);
    transferNodes(x, labels, k);
    const found = inOrder(x, k, labels);
    if (!best || found.withinSs < best.withinSs) best = found;
  }
  return best;
}

/** Memberships that add up to 1 for each node, and how blurred they are. */
export interface FuzzyClusters extends Clusters {
  /** n × k, row by row. */
  readonly memberships: Float64Array;
  /** Σ u^fuzziness · d². */
  readonly objective: number;
  /** 1 − (k·F − 1)/(k − 1) with F the mean of Σ u²: 0 for hard clusters, 1 when nothing is told apart. 0 for k = 1. */
  readonly fuzzinessPerformanceIndex: number;
  /** −mean of Σ u·ln u, over ln k: 0 for hard clusters, 1 when nothing is told apart. 0 for k = 1. */
  readonly normalisedClassificationEntropy: number;
}

/**
 * Fuzzy k-means (Bezdek 1981, Pattern Recognition with Fuzzy Objective Function Algorithms), seeded as
 * {@link kmeansPlusPlus}, best of `restarts`; hard labels by greatest membership. Both indices after McBratney & Moore 1985,
 * Agricultural and Forest Meteorology 35: 165-185 (from memory).
 * @param fuzziness above 1; 2 is usual
 * @returns undefined when there are fewer distinct rows than k
 */
export function fuzzyKMeans(
  x: Covariates,
  k: number,
  {
    fuzziness = 2,
    restarts = 8,
    random,
  }: { readonly fuzziness?: number; readonly restarts?: number; readonly random: Random },
): FuzzyClusters | undefined {
  checkCount(k);
  if (!(fuzziness > 1)) throw new RangeError(`Fuzziness must be above 1, not ${fuzziness}.`);
  if (distinctRows(x, k) < k) return undefined;
  let best:
    { readonly u: Float64Array; readonly centres: Float64Array; readonly objective: number } | undefined;
  for (let run = 0; run < restarts; run++) {
    const found = alternate(x, seedApart(x, k, random), k, fuzziness);
    if (!best || found.objective < best.objective) best = found;
  }
  const { u, centres, objective } = best!;
  const order = byFirstColumn(centres, x.p, k);
  const memberships = new Float64Array(x.n * k);
  const sorted = new Float64Array(k * x.p);
  order.forEach((from, to) => {
    for (let i = 0; i < x.n; i++) memberships[i * k + to] = u[i * k + from];
    for (let j = 0; j < x.p; j++) sorted[to * x.p + j] = centres[from * x.p + j];
  });
  const labels = new Int32Array(x.n);
  let [squares, entropy, withinSs] = [0, 0, 0];
  for (let i = 0; i < x.n; i++) {
    for (let c = 0; c < k; c++) {
      const m = memberships[i * k + c];
      if (m > memberships[i * k + labels[i]]) labels[i] = c;
      squares += (m * m) / x.n;
      if (m > 0) entropy -= (m * Math.log(m)) / x.n;
    }
    withinSs += squaredDistance(x, i, sorted, labels[i]);
  }
  return {
    k,
    labels,
    centres: sorted,
    withinSs,
    memberships,
    objective,
    fuzzinessPerformanceIndex: k === 1 ? 0 : 1 - (k * squares - 1) / (k - 1),
    normalisedClassificationEntropy: k === 1 ? 0 : entropy / Math.log(k),
  };
}

function checkCount(k: number): void {
  if (!Number.isInteger(k) || k < 1)
    throw new RangeError(`The number of clusters must be a whole number from 1, not ${k}.`);
}

/** Number of distinct rows, counted no further than `enough`. */
function distinctRows(x: Covariates, enough: number): number {
  const seen = new Set<string>();
  for (let i = 0; i < x.n && seen.size < enough; i++)
    seen.add(x.data.subarray(i * x.p, (i + 1) * x.p).join());
  return seen.size;
}

function oneColumn(x: Covariates, k: number): Int32Array {
  const tops = ckmeans([...x.data], k).map((c) => c[c.length - 1]);
  return Int32Array.from(x.data, (v) => tops.findIndex((top) => v <= top));
}

function squaredDistance(x: Covariates, i: number, centres: Float64Array, c: number): number {
  let sum = 0;
  for (let j = 0; j < x.p; j++) {
    const d = x.data[i * x.p + j] - centres[c * x.p + j];
    sum += d * d;
  }
  return sum;
}

/** Each further centre is a node drawn with chance proportional to its squared distance from those already there. */
function seedApart(x: Covariates, k: number, random: Random): Float64Array {
  const centres = new Float64Array(k * x.p);
  const gap = new Float64Array(x.n).fill(Infinity);
  let at = Math.min(x.n - 1, Math.floor(random() * x.n));
  for (let c = 0; c < k; c++) {
    for (let j = 0; j < x.p; j++) centres[c * x.p + j] = x.data[at * x.p + j];
    let total = 0;
    for (let i = 0; i < x.n; i++) {
      gap[i] = Math.min(gap[i], squaredDistance(x, i, centres, c));
      total += gap[i];
    }
    let left = random() * total;
    at = gap.findIndex((g) => g > 0 && (left -= g) <= 0);
    if (at < 0) at = gap.indexOf(Math.max(...gap));
  }
  return centres;
}

/** Lloyd's rounds; moves `centres`. An emptied cluster begins again at the node farthest from its centre. */
function lloyd(x: Covariates, centres: Float64Array, k: number): Int32Array {
  const labels = new Int32Array(x.n).fill(-1);
  const counts = new Int32Array(k);
  for (let round = 0; round < 200; round++) {
    let moved = 0;
    let [farthest, far] = [0, -1];
    counts.fill(0);
    for (let i = 0; i < x.n; i++) {
      let [best, least] = [0, Infinity];
      for (let c = 0; c < k; c++) {
        const d = squaredDistance(x, i, centres, c);
        if (d < least) [best, least] = [c, d];
      }
      if (labels[i] !== best) moved++;
      labels[i] = best;
      counts[best]++;
      if (least > far) [farthest, far] = [i, least];
    }
    const empty = counts.indexOf(0);
    if (empty >= 0) {
      counts[labels[farthest]]--;
      counts[empty]++;
      labels[farthest] = empty;
    } else if (moved === 0) break;
    takeMeans(x, labels, centres, counts);
  }
  return labels;
}

function takeMeans(x: Covariates, labels: Int32Array, centres: Float64Array, counts: Int32Array): void {
  for (let c = 0; c < counts.length; c++) if (counts[c] > 0) centres.fill(0, c * x.p, (c + 1) * x.p);
  for (let i = 0; i < x.n; i++)
    for (let j = 0; j < x.p; j++) centres[labels[i] * x.p + j] += x.data[i * x.p + j] / counts[labels[i]];
}

/** Moves single nodes while the sum of squares falls, the two centres following each move. */
function transferNodes(x: Covariates, labels: Int32Array, k: number): void {
  const counts = new Int32Array(k);
  for (const l of labels) counts[l]++;
  const centres = new Float64Array(k * x.p);
  takeMeans(x, labels, centres, counts);
  for (let pass = 0; pass < 100; pass++) {
    let moved = 0;
    for (let i = 0; i < x.n; i++) {
      const own = labels[i];
      if (counts[own] < 2) continue;
      const freed = (counts[own] / (counts[own] - 1)) * squaredDistance(x, i, centres, own);
      let [to, least] = [own, freed * (1 - 1e-12)];
      for (let c = 0; c < k; c++) {
        if (c === own) continue;
        const added = (counts[c] / (counts[c] + 1)) * squaredDistance(x, i, centres, c);
        if (added < least) [to, least] = [c, added];
      }
      if (to === own) continue;
      for (let j = 0; j < x.p; j++) {
        const v = x.data[i * x.p + j];
        centres[own * x.p + j] += (centres[own * x.p + j] - v) / (counts[own] - 1);
        centres[to * x.p + j] += (v - centres[to * x.p + j]) / (counts[to] + 1);
      }
      counts[own]--;
      counts[to]++;
      labels[i] = to;
      moved++;
    }
    if (moved === 0) return;
  }
}

const byFirstColumn = (centres: Float64Array, p: number, k: number): number[] =>
  Array.from({ length: k }, (_, c) => c).sort((a, b) => centres[a * p] - centres[b * p]);

function inOrder(x: Covariates, k: number, labels: Int32Array): Clusters {
  const counts = new Int32Array(k);
  for (const l of labels) counts[l]++;
  const centres = new Float64Array(k * x.p);
  takeMeans(x, labels, centres, counts);
  const order = byFirstColumn(centres, x.p, k);
  const sorted = Float64Array.from(order.flatMap((c) => [...centres.subarray(c * x.p, (c + 1) * x.p)]));
  const renamed = labels.map((l) => order.indexOf(l));
  let withinSs = 0;
  for (let i = 0; i < x.n; i++) withinSs += squaredDistance(x, i, sorted, renamed[i]);
  return { k, labels: renamed, centres: sorted, withinSs };
}

/** Memberships and centres in turn until the objective stands still. */
function alternate(x: Covariates, centres: Float64Array, k: number, fuzziness: number) {
  const u = new Float64Array(x.n * k);
  const d = new Float64Array(k);
  const weights = new Float64Array(k);
  // Of squared distances.
  const power = -1 / (fuzziness - 1);
  let [objective, before] = [Infinity, Infinity];
  for (let round = 0; round < 2000; round++) {
    objective = 0;
    for (let i = 0; i < x.n; i++) {
      let least = Infinity;
      for (let c = 0; c < k; c++) {
        d[c] = squaredDistance(x, i, centres, c);
        least = Math.min(least, d[c]);
      }
      let sum = 0;
      for (let c = 0; c < k; c++) {
        // Relative to the nearest, so that no power overflows; a node on a centre belongs to it alone.
        const share = least > 0 ? (d[c] / least) ** power : d[c] === 0 ? 1 : 0;
        u[i * k + c] = share;
        sum += share;
      }
      for (let c = 0; c < k; c++) {
        u[i * k + c] /= sum;
        objective += u[i * k + c] ** fuzziness * d[c];
      }
    }
    if (before - objective <= 1e-13 * objective) break;
    before = objective;
    centres.fill(0);
    weights.fill(0);
    for (let i = 0; i < x.n; i++)
      for (let c = 0; c < k; c++) {
        const w = u[i * k + c] ** fuzziness;
        weights[c] += w;
        for (let j = 0; j < x.p; j++) centres[c * x.p + j] += w * x.data[i * x.p + j];
      }
    for (let c = 0; c < k; c++) for (let j = 0; j < x.p; j++) centres[c * x.p + j] /= weights[c];
  }
  return { u, centres, objective };
}
