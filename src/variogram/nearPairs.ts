/**
 * Points sorted into strips along x, so that the pairs within a distance are found without looking at the others.
 * Strip r holds places `starts[r]` to `starts[r + 1]`, ascending in x; `order` gives each place's point.
 */
export interface Strips {
  readonly order: Uint32Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly starts: Uint32Array;
  readonly heightM: number;
}

/** Strips to a cutoff: more waste fewer looks beyond the circle, fewer make longer runs. */
const STRIPS_PER_CUTOFF = 10;
/** Strips are kept at least this full on average. */
const POINTS_PER_STRIP = 4;

/** @param xy 2n metres; @param cutoffM the greatest distance that will be asked for, above 0 */
export function intoStrips(xy: Float64Array, cutoffM: number): Strips {
  const n = xy.length >> 1;
  let [low, high] = [Infinity, -Infinity];
  for (let i = 1; i < xy.length; i += 2) {
    if (xy[i] < low) low = xy[i];
    if (xy[i] > high) high = xy[i];
  }
  const extent = n ? high - low : 0;
  const rows = Math.max(
    1,
    Math.min(Math.ceil((extent * STRIPS_PER_CUTOFF) / cutoffM), Math.floor(n / POINTS_PER_STRIP)),
  );
  const heightM = extent > 0 ? extent / rows : cutoffM;
  const rowOf = (i: number) => Math.min(rows - 1, Math.floor((xy[2 * i + 1] - low) / heightM));
  const starts = new Uint32Array(rows + 1);
  for (let i = 0; i < n; i++) starts[rowOf(i) + 1]++;
  for (let r = 0; r < rows; r++) starts[r + 1] += starts[r];
  const order = new Uint32Array(n);
  const filled = starts.slice();
  for (let i = 0; i < n; i++) order[filled[rowOf(i)]++] = i;
  for (let r = 0; r < rows; r++)
    order
      .subarray(starts[r], starts[r + 1])
      .sort((a, b) => xy[2 * a] - xy[2 * b] || xy[2 * a + 1] - xy[2 * b + 1] || a - b);
  return {
    order,
    x: Float64Array.from(order, (i) => xy[2 * i]),
    y: Float64Array.from(order, (i) => xy[2 * i + 1]),
    starts,
    heightM,
  };
}

/**
 * Calls `visit(i, from, to)` with runs of places: every pair of points no further apart than the cutoff is (i, j) with
 * from ≤ j < to in one run, once; runs also hold some pairs that are further apart.
 */
export function eachNearRun(
  { x, y, starts, heightM }: Strips,
  cutoffM: number,
  visit: (i: number, from: number, to: number) => void,
): void {
  const rows = starts.length - 1;
  // A hair more, lest rounding lose a pair at the cutoff.
  const reachM = cutoffM * (1 + 1e-12) + 1e-12 * (Math.abs(x[0] ?? 0) + Math.abs(y[0] ?? 0));
  for (let r = 0; r < rows; r++) {
    for (let s = r; s < rows; s++) {
      const gapM = Math.max(0, (s - r - 1) * heightM - (reachM - cutoffM));
      if (gapM > reachM) break;
      const halfM = Math.sqrt(reachM * reachM - gapM * gapM);
      let [from, to] = [starts[s], starts[s]];
      const end = starts[s + 1];
      for (let i = starts[r]; i < starts[r + 1]; i++) {
        const [least, most] = [x[i] - halfM, x[i] + halfM];
        if (s === r) from = i + 1;
        else while (from < end && x[from] < least) from++;
        if (to < from) to = from;
        while (to < end && x[to] <= most) to++;
        if (from < to) visit(i, from, to);
      }
    }
  }
}
