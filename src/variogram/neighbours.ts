/**
 * For Vecchia's approximation: a spread-out order of the points, and for each the nearest `m` earlier ones.
 * The order visits coarse quadrants before fine ones (interleaved, bit-reversed cell numbers), so that early points
 * cover the field (Guinness 2018 on why the order matters; a cheap stand-in for maximin order).
 */
export interface OrderedNeighbours {
  /** Point index at each place of the order, length n. */
  readonly order: Uint32Array;
  /** Earlier places' point indices, row i from `starts[i]` to `starts[i + 1]`. */
  readonly neighbours: Uint32Array;
  readonly starts: Uint32Array;
}

export function orderedNeighbours(xy: Float64Array, m: number): OrderedNeighbours {
  const n = xy.length / 2;
  const order = spreadOrder(xy);
  const starts = new Uint32Array(n + 1);
  const neighbours: number[] = [];
  const distance = new Float64Array(m);
  const index = new Uint32Array(m);
  for (let i = 0; i < n; i++) {
    const [x, y] = [xy[2 * order[i]], xy[2 * order[i] + 1]];
    let held = 0;
    for (let j = 0; j < i; j++) {
      const q = order[j];
      const dx = xy[2 * q] - x;
      const dy = xy[2 * q + 1] - y;
      const d2 = dx * dx + dy * dy;
      if (held === m && d2 >= distance[m - 1]) continue;
      let k = held < m ? held++ : m - 1;
      while (k > 0 && distance[k - 1] > d2) {
        distance[k] = distance[k - 1];
        index[k] = index[k - 1];
        k--;
      }
      distance[k] = d2;
      index[k] = q;
    }
    for (let k = 0; k < held; k++) neighbours.push(index[k]);
    starts[i + 1] = neighbours.length;
  }
  return { order, neighbours: Uint32Array.from(neighbours), starts };
}

function spreadOrder(xy: Float64Array): Uint32Array {
  const n = xy.length / 2;
  const bits = Math.max(1, Math.ceil(Math.log2(Math.sqrt(n))) + 1);
  const side = 1 << bits;
  let [minX, minY, maxX, maxY] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let i = 0; i < n; i++) {
    minX = Math.min(minX, xy[2 * i]);
    maxX = Math.max(maxX, xy[2 * i]);
    minY = Math.min(minY, xy[2 * i + 1]);
    maxY = Math.max(maxY, xy[2 * i + 1]);
  }
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
