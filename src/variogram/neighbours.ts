/**
 * For Vecchia's approximation: a spread-out order of the points, and for each the nearest `m` earlier ones
 * (Guinness 2018, Technometrics 60: 415-429, on why the order matters).
 */
export interface OrderedNeighbours {
  /** Point index at each place of the order, length n. */
  readonly order: Uint32Array;
  /** Earlier places' point indices, row i from `starts[i]` to `starts[i + 1]`, nearest first. */
  readonly neighbours: Uint32Array;
  readonly starts: Uint32Array;
}

/**
 * 'quadrants' visits coarse quadrants before fine ones (interleaved, bit-reversed cell numbers), at no cost to speak of;
 * 'maximin' takes each time the point farthest from all before, in O(n²), and brings Vecchia's approximation closer.
 */
export type PointOrder = 'quadrants' | 'maximin';

/**
 * Orders the points and finds each one's nearest earlier ones; of equally near ones the earlier.
 * @param xy 2n metres
 */
export function orderedNeighbours(
  xy: Float64Array,
  m: number,
  { order: by = 'quadrants' }: { readonly order?: PointOrder } = {},
): OrderedNeighbours {
  const n = xy.length / 2;
  const order = by === 'maximin' ? maximinOrder(xy) : spreadOrder(xy);
  const starts = new Uint32Array(n + 1);
  for (let i = 0; i < n; i++) starts[i + 1] = starts[i] + Math.min(i, m);
  const neighbours = new Uint32Array(starts[n]);
  const distance = new Float64Array(m);
  const place = new Uint32Array(m);
  const cells = cellsOf(xy);
  const { columns, rows, sizeM, column, row } = cells;
  // The points before the present one: a list a cell, the latest first.
  const head = new Int32Array(columns * rows).fill(-1);
  const before = new Int32Array(n);
  let held = 0;
  let [x, y] = [0, 0];
  const consider = (j: number) => {
    const q = order[j];
    const dx = xy[2 * q] - x;
    const dy = xy[2 * q + 1] - y;
    const d2 = dx * dx + dy * dy;
    if (held === m && (d2 > distance[m - 1] || (d2 === distance[m - 1] && j > place[m - 1]))) return;
    let k = held < m ? held++ : m - 1;
    while (k > 0 && (distance[k - 1] > d2 || (distance[k - 1] === d2 && place[k - 1] > j))) {
      distance[k] = distance[k - 1];
      place[k] = place[k - 1];
      k--;
    }
    distance[k] = d2;
    place[k] = j;
  };
  const searchCell = (cx: number, cy: number) => {
    if (cx < 0 || cy < 0 || cx >= columns || cy >= rows) return;
    for (let j = head[cy * columns + cx]; j >= 0; j = before[j]) consider(j);
  };
  for (let i = 0; i < n; i++) {
    const p = order[i];
    [x, y] = [xy[2 * p], xy[2 * p + 1]];
    const [cx, cy] = [column(x), row(y)];
    held = 0;
    // With few points before, most cells are empty and the whole list is the shorter way.
    if (m > 0 && i <= 4 * m) for (let j = 0; j < i; j++) consider(j);
    else if (m > 0) {
      const last = Math.max(cx, columns - 1 - cx, cy, rows - 1 - cy);
      for (let ring = 0; ring <= last; ring++) {
        // Every point of this ring is at least so far; a hair less for rounding.
        const least = (ring - 1) * sizeM * (1 - 1e-9);
        if (held === m && ring > 1 && least * least > distance[m - 1]) break;
        for (let dx = -ring; dx <= ring; dx++) {
          searchCell(cx + dx, cy - ring);
          if (ring > 0) searchCell(cx + dx, cy + ring);
        }
        for (let dy = 1 - ring; dy < ring; dy++) {
          searchCell(cx - ring, cy + dy);
          searchCell(cx + ring, cy + dy);
        }
      }
    }
    for (let k = 0; k < held; k++) neighbours[starts[i] + k] = order[place[k]];
    const cell = cy * columns + cx;
    before[i] = head[cell];
    head[cell] = i;
  }
  return { order, neighbours, starts };
}

