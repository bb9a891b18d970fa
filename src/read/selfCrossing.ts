type Pair = readonly [number, number];

/**
 * A position where the lines of a polygon's rings properly cross, in the rings' own units; undefined when none do.
 * Rings that only touch at a corner or run along each other are let pass: they bound the same ground either way.
 *
 * Segments are sorted into a square cell grid about as fine as the mean segment is long, and only those that share
 * a cell are tried, so that a boundary of many thousand corners takes linear time.
 */
export function findCrossing(rings: readonly (readonly Pair[])[]): Pair | undefined {
  const ends = segmentEnds(rings);
  const count = ends.length / 4;
  const { cellOf, columns, rows } = layout(ends, count);
  const cells = new Map<number, number[]>();
  for (let s = 0; s < count; s++) {
    const [c0, r0] = cellOf(ends[4 * s], ends[4 * s + 1]);
    const [c1, r1] = cellOf(ends[4 * s + 2], ends[4 * s + 3]);
    for (let r = Math.max(0, Math.min(r0, r1)); r <= Math.min(rows - 1, Math.max(r0, r1)); r++)
      for (let c = Math.max(0, Math.min(c0, c1)); c <= Math.min(columns - 1, Math.max(c0, c1)); c++) {
        const key = r * columns + c;
        const inCell = cells.get(key);
        if (!inCell) {
          cells.set(key, [s]);
          continue;
        }
        for (const other of inCell) {
          const crossing = properCrossing(ends, s, other);
          if (crossing) return crossing;
        }
        inCell.push(s);
      }
  }
  return undefined;
}

/** ax, ay, bx, by of each segment of the rings. */
function segmentEnds(rings: readonly (readonly Pair[])[]): Float64Array {
  const ends = new Float64Array(4 * rings.reduce((n, ring) => n + Math.max(0, ring.length - 1), 0));
  let at = 0;
  for (const ring of rings)
    for (let i = 1; i < ring.length; i++, at += 4) ends.set([...ring[i - 1], ...ring[i]], at);
  return ends;
}

function layout(
  ends: Float64Array,
  count: number,
): { cellOf: (x: number, y: number) => readonly [number, number]; columns: number; rows: number } {
  let [minX, minY, maxX, maxY, length] = [Infinity, Infinity, -Infinity, -Infinity, 0];
  for (let s = 0; s < count; s++) {
    const [ax, ay, bx, by] = ends.subarray(4 * s, 4 * s + 4);
    minX = Math.min(minX, ax, bx);
    minY = Math.min(minY, ay, by);
    maxX = Math.max(maxX, ax, bx);
    maxY = Math.max(maxY, ay, by);
    length += Math.hypot(bx - ax, by - ay);
  }
  const widest = Math.max(maxX - minX, maxY - minY);
  // No more than 1024 cells a side, so that one long line can't fill memory.
  const size = Math.max(length / Math.max(count, 1), widest / 1024) || 1;
  const cellOf = (x: number, y: number) =>
    [Math.floor((x - minX) / size), Math.floor((y - minY) / size)] as const;
  const [columns, rows] = cellOf(maxX, maxY);
  return { cellOf, columns: columns + 1, rows: rows + 1 };
}

/** Where two segments cross within both, ends excluded. */
function properCrossing(ends: Float64Array, a: number, b: number): Pair | undefined {
  const [ax, ay, bx, by] = [ends[4 * a], ends[4 * a + 1], ends[4 * a + 2], ends[4 * a + 3]];
  const [cx, cy, dx, dy] = [ends[4 * b], ends[4 * b + 1], ends[4 * b + 2], ends[4 * b + 3]];
  const c = side(ax, ay, bx, by, cx, cy);
  const d = side(ax, ay, bx, by, dx, dy);
  const e = side(cx, cy, dx, dy, ax, ay);
  const f = side(cx, cy, dx, dy, bx, by);
  if (!(c * d < 0 && e * f < 0)) return undefined;
  const t = e / (e - f);
  return [ax + t * (bx - ax), ay + t * (by - ay)];
}

/**
 * Twice the signed area of a triangle. Taken as 0 within rounding, which for degrees is some micrometres on the
 * ground: a corner that lies on another line is not to count as past it.
 */
function side(ax: number, ay: number, bx: number, by: number, px: number, py: number): number {
  const left = (bx - ax) * (py - ay);
  const right = (by - ay) * (px - ax);
  const area = left - right;
  return Math.abs(area) <= 1e-8 * (Math.abs(left) + Math.abs(right)) ? 0 : area;
}
