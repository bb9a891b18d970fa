import { polygonArea, polygonContains, polygonHull } from 'd3';
import type { Position, Region, Ring } from './geometry.ts';

export interface Bounds {
  readonly minX: number;
  readonly minY: number;
  readonly maxX: number;
  readonly maxY: number;
}

const asPairs = (ring: Ring) => ring as unknown as [number, number][];

/** Area of a region in hectares, holes taken off. */
export function areaHa(region: Region): number {
  let m2 = 0;
  for (const [outer, ...holes] of region) {
    m2 += Math.abs(polygonArea(asPairs(outer)));
    for (const hole of holes) m2 -= Math.abs(polygonArea(asPairs(hole)));
  }
  return m2 / 10_000;
}

/** Whether a position lies in the region and in none of its holes; for many positions see {@link insideTest}. */
export function regionContains(region: Region, position: Position): boolean {
  const p = position as [number, number];
  for (const rings of region) {
    if (!polygonContains(asPairs(rings[0]), p)) continue;
    let inHole = false;
    for (let h = 1; h < rings.length && !inHole; h++) inHole = polygonContains(asPairs(rings[h]), p);
    if (!inHole) return true;
  }
  return false;
}

/** Bounding box in metres. */
export function regionBounds(region: Region): Bounds {
  let [minX, minY, maxX, maxY] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [outer] of region)
    for (const [x, y] of outer) {
      minX = Math.min(minX, x);
      minY = Math.min(minY, y);
      maxX = Math.max(maxX, x);
      maxY = Math.max(maxY, y);
    }
  return { minX, minY, maxX, maxY };
}

/** Distance from a position to the region's nearest edge, m (inside or out). */
export function distanceToEdgeM(region: Region, [px, py]: Position): number {
  let best = Infinity;
  for (const polygon of region)
    for (const ring of polygon)
      for (let i = 1; i < ring.length; i++) {
        const [ax, ay] = ring[i - 1];
        const dx = ring[i][0] - ax;
        const dy = ring[i][1] - ay;
        const length2 = dx * dx + dy * dy;
        const t = length2 > 0 ? Math.max(0, Math.min(1, ((px - ax) * dx + (py - ay) * dy) / length2)) : 0;
        best = Math.min(best, Math.hypot(px - ax - t * dx, py - ay - t * dy));
      }
  return best;
}

/** A square of the stated area about the origin: what stands for a field whose boundary is not known. */
export function squareOfArea(hectares: number): Region {
  const half = Math.sqrt(hectares * 10_000) / 2;
  return [
    [
      [
        [-half, -half],
        [half, -half],
        [half, half],
        [-half, half],
        [-half, -half],
      ],
    ],
  ];
}

/**
 * A boundary for points that came without one: their convex hull pushed outwards from its middle
 * by half the typical distance between neighbours, so that outer points stand for ground on both sides.
 * @throws RangeError with fewer than three points that are not in one line
 */
export function regionAroundPoints(xy: Float64Array): Region {
  const points: [number, number][] = [];
  for (let i = 0; i < xy.length; i += 2) points.push([xy[i], xy[i + 1]]);
  const hull = polygonHull(points);
  if (!hull || Math.abs(polygonArea(hull)) < 1)
    throw new RangeError('The points lie in one line or at one place.');
  const marginM = Math.sqrt(Math.abs(polygonArea(hull)) / points.length) / 2;
  // Offsetting each hull vertex along its two outward edge normals keeps the margin exact on straight sides.
  const sign = Math.sign(polygonArea(hull));
  const ring: Position[] = [];
  for (let i = 0; i < hull.length; i++) {
    const before = hull[(i + hull.length - 1) % hull.length];
    const after = hull[(i + 1) % hull.length];
    for (const [a, b] of [
      [before, hull[i]],
      [hull[i], after],
    ]) {
      const length = Math.hypot(b[0] - a[0], b[1] - a[1]);
      const nx = (-sign * (b[1] - a[1])) / length;
      const ny = (sign * (b[0] - a[0])) / length;
      ring.push([hull[i][0] + nx * marginM, hull[i][1] + ny * marginM]);
    }
  }
  ring.push(ring[0]);
  return [[ring]];
}