interface Extent {
  readonly minX: number;
  readonly minY: number;
  readonly maxX: number;
  readonly maxY: number;
}

function extentOf(xy: Float64Array): Extent {
  let [minX, minY, maxX, maxY] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let i = 0; i < xy.length; i += 2) {
    minX = Math.min(minX, xy[i]);
    maxX = Math.max(maxX, xy[i]);
    minY = Math.min(minY, xy[i + 1]);
    maxY = Math.max(maxY, xy[i + 1]);
  }
  return { minX, minY, maxX, maxY };
}

/** Square cells over the extent, two points each on average. */
function cellsOf(xy: Float64Array) {
  const n = xy.length / 2;
  const { minX, minY, maxX, maxY } = extentOf(xy);
  const [width, height] = n > 0 ? [maxX - minX, maxY - minY] : [0, 0];
  // A long narrow strip has cells of its length's share, not slivers.
  const sizeM = Math.max(Math.sqrt((2 * width * height) / n), (2 * Math.max(width, height)) / n, 1e-9);
  const columns = Math.floor(width / sizeM) + 1;
  const rows = Math.floor(height / sizeM) + 1;
  return {
    columns,
    rows,
    sizeM,
    column: (x: number) => Math.min(Math.floor((x - minX) / sizeM), columns - 1),
    row: (y: number) => Math.min(Math.floor((y - minY) / sizeM), rows - 1),
  };
}

/**
 * Maximum-minimum-distance order: from the point nearest the centre, each time the point farthest from those before
 * (Guinness 2018); the least index among equals.
 */
export function maximinOrder(xy: Float64Array): Uint32Array {
  const n = xy.length / 2;
  const order = new Uint32Array(n);
  if (n === 0) return order;
  const { minX, minY, maxX, maxY } = extentOf(xy);
  const squared = (i: number, x: number, y: number) => (xy[2 * i] - x) ** 2 + (xy[2 * i + 1] - y) ** 2;
  let next = 0;
  for (let i = 1; i < n; i++)
    if (
      squared(i, (minX + maxX) / 2, (minY + maxY) / 2) < squared(next, (minX + maxX) / 2, (minY + maxY) / 2)
    )
      next = i;
  const nearest = new Float64Array(n).fill(Infinity);
  for (let place = 0; place < n; place++) {
    order[place] = next;
    const [x, y] = [xy[2 * next], xy[2 * next + 1]];
    // Taken points are marked by −1, below any distance.
    nearest[next] = -1;
    let farthest = -1;
    for (let i = 0; i < n; i++) {
      if (nearest[i] < 0) continue;
      const dx = xy[2 * i] - x;
      const dy = xy[2 * i + 1] - y;
      const d2 = dx * dx + dy * dy;
      if (d2 < nearest[i]) nearest[i] = d2;
      if (nearest[i] > farthest) {
        farthest = nearest[i];
        next = i;
      }
    }
  }
  return order;
}

function spreadOrder(xy: Float64Array): Uint32Array {
  const n = xy.length / 2;
  const bits = Math.max(1, Math.ceil(Math.log2(Math.sqrt(n))) + 1);
  const side = 1 << bits;
  const { minX, minY, maxX, maxY } = extentOf(xy);
  const scale = (side - 1e-6) / Math.max(maxX - minX, maxY - minY, 1e-9);
  const keys = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const cx = Math.floor((xy[2 * i] - minX) * scale);
    const cy = Math.floor((xy[2 * i + 1] - minY) * scale);
    // Interleaving the reversed bits visits coarse quadrants before fine ones.
    let key = 0;
    for (let b = 0; b < bits; b++) key = key * 4 + (((cx >> b) & 1) * 2 + (((cx ^ cy) >> b) & 1));
    keys[i] = key;
  }
  return Uint32Array.from({ length: n }, (_, i) => i).sort((a, b) => keys[a] - keys[b] || a - b);
}
