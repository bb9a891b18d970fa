import type { Region } from './geometry.ts';

/** Edges of a region in flat arrays, and for each horizontal band those that reach into it, in the rings' order. */
interface Banded {
  readonly x0: Float64Array;
  readonly y0: Float64Array;
  readonly x1: Float64Array;
  readonly y1: Float64Array;
  /** Ring of each edge, counted over all polygons. */
  readonly ring: Int32Array;
  /** Polygon of each ring, and whether the ring is its outer one. */
  readonly polygonOf: Int32Array;
  readonly outer: Uint8Array;
  readonly minY: number;
  readonly maxY: number;
  readonly bandsPerM: number;
  /** Edges of band b are `edges[from[b]] … edges[from[b + 1] − 1]`. */
  readonly from: Int32Array;
  readonly edges: Int32Array;
}

/**
 * A test for many positions against one region, the same to the last bit as asking each edge in turn: edges are sorted
 * into horizontal bands once, so that a position meets only the few that cross its band.
 * @returns whether (x, y) lies in the region and in none of its holes
 */
export function insideTest(region: Region): (x: number, y: number) => boolean {
  const b = banded(region, 0);
  const { x0, y0, x1, y1, ring, polygonOf, outer, from, edges, minY, maxY, bandsPerM } = b;
  const bands = from.length - 1;
  return (x, y) => {
    if (!(y >= minY && y <= maxY)) return false;
    const band = Math.min(bands - 1, Math.floor((y - minY) * bandsPerM));
    let current = -1;
    let odd = false;
    let inOuter = false;
    let inHole = false;
    for (let q = from[band]; q < from[band + 1]; q++) {
      const e = edges[q];
      if (ring[e] !== current) {
        if (current >= 0) {
          if (outer[current]) inOuter = odd;
          else inHole ||= odd;
          if (polygonOf[ring[e]] !== polygonOf[current]) {
            if (inOuter && !inHole) return true;
            inOuter = inHole = false;
          }
        }
        current = ring[e];
        odd = false;
      }
      if (y1[e] > y !== y0[e] > y && x < ((x0[e] - x1[e]) * (y - y1[e])) / (y0[e] - y1[e]) + x1[e])
        odd = !odd;
    }
    if (current < 0) return false;
    if (outer[current]) inOuter = odd;
    else inHole ||= odd;
    return inOuter && !inHole;
  };
}

/**
 * A test for many positions: inside the region and no nearer than `insetM` metres to any edge, holes' edges too.
 */
export function insetTest(region: Region, insetM: number): (x: number, y: number) => boolean {
  const inside = insideTest(region);
  if (!(insetM > 0)) return inside;
  const { x0, y0, x1, y1, from, edges, minY, bandsPerM } = banded(region, insetM);
  const bands = from.length - 1;
  // A stop moved to exactly the inset must pass.
  const limit = insetM * insetM * (1 - 1e-9);
  return (x, y) => {
    if (!inside(x, y)) return false;
    const band = Math.min(bands - 1, Math.floor((y - minY) * bandsPerM));
    for (let q = from[band]; q < from[band + 1]; q++) {
      const e = edges[q];
      const dx = x1[e] - x0[e];
      const dy = y1[e] - y0[e];
      const px = x - x0[e];
      const py = y - y0[e];
      const length2 = dx * dx + dy * dy;
      const t = length2 > 0 ? Math.max(0, Math.min(1, (px * dx + py * dy) / length2)) : 0;
      const ox = px - t * dx;
      const oy = py - t * dy;
      if (ox * ox + oy * oy < limit) return false;
    }
    return true;
  };
}

/** Edges within `marginM` of a band count as its own. */
function banded(region: Region, marginM: number): Banded {
  let count = 0;
  for (const rings of region) for (const ring of rings) count += ring.length;
  const x0 = new Float64Array(count);
  const y0 = new Float64Array(count);
  const x1 = new Float64Array(count);
  const y1 = new Float64Array(count);
  const ringOf = new Int32Array(count);
  const polygonOf: number[] = [];
  const outer: number[] = [];
  let [minY, maxY] = [Infinity, -Infinity];
  let e = 0;
  region.forEach((rings, p) => {
    rings.forEach((ring, r) => {
      // From the last position to the first too: a ring left open is closed, a closed one gains an edge of no length.
      let before = ring[ring.length - 1];
      for (const at of ring) {
        [x0[e], y0[e], x1[e], y1[e]] = [before[0], before[1], at[0], at[1]];
        ringOf[e++] = polygonOf.length;
        minY = Math.min(minY, at[1]);
        maxY = Math.max(maxY, at[1]);
        before = at;
      }
      polygonOf.push(p);
      outer.push(r === 0 ? 1 : 0);
    });
  });
  const bands = Math.max(1, Math.min(1024, count));
  const bandsPerM = maxY > minY ? bands / (maxY - minY) : 0;
  const bandAt = (y: number) => Math.max(0, Math.min(bands - 1, Math.floor((y - minY) * bandsPerM)));
  const from = new Int32Array(bands + 1);
  for (let i = 0; i < count; i++) {
    const last = bandAt(Math.max(y0[i], y1[i]) + marginM);
    for (let b = bandAt(Math.min(y0[i], y1[i]) - marginM); b <= last; b++) from[b + 1]++;
  }
  for (let b = 0; b < bands; b++) from[b + 1] += from[b];
  const edges = new Int32Array(from[bands]);
  const at = from.slice(0, bands);
  for (let i = 0; i < count; i++) {
    const last = bandAt(Math.max(y0[i], y1[i]) + marginM);
    for (let b = bandAt(Math.min(y0[i], y1[i]) - marginM); b <= last; b++) edges[at[b]++] = i;
  }
  return {
    ...{ x0, y0, x1, y1, ring: ringOf, minY, maxY, bandsPerM, from, edges },
    polygonOf: Int32Array.from(polygonOf),
    outer: Uint8Array.from(outer),
  };
}
