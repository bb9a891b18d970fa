import type { FlatPositions } from '../field/index.ts';
import { nearestIndex } from './nearest.ts';

/** Strata of about equal area and their centres. */
export interface Coverage {
  /** 2k metres. */
  readonly centres: FlatPositions;
  /** Stratum of each node. */
  readonly labels: Int32Array;
  /** Mean squared distance from a node to its centre, m². */
  readonly meanSquaredDistance: number;
}

/**
 * Spatial coverage by k-means on the nodes of a discretised field (Walvoort, Brus & de Gruijter 2010,
 * Computers & Geosciences 36: 1261-1267): centres that lie evenly whatever the boundary.
 * Starts from centres chosen farthest-first, then Lloyd's iterations; no chance is involved. Nodes within half the way
 * to the next centre are not asked again (Elkan 2003, lemma 1), the others ask an index: the labels are Lloyd's own.
 * @param nodes 2n metres, n ≥ k, evenly spread over the field
 */
export function spatialCoverage(nodes: FlatPositions, k: number, start?: FlatPositions): Coverage {
  const n = nodes.length / 2;
  if (k > n) throw new RangeError(`Cannot place ${k} centres on ${n} nodes.`);
  const centres = start && start.length === 2 * k ? start.slice() : farthestFirst(nodes, k, start);
  const labels = new Int32Array(n).fill(-1);
  const sumX = new Float64Array(k);
  const sumY = new Float64Array(k);
  const count = new Float64Array(k);
  // A quarter of the squared distance to the nearest other centre: a node nearer its centre than half way stays.
  const safe = new Float64Array(k);
  const index = nearestIndex(centres, nodes);
  let total = 0;
  for (let round = 0; round < 60; round++) {
    let moved = 0;
    let far = 0;
    let farD = -1;
    total = 0;
    sumX.fill(0);
    sumY.fill(0);
    count.fill(0);
    if (round > 0) index.fill();
    for (let c = 0; c < k; c++) {
      const other = index.nearest(centres[2 * c], centres[2 * c + 1], c);
      safe[c] = other < 0 ? Infinity : 0.2499999 * squared(centres, c, centres, other);
    }
    for (let i = 0; i < n; i++) {
      let own = labels[i];
      let d = own < 0 ? Infinity : squared(nodes, i, centres, own);
      if (!(d < safe[own])) {
        own = index.nearest(nodes[2 * i], nodes[2 * i + 1]);
        d = squared(nodes, i, centres, own);
        if (own !== labels[i]) moved++;
        labels[i] = own;
      }
      if (d > farD) {
        farD = d;
        far = i;
      }
      total += d;
      sumX[own] += nodes[2 * i];
      sumY[own] += nodes[2 * i + 1];
      count[own]++;
    }
    for (let c = 0; c < k; c++)
      if (count[c] > 0) {
        centres[2 * c] = sumX[c] / count[c];
        centres[2 * c + 1] = sumY[c] / count[c];
      } else {
        // A centre that has lost all its nodes begins anew where the ground is served worst.
        centres[2 * c] = nodes[2 * far];
        centres[2 * c + 1] = nodes[2 * far + 1];
        moved++;
      }
    if (moved === 0) break;
  }
  return { centres, labels, meanSquaredDistance: total / n };
}

/** Centres one by one at the node farthest from those already there; begins from `start`, or the node nearest the middle. */
function farthestFirst(nodes: FlatPositions, k: number, start?: FlatPositions): FlatPositions {
  const n = nodes.length / 2;
  const centres = new Float64Array(2 * k);
  const gap = new Float64Array(n).fill(Infinity);
  let held = 0;
  let far = 0;
  const add = (x: number, y: number) => {
    centres[2 * held] = x;
    centres[2 * held + 1] = y;
    held++;
    far = 0;
    for (let i = 0; i < n; i++) {
      const dx = nodes[2 * i] - x;
      const dy = nodes[2 * i + 1] - y;
      const d = dx * dx + dy * dy;
      if (d < gap[i]) gap[i] = d;
      if (gap[i] > gap[far]) far = i;
    }
  };
  if (start) for (let i = 0; 2 * i < start.length && held < k; i++) add(start[2 * i], start[2 * i + 1]);
  if (held === 0) {
    let [mx, my] = [0, 0];
    for (let i = 0; i < n; i++) {
      mx += nodes[2 * i] / n;
      my += nodes[2 * i + 1] / n;
    }
    add(mx, my);
  }
  while (held < k) add(nodes[2 * far], nodes[2 * far + 1]);
  return centres;
}

function squared(a: FlatPositions, i: number, b: FlatPositions, j: number): number {
  const dx = a[2 * i] - b[2 * j];
  const dy = a[2 * i + 1] - b[2 * j + 1];
  return dx * dx + dy * dy;
}

/** The node of each stratum nearest its centre: a centre of a bent stratum can lie outside the field. */
export function centresInside(nodes: FlatPositions, coverage: Coverage): FlatPositions {
  const k = coverage.centres.length / 2;
  const out = new Float64Array(2 * k);
  const best = new Float64Array(k).fill(Infinity);
  for (let i = 0; 2 * i < nodes.length; i++) {
    const c = coverage.labels[i];
    const d = Math.hypot(
      nodes[2 * i] - coverage.centres[2 * c],
      nodes[2 * i + 1] - coverage.centres[2 * c + 1],
    );
    if (d < best[c]) {
      best[c] = d;
      out[2 * c] = nodes[2 * i];
      out[2 * c + 1] = nodes[2 * i + 1];
    }
  }
  return out;
}
