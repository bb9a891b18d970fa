import type { FlatPositions } from '../field/index.ts';

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
 * Starts from centres chosen farthest-first, then Lloyd's iterations; no chance is involved.
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
  let total = 0;
  for (let round = 0; round < 60; round++) {
    let moved = 0;
    total = 0;
    sumX.fill(0);
    sumY.fill(0);
    count.fill(0);
    for (let i = 0; i < n; i++) {
      let best = 0;
      let bestD = Infinity;
      for (let c = 0; c < k; c++) {
        const dx = nodes[2 * i] - centres[2 * c];
        const dy = nodes[2 * i + 1] - centres[2 * c + 1];
        const d = dx * dx + dy * dy;
        if (d < bestD) {
          bestD = d;
          best = c;
        }
      }
      if (labels[i] !== best) moved++;
      labels[i] = best;
      total += bestD;
      sumX[best] += nodes[2 * i];
      sumY[best] += nodes[2 * i + 1];
      count[best]++;
    }
    for (let c = 0; c < k; c++)
      if (count[c] > 0) {
        centres[2 * c] = sumX[c] / count[c];
        centres[2 * c + 1] = sumY[c] / count[c];
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
  const add = (x: number, y: number) => {
    centres[2 * held] = x;
    centres[2 * held + 1] = y;
    held++;
    for (let i = 0; i < n; i++) gap[i] = Math.min(gap[i], Math.hypot(nodes[2 * i] - x, nodes[2 * i + 1] - y));
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
  while (held < k) {
    let best = 0;
    for (let i = 1; i < n; i++) if (gap[i] > gap[best]) best = i;
    add(nodes[2 * best], nodes[2 * best + 1]);
  }
  return centres;
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
