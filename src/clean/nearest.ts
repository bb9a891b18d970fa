import KDBush from 'kdbush';

/** Each point's nearest others. Row i is from i·k to (i + 1)·k, nearest first; ties by index. */
export interface Nearest {
  /** Neighbours a point has: what was asked for, or all others when there are fewer. */
  readonly k: number;
  /** Length n·k. */
  readonly index: Uint32Array;
  /** Length n·k, metres. */
  readonly distanceM: Float64Array;
}

/**
 * The `k` nearest other points of each point, exact: a circle round the point grows until it holds enough.
 * @param xy 2n metres
 * @throws RangeError on a coordinate that is not a finite number
 */
export function nearestPoints(xy: Float64Array, k: number): Nearest {
  const n = xy.length / 2;
  const held = Math.max(0, Math.min(k, n - 1));
  const index = new Uint32Array(n * held);
  const distanceM = new Float64Array(n * held);
  if (held === 0) return { k: held, index, distanceM };
  const tree = new KDBush(n);
  let [left, right, low, high] = [Infinity, -Infinity, Infinity, -Infinity];
  for (let i = 0; i < n; i++) {
    const [x, y] = [xy[2 * i], xy[2 * i + 1]];
    if (!Number.isFinite(x) || !Number.isFinite(y))
      throw new RangeError(`Point ${i} has no place: ${x}, ${y}.`);
    tree.add(x, y);
    left = Math.min(left, x);
    right = Math.max(right, x);
    low = Math.min(low, y);
    high = Math.max(high, y);
  }
  tree.finish();
  const [width, height] = [right - left, high - low];
  // A circle that holds about one and a half times as many as wanted where points lie evenly, on a plane or a line.
  const startM = Math.max(
    Math.sqrt((1.5 * (held + 1) * width * height) / (Math.PI * n)),
    (0.75 * (held + 1) * Math.max(width, height)) / n,
  );
  const found = new Uint32Array(n);
  for (let i = 0; i < n; i++) {
    const [x, y] = [xy[2 * i], xy[2 * i + 1]];
    let radiusM = startM;
    let count = tree.withinInto(x, y, radiusM, found);
    while (count <= held) {
      radiusM *= 2;
      count = tree.withinInto(x, y, radiusM, found);
    }
    const from = i * held;
    let filled = 0;
    for (let c = 0; c < count; c++) {
      const j = found[c];
      if (j === i) continue;
      const d = Math.hypot(xy[2 * j] - x, xy[2 * j + 1] - y);
      const full = filled === held;
      const last = from + filled - 1;
      if (full && (d > distanceM[last] || (d === distanceM[last] && j > index[last]))) continue;
      let at = full ? last : from + filled++;
      while (at > from && (distanceM[at - 1] > d || (distanceM[at - 1] === d && index[at - 1] > j))) {
        distanceM[at] = distanceM[at - 1];
        index[at] = index[at - 1];
        at--;
      }
      distanceM[at] = d;
      index[at] = j;
    }
  }
  return { k: held, index, distanceM };
}
