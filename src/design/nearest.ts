import type { FlatPositions } from '../field/index.ts';

/** An index over places that move: filled again whenever they have. */
export interface NearestIndex {
  /** Takes the places of `xy` (2k metres) as they are now. */
  readonly fill: () => void;
  /** Index of the place nearest (x, y), the first of equals; `skip` is left out of account. */
  readonly nearest: (x: number, y: number, skip?: number) => number;
}

/** Up to so many places looking at each is quicker than buckets. */
const ALL_LOOKED_AT = 20;

function nearestOfAll(xy: FlatPositions, x: number, y: number, skip: number): number {
  let best = -1;
  let bestD = Infinity;
  for (let p = 0; 2 * p < xy.length; p++) {
    const dx = x - xy[2 * p];
    const dy = y - xy[2 * p + 1];
    const d = dx * dx + dy * dy;
    if (d < bestD && p !== skip) {
      bestD = d;
      best = p;
    }
  }
  return best;
}

/**
 * Nearest-place search by square buckets over the box of `around`, about one place to a bucket. Exact: rings of buckets
 * are searched outwards until none could hold a nearer place; places outside the box lie in its border buckets.
 * @param xy 2k metres, k ≥ 1, read at each fill; @param around 2n metres that span the box
 */
export function nearestIndex(xy: FlatPositions, around: FlatPositions): NearestIndex {
  const k = xy.length / 2;
  if (k <= ALL_LOOKED_AT)
    return { fill: () => undefined, nearest: (x, y, skip = -1) => nearestOfAll(xy, x, y, skip) };
  let [minX, minY, maxX, maxY] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let i = 0; i < around.length; i += 2) {
    if (around[i] < minX) minX = around[i];
    if (around[i] > maxX) maxX = around[i];
    if (around[i + 1] < minY) minY = around[i + 1];
    if (around[i + 1] > maxY) maxY = around[i + 1];
  }
  const [width, height] = [maxX - minX, maxY - minY];
  const side = Math.max(Math.sqrt((width * height) / k), Math.max(width, height) / k) || 1;
  const cols = Math.floor(width / side) + 1;
  const rows = Math.floor(height / side) + 1;
  const from = new Int32Array(cols * rows + 1);
  const at = new Int32Array(cols * rows);
  const held = new Int32Array(k);
  const bucket = new Int32Array(k);
  const clampCol = (x: number) => Math.max(0, Math.min(cols - 1, Math.floor((x - minX) / side)));
  const clampRow = (y: number) => Math.max(0, Math.min(rows - 1, Math.floor((y - minY) / side)));

  const fill = () => {
    from.fill(0);
    for (let c = 0; c < k; c++) {
      bucket[c] = clampRow(xy[2 * c + 1]) * cols + clampCol(xy[2 * c]);
      from[bucket[c] + 1]++;
    }
    for (let b = 0; b < at.length; b++) {
      from[b + 1] += from[b];
      at[b] = from[b];
    }
    for (let c = 0; c < k; c++) held[at[bucket[c]]++] = c;
  };

  const nearest = (x: number, y: number, skip = -1) => {
    const i = clampCol(x);
    const j = clampRow(y);
    // Distance to the own bucket's nearest side, for a place outside the box from where it is clamped to.
    const fx = Math.max(0, Math.min(side, x - minX - i * side));
    const fy = Math.max(0, Math.min(side, y - minY - j * side));
    const toSide = Math.min(fx, side - fx, fy, side - fy);
    const last = Math.max(i, cols - 1 - i, j, rows - 1 - j);
    let best = -1;
    let bestD = Infinity;
    for (let ring = 0; ring <= last; ring++) {
      // A hair short, so that rounding never hides an equal.
      const gap = ring > 0 ? (toSide + (ring - 1) * side) * (1 - 1e-9) : 0;
      if (gap * gap > bestD) break;
      const top = Math.min(rows - 1, j + ring);
      for (let r = Math.max(0, j - ring); r <= top; r++) {
        // Rows in between touch the ring with their two ends only.
        const step = r === j - ring || r === j + ring || ring === 0 ? 1 : 2 * ring;
        for (let c = i - ring; c <= i + ring; c += step) {
          if (c < 0 || c >= cols) continue;
          const b = r * cols + c;
          for (let q = from[b]; q < from[b + 1]; q++) {
            const p = held[q];
            const dx = x - xy[2 * p];
            const dy = y - xy[2 * p + 1];
            const d = dx * dx + dy * dy;
            if ((d < bestD || (d === bestD && p < best)) && p !== skip) {
              bestD = d;
              best = p;
            }
          }
        }
      }
    }
    return best;
  };
  fill();
  return { fill, nearest };
}

/** The stop nearest each node: the cells of a grid within its boundary, as nodes. */
export function nearestStops(nodes: FlatPositions, stops: FlatPositions): Int32Array {
  const { nearest } = nearestIndex(stops, nodes);
  const out = new Int32Array(nodes.length / 2);
  for (let i = 0; i < out.length; i++) out[i] = nearest(nodes[2 * i], nodes[2 * i + 1]);
  return out;
}

/** Mean squared distance from a node to the nearest stop, m². */
export function meanSquaredDistanceTo(nodes: FlatPositions, stops: FlatPositions): number {
  const { nearest } = nearestIndex(stops, nodes);
  let sum = 0;
  for (let i = 0; i < nodes.length; i += 2) {
    const p = nearest(nodes[i], nodes[i + 1]);
    const dx = nodes[i] - stops[2 * p];
    const dy = nodes[i + 1] - stops[2 * p + 1];
    sum += dx * dx + dy * dy;
  }
  return sum / (nodes.length / 2);
}
