import type { FlatPositions, Region } from './geometry.ts';
import { insideTest } from './inside.ts';
import { areaHa, regionBounds } from './region.ts';

/**
 * About `count` positions spread evenly over a region without lining up with any lattice:
 * the additive-recurrence sequence of the plastic number (Roberts 2018, "R2"; from memory) in the bounding box,
 * kept where inside. Used to average over the field without aliasing against grids of stops.
 */
export function spreadNodes(region: Region, count: number): FlatPositions {
  const b = regionBounds(region);
  const width = b.maxX - b.minX;
  const height = b.maxY - b.minY;
  const [a1, a2] = [0.7548776662466927, 0.5698402909980532];
  const out = new Float64Array(2 * count);
  const limit = Math.ceil(((width * height) / Math.max(areaHa(region) * 10_000, 1e-9)) * count * 4) + 1000;
  const inside = insideTest(region);
  let kept = 0;
  for (let i = 1; kept < count && i < limit; i++) {
    const x = b.minX + width * ((0.5 + a1 * i) % 1);
    const y = b.minY + height * ((0.5 + a2 * i) % 1);
    if (!inside(x, y)) continue;
    out[2 * kept] = x;
    out[2 * kept + 1] = y;
    kept++;
  }
  return out.slice(0, 2 * kept);
}

/** Centres of the square cells of a raster of about `count` cells that lie inside the region. */
export function rasterNodes(
  region: Region,
  count: number,
): { readonly nodes: FlatPositions; readonly cellM: number } {
  const b = regionBounds(region);
  const cellM = Math.sqrt((areaHa(region) * 10_000) / count);
  const inside = insideTest(region);
  const out: number[] = [];
  for (let y = b.minY + cellM / 2; y < b.maxY; y += cellM)
    for (let x = b.minX + cellM / 2; x < b.maxX; x += cellM) if (inside(x, y)) out.push(x, y);
  return { nodes: Float64Array.from(out), cellM };
}
