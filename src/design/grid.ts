import { polygonHull } from 'd3';
import {
  areaHa,
  rasterNodes,
  regionBounds,
  regionContains,
  type FlatPositions,
  type Region,
} from '../field/index.ts';
import { centresInside, spatialCoverage } from './coverage.ts';

export interface GridStops {
  /** 2n metres. */
  readonly xy: FlatPositions;
  /** `lattice`: a square lattice; `coverage`: evenly spread, where no lattice with that number of stops fits. */
  readonly placed: 'lattice' | 'coverage';
  /** Side of the square one stop stands for, m. */
  readonly spacingM: number;
}

/**
 * Stops of a square grid in the real boundary. A lattice along the field's own direction is slid and stretched a
 * little (up to 6 %) until exactly `stops` of its points lie inside; the most central such lattice is taken.
 * Where none fits, the stops are spread by spatial coverage, so that the number asked for is the number walked.
 */
export function gridStops(region: Region, stops: number): GridStops {
  const spacingM = Math.sqrt((areaHa(region) * 10_000) / stops);
  const { nodes } = rasterNodes(region, Math.min(6000, Math.max(600, 30 * stops)));
  const angle = mainDirection(region);
  let best: { xy: FlatPositions; score: number } | undefined;
  for (const stretch of [1, 0.98, 1.02, 0.96, 1.04, 0.94, 1.06]) {
    for (let i = 0; i < 6; i++)
      for (let j = 0; j < 6; j++) {
        const xy = latticePoints(region, spacingM * stretch, angle, (i + 0.5) / 6, (j + 0.5) / 6);
        if (xy.length !== 2 * stops) continue;
        const score = meanSquaredDistance(nodes, xy);
        if (!best || score < best.score) best = { xy, score };
      }
    if (best) break;
  }
  if (best) return { xy: best.xy, placed: 'lattice', spacingM };
  const start = latticePoints(region, spacingM * 1.03, angle, 0.5, 0.5).slice(0, 2 * stops);
  const coverage = spatialCoverage(nodes, stops, start.length > 0 ? start : undefined);
  return { xy: centresInside(nodes, coverage), placed: 'coverage', spacingM };
}

/** Points of a square lattice inside a region; the offsets are shares of the spacing. */
export function latticePoints(
  region: Region,
  spacingM: number,
  angleRad: number,
  offsetU: number,
  offsetV: number,
): FlatPositions {
  const b = regionBounds(region);
  const [cx, cy] = [(b.minX + b.maxX) / 2, (b.minY + b.maxY) / 2];
  const reach = Math.ceil(Math.hypot(b.maxX - b.minX, b.maxY - b.minY) / 2 / spacingM) + 1;
  const [c, s] = [Math.cos(angleRad), Math.sin(angleRad)];
  const out: number[] = [];
  for (let v = -reach; v <= reach; v++)
    for (let u = -reach; u <= reach; u++) {
      const du = (u + offsetU) * spacingM;
      const dv = (v + offsetV) * spacingM;
      const x = cx + c * du - s * dv;
      const y = cy + s * du + c * dv;
      if (regionContains(region, [x, y])) out.push(x, y);
    }
  return Float64Array.from(out);
}

/** Direction of the long side of the least rectangle around the region, radians from east. */
export function mainDirection(region: Region): number {
  const hull = polygonHull(region.flatMap(([outer]) => outer.map(([x, y]) => [x, y] as [number, number])));
  if (!hull) return 0;
  let best = { area: Infinity, angle: 0 };
  for (let i = 0; i < hull.length; i++) {
    const [a, b] = [hull[i], hull[(i + 1) % hull.length]];
    const angle = Math.atan2(b[1] - a[1], b[0] - a[0]);
    const [c, s] = [Math.cos(angle), Math.sin(angle)];
    const us = hull.map(([x, y]) => c * x + s * y);
    const vs = hull.map(([x, y]) => -s * x + c * y);
    const width = Math.max(...us) - Math.min(...us);
    const height = Math.max(...vs) - Math.min(...vs);
    if (width * height < best.area - 1e-6)
      best = { area: width * height, angle: width >= height ? angle : angle + Math.PI / 2 };
  }
  // Directions a half turn apart are the same lattice.
  return ((best.angle % Math.PI) + Math.PI) % Math.PI;
}

function meanSquaredDistance(nodes: FlatPositions, xy: FlatPositions): number {
  let sum = 0;
  for (let i = 0; i < nodes.length; i += 2) {
    let best = Infinity;
    for (let j = 0; j < xy.length; j += 2) {
      const dx = nodes[i] - xy[j];
      const dy = nodes[i + 1] - xy[j + 1];
      best = Math.min(best, dx * dx + dy * dy);
    }
    sum += best;
  }
  return sum / (nodes.length / 2);
}
